"""Settings of all tests: a slow machine fails nothing, and the same tree runs the same examples."""

from hypothesis import settings

settings.register_profile("steady", deadline=None, derandomize=True)
settings.load_profile("steady")
