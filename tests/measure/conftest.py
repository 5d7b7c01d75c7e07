"""Property tests without a deadline: a busy machine is no fault of the mathematics."""

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
