"""Settings of all tests."""

from hypothesis import HealthCheck, settings

# No test asserts a time: a busy machine is no fault of the code.
settings.register_profile("unhurried", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("unhurried")
