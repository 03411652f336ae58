"""Settings of all tests."""

from hypothesis import HealthCheck, settings

# No test asserts a time: a busy machine is no fault of the code.
settings.register_profile("unhurried", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("unhurried")


def pytest_collection_modifyitems(items):
    """The longest test first: at the end the other workers would wait for it."""
    items.sort(key=lambda item: item.path.name != "test_docs.py")
