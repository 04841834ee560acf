"""Property tests draw the same examples on every run and have no time limit: a busy machine must not fail them."""

import os

from hypothesis import settings

settings.register_profile("house", derandomize=True, deadline=None)
settings.load_profile("house")

# Tests start the program dozens of times as a user does: what Python compiles for the first of them serves the others.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
