"""A run that kills itself at its n-th rename, link, mkdir or rmdir."""

from __future__ import annotations

import os
import signal
import sys

TOUCHES = ("os.rename", "os.link", "os.mkdir", "os.rmdir")


def main(step: int, arguments: list[str]) -> None:
    """Run the command line and die at a touch of the disk."""
    left = [step]

    def count(event: str, told: tuple[object, ...]) -> None:
        if event.startswith(TOUCHES) and "/tmp" in str(told[0]):
            left[0] -= 1
            if left[0] == 0:
                os.kill(os.getpid(), signal.SIGKILL)

    from armature.cli.app import run

    sys.addaudithook(count)
    run(arguments)
