"""What all tests share."""

from hypothesis import settings

# Speed is judged in scripts/benchmark.py, never by a test's clock.
settings.register_profile("asbuilt", deadline=None)
settings.load_profile("asbuilt")
