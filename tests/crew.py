"""One crew for all easels of a run of the tests: its processes take seconds to begin, and end with the run."""

from __future__ import annotations

from armature.pictures.easel.session import Crew

CREW = Crew()
