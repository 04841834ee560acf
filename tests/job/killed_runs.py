"""Runs of `job_folder` that are killed, for real, at every step at which they touch the disk.

`python killed_runs.py FOLDER once|two-step` prints one line a kill: what stood under the target right after it, what
stood there once the next run had begun, and what was left beside it at the end.
"""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path

from armature.job.folder import job_folder

TOUCHES = ("open", "os.", "shutil.", "ctypes.dlsym")
FILES = ("design.json", "mesh/tree.glb", "members.csv")


def fill(target: Path, version: str, at_once: bool = True) -> None:
    with job_folder(target, at_once) as aside:
        (aside / "mesh").mkdir()
        for name in FILES:
            (aside / name).write_text(version)


def die_at(step: int) -> None:
    """Kill this process at its `step`-th touch of the disk from now on."""
    left = [step]

    def count(event: str, _: object) -> None:
        if event.startswith(TOUCHES):
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


def main(base: Path, way: str) -> None:
    step, going = 1, True
    while going:
        target = base / f"job{step}"
        fill(target, "old")
        (target / "made.csv").write_text("A07")
        going = killed(target, step, way == "once")
        after = state(target)
        with job_folder(target) as aside:
            begun = state(target)
            (aside / "mesh").mkdir()
            for name in FILES:
                (aside / name).write_text("next")
        beside = [entry.name for entry in base.iterdir() if entry.name.startswith(f".job{step}.")]
        print(step, int(going), after, begun, state(target), len(beside), sep=";")
        step += 1


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2])
