"""The easel as a room of the house's server."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from armature.commission import Commission
from armature.job import open_folder
from armature.pictures.easel.answers import answer
from armature.pictures.easel.session import Crew
from armature.pictures.easel.studio import Studio
from armature.pictures.easel.works import Works
from armature.server import Server, room
from armature.server import listening as listening_rooms


@dataclass(eq=False)
class Easel:
    """The server and the studio behind its pages."""

    server: Server
    studio: Studio
    own_crew: bool

    @property
    def address(self) -> str:
        """The address to open in a browser, its token in it."""
        return self.server.address

    def run(self) -> None:
        """Serve until stopped, and leave nothing half-made."""
        try:
            self.server.run()
        finally:
            self.studio.put_away()
            if self.own_crew:
                self.studio.crew.put_away()

    def stop(self) -> None:
        """End serving, from any thread."""
        self.server.stop()


def serve(
    commission: Commission,
    works: Works,
    jobs: Path,
    host: str = "127.0.0.1",
    port: int = 8437,
    ready: Callable[[Easel], None] = lambda _easel: None,
) -> None:
    """Serve the easel until it is stopped; pages start from the commission, and job folders go below `jobs`.

    ready: hears the easel once it listens: its address carries the token that every page needs.
    """
    easel = listening(commission, works, jobs, host, port)
    ready(easel)
    easel.run()


def listening(
    commission: Commission, works: Works, jobs: Path, host: str, port: int, crew: Crew | None = None
) -> Easel:
    """Return the easel, bound to its port; raises where the port, the host or the folder of jobs cannot be had.

    crew: the processes that work for its pages, put away by the caller; the easel's own where there is none.
    """
    for folder in (jobs, jobs / ".easel"):
        open_folder(folder)
    studio = Studio(commission, works, jobs, crew or Crew())
    return Easel(listening_rooms({"/": room(partial(answer, studio))}, host, port), studio, crew is None)
