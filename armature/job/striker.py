"""A second process beside the first, as a smith has a striker: it takes work while the smith goes on.

with Striker(wanted=True) as striker:
    laying = striker.asked(lay, plan)       # any function of a module, and what it takes
    writing = striker.asked(write, laying)  # a piece asked for before stands for what it comes to
    ...
    layout = laying.result()                # raises what the work raised

It is started anew on every system and never forked, imports nothing of the caller's own script, and ends with the
smith, however that ends. Where none is wanted, or none can be, work is done when its result is asked for.
"""

from __future__ import annotations

import os
import pickle
import signal
import subprocess
import sys
import threading
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from queue import SimpleQueue
from types import TracebackType
from typing import Any, BinaryIO, Generic, TypeVar

T = TypeVar("T")
_START = "import sys; sys.path[:] = sys.argv[1:]; from armature.job.striker import serve; serve()"


class Striker:
    """Does work in a second process, one piece after the other, in the order in which it was asked for."""

    def __init__(self, wanted: bool = True) -> None:
        self._asked = 0
        self._hand = ThreadPoolExecutor(1) if wanted and cores() > 1 and sys.executable else None
        self._process: subprocess.Popen[bytes] | None = None

    def __enter__(self) -> Striker:
        if self._hand is not None:
            # It reads its modules while the smith still thinks.
            self._is_there()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._process is not None:
            # What it was doing is for nobody: nothing it writes may come after this.
            self._process.kill()
            self._process.wait()
        if self._hand is not None:
            self._hand.shutdown(cancel_futures=True)
        for stream in (self._process.stdin, self._process.stdout) if self._process is not None else ():
            if stream is not None:
                _shut(stream)

    def asked(self, work: Callable[..., T], *args: Any, **kwargs: Any) -> Piece[T]:
        """Return work that is begun as soon as what was asked for before is done.

        work: a function that a module names, and args, which a second process is handed as copies; a piece among them
        stands for what it comes to, which the second process has at hand where it has done it.
        """
        future = None
        if self._hand is not None and self._is_there():
            handed = [_Earlier(each.number) if isinstance(each, Piece) else each for each in args]
            # Packed now: records work parts of themselves out when they are asked for, which whoever goes on may do.
            packed = pickle.dumps((self._asked, work, handed, kwargs), protocol=pickle.HIGHEST_PROTOCOL)
            future = self._hand.submit(self._struck, packed)
        piece = Piece(self._asked, future, lambda: work(*map(_come_to, args), **kwargs))
        self._asked += 1
        return piece

    def _is_there(self) -> bool:
        """Return whether there is a second process, started now if need be."""
        line = [sys.executable, "-P", "-c", _START, *sys.path]
        if self._process is None:
            with suppress(OSError):
                self._process = subprocess.Popen(line, stdin=subprocess.PIPE, stdout=subprocess.PIPE)
        return self._process is not None

    def _struck(self, packed: bytes) -> Any:
        try:
            done, told = self._answer(packed)
        except (OSError, EOFError, pickle.UnpicklingError) as lost:
            raise _LostError from lost
        if done:
            return told
        raise told

    def _answer(self, packed: bytes) -> tuple[bool, Any]:
        process = self._process
        assert process is not None, "it is there before anything is asked"
        assert process.stdin is not None, "a pipe"
        assert process.stdout is not None, "a pipe"
        process.stdin.write(packed)
        process.stdin.flush()
        answer: tuple[bool, Any] = pickle.load(process.stdout)
        return answer


class _LostError(Exception):
    """No second process can be, it was taken away, or it lacks what a piece is made from."""


@dataclass(frozen=True)
class _Earlier:
    """What a piece of that number came to."""

    number: int


class Piece(Generic[T]):
    """A piece of work that was asked for."""

    def __init__(self, number: int, future: Future[T] | None, work: Callable[[], T]) -> None:
        self.number = number
        self._future, self._work = future, work
        self._here: list[T] = []

    def result(self) -> T:
        """Return what the work comes to, or raise what it raised; work that waits still is done here and now."""
        if self._future is not None and not self._future.cancel():
            try:
                return self._future.result()
            except _LostError:
                self._future = None
        if not self._here:
            self._here.append(self._work())
        return self._here[0]


def _come_to(each: Any) -> Any:
    return each.result() if isinstance(each, Piece) else each


def cores() -> int:
    """Return how many cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def serve() -> None:
    """Do the work that stdin asks for, one piece after the other, and leave when it ends: what a striker's process
    does.
    """
    for name in ("SIGINT", "SIGTERM", "SIGHUP"):
        # What stops a run is for the smith to hear, who stops this.
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), signal.SIG_IGN)
    answers = os.fdopen(os.dup(1), "wb")
    # What a library says must not come between the answers.
    os.dup2(2, 1)
    asked: SimpleQueue[Any] = SimpleQueue()
    threading.Thread(target=_listen, args=(asked,), daemon=True).start()
    done: dict[int, Any] = {}
    while True:
        number, work, args, kwargs = asked.get()
        try:
            done[number] = work(*(_at_hand(each, done) for each in args), **kwargs)
            answer = True, done[number]
        except Exception as error:
            answer = False, error
        pickle.dump(answer, answers, protocol=pickle.HIGHEST_PROTOCOL)
        answers.flush()


def _at_hand(each: Any, done: dict[int, Any]) -> Any:
    if not isinstance(each, _Earlier):
        return each
    if each.number not in done:
        # Done by the smith, or gone wrong: the smith knows.
        raise _LostError
    return done[each.number]


def _listen(asked: SimpleQueue[Any]) -> None:
    """Hand on what is asked for; a smith that is gone, even a killed one, ends this process in the middle of work."""
    try:
        while True:
            asked.put(pickle.load(sys.stdin.buffer))
    except EOFError:
        os._exit(0)


def _shut(stream: BinaryIO | Any) -> None:
    try:
        stream.close()
    except OSError:
        # Something was still to be handed over; nobody is there to take it.
        return
