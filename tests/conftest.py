"""Property tests draw the same examples on every run and have no time limit: a busy machine must not fail them."""

from hypothesis import settings

settings.register_profile("house", derandomize=True, deadline=None)
settings.load_profile("house")
