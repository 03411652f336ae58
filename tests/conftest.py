"""Settings of all tests."""

from hypothesis import settings

# No test asserts a time: a busy machine is no fault of the code.
settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")
