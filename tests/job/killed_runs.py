"""Runs of `job_folder` that are killed, for real, at every step at which they touch the disk.

`python killed_runs.py FOLDER` prints one line a kill, way by way: what stood under the target right after it, what
stood there once the next run had begun, and what was left beside it at the end.
"""

from __future__ import annotations

import errno
import os
import signal
import sys
from contextlib import nullcontext
from pathlib import Path
from typing import Any

from armature.job.folder import job_folder

TOUCHES = (
    "os.rename",
    "os.link",
    "os.mkdir",
    "os.rmdir",
    "os.remove",
    "os.chmod",
    "os.utime",
    "os.symlink",
    "ctypes.dlsym",
)
WRITING = os.O_WRONLY | os.O_RDWR
FILES = ("design.json", "mesh/tree.glb", "members.csv")


def fill(target: Path, version: str, at_once: bool = True) -> None:
    with job_folder(target, at_once) as aside:
        (aside / "mesh").mkdir()
        for name in FILES:
            (aside / name).write_text(version)


def die_at(step: int) -> None:
    """Kill this process at its `step`-th touch of the disk from now on."""
    left = [step]

    def count(event: str, told: tuple[Any, ...]) -> None:
        writes = event == "open" and isinstance(told[2], int) and told[2] & WRITING
        if writes or event.startswith(TOUCHES):
            left[0] -= 1
            if left[0] == 0:
                os.kill(os.getpid(), signal.SIGKILL)

    sys.addaudithook(count)


def state(target: Path) -> str:
    """Return the version that stands whole under the target, with the user's note, or what is wrong with it."""
    if not target.exists():
        return "missing"
    versions = {(target / name).read_text() if (target / name).exists() else "no " + name for name in FILES}
    note = (target / "made.csv").read_text() if (target / "made.csv").exists() else "no note"
    return f"{'/'.join(sorted(versions))},{note}"


def killed(target: Path, step: int, at_once: bool) -> bool:
    """Return whether a run that was to be killed at a step was killed, and did not end before."""
    child = os.fork()
    if child == 0:
        die_at(step)
        fill(target, "new", at_once)
        os._exit(0)
    return os.WIFSIGNALED(os.waitpid(child, 0)[1])


def no_waiting(fd: object) -> None:
    """Stand for a disk that is always ready."""


def refuse(*_: object, **__: object) -> None:
    """Stand for a file system without second names."""
    raise OSError(errno.EPERM, "Operation not permitted")


def runs(base: Path, way: str) -> None:
    """Kill runs at one step after the other until one gets to its end."""
    base.mkdir()
    step, going = 1, True
    while going:
        target = base / f"job{step}"
        fill(target, "old")
        (target / "made.csv").write_text("A07")
        with (target / "notes").open("w") if way == "in-use" else nullcontext():
            going = killed(target, step, way != "two-step")
        after = state(target)
        with job_folder(target) as aside:
            begun = state(target)
            (aside / "mesh").mkdir()
            for name in FILES:
                (aside / name).write_text("next")
        beside = [entry.name for entry in base.iterdir() if entry.name.startswith(f".job{step}.")]
        print(way, step, int(going), after, begun, state(target), len(beside), sep=";")
        step += 1


def main(home: Path) -> None:
    # A kill is no power cut: what was written stays, whether it has reached the disk or not.
    os.fsync = no_waiting
    for way in ("once", "two-step", "in-use"):
        runs(home / way, way)
    os.link = refuse
    runs(home / "copies", "copies")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
