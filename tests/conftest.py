"""What all tests share: hypothesis draws the same cases in every run: a failure comes again, a pass holds."""

from hypothesis import settings

settings.register_profile("steady", derandomize=True)
settings.load_profile("steady")
