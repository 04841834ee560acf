"""A run of `make` aside: in a process of its own, so that the page stays quick and a run can be stopped at any time."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnProcess
from pathlib import Path

from armature.commission import Commission
from armature.edge import ArmatureError
from armature.progress import Told

Make = Callable[[Commission, Path, Told], None]
_SECONDS_TO_STOP = 3.0


@dataclass(eq=False)
class Making:
    """How far a run of `make` is; share from 0 to 1; wrong: what ended it before it was done."""

    folder: Path
    what: str = "starting"
    share: float = 0.0
    done: bool = False
    wrong: str = ""
    _stopped: bool = False
    _process: SpawnProcess | None = None
    _ended: threading.Event = field(default_factory=threading.Event)

    def begin(self, make: Make, commission: Commission) -> None:
        """Start the run."""
        spawned = multiprocessing.get_context("spawn")
        ears, mouth = spawned.Pipe(duplex=False)
        self._process = spawned.Process(target=_made, args=(make, commission, self.folder, mouth), daemon=True)
        self._process.start()
        mouth.close()
        threading.Thread(target=self._listen, args=(ears,), daemon=True).start()

    def stop(self) -> None:
        """End the run where it stands; the folder stays as it was before."""
        process = self._process
        if self.done or process is None or process.pid is None:
            return
        self._stopped = True
        # An interrupt lets it clear away what it has written aside; one that does not listen is ended.
        os.kill(process.pid, signal.SIGINT)
        if not self._ended.wait(_SECONDS_TO_STOP):
            process.kill()
            self._ended.wait(_SECONDS_TO_STOP)

    def _listen(self, ears: Connection) -> None:
        assert self._process is not None
        finished = False
        with ears:
            while True:
                try:
                    kind, what, share = ears.recv()
                except (EOFError, OSError):
                    break
                if kind == "wrong":
                    self.wrong = what
                else:
                    self.what, self.share = what, min(max(share, 0.0), 1.0)
                    finished = kind == "made"
        self._process.join()
        if self._stopped and not finished:
            self.wrong = "stopped: nothing was written"
        elif not finished and not self.wrong:
            self.wrong = f"make ended early, with code {self._process.exitcode}"
        self.done = True
        self._ended.set()


def _made(make: Make, commission: Commission, folder: Path, mouth: Connection) -> None:
    """Run `make` and tell how far it is: what a run's own process does."""
    try:
        make(commission, folder, lambda what, share: mouth.send(("told", what, share)))
        mouth.send(("made", "done", 1.0))
    except ArmatureError as error:
        mouth.send(("wrong", str(error), 0.0))
    except KeyboardInterrupt:
        return
    except Exception as error:  # the page must hear of any fault
        mouth.send(("wrong", f"make failed: {type(error).__name__}: {error}", 0.0))
