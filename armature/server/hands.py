"""Hands: processes that do the heavy work of a page aside, each within a time and a memory, so that no page can freeze
another.

Work that runs over is ended with its process, and a new one takes its place. What is handed over and back is pickled:
functions stand in modules.
"""

from __future__ import annotations

import multiprocessing
import os
import queue
import sys
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnProcess
from typing import Any, TypeVar

from armature.edge import ArmatureError, CommissionError
from armature.progress import Told

_SECONDS_TO_STOP = 2.0
_SECONDS_TO_BEGIN = 60.0
_GIGABYTE = 1 << 30
_SAYS_LESS = "ask for less"
T = TypeVar("T")


class Hands:
    """A few processes that work for all pages; `seconds` and `gigabytes`: what one piece of work may take.

    Memory is bounded where the system can do it (not on Windows).
    """

    def __init__(self, count: int = 2, seconds: float = 30.0, gigabytes: float = 3.0) -> None:
        self.seconds, self.gigabytes = seconds, gigabytes
        self._idle: queue.LifoQueue[_Hand] = queue.LifoQueue()
        self._all = [_Hand(gigabytes) for _ in range(count)]
        for hand in self._all:
            self._idle.put(hand)

    def work(self, function: Callable[..., T], *given: Any, told: Told | None = None) -> T:
        """Return what a function returns; raises what it raises, and CommissionError where it asks too much.

        told: the function takes a `told(what, share)` as its last argument, and hears it here; what it raises ends the
        work.
        """
        hand = self._free(told)
        try:
            done: T = hand.work(function, given, told, self.seconds)
            return done
        finally:
            self._idle.put(hand)

    def _free(self, told: Told | None) -> _Hand:
        """Return a hand that has nothing to do; a page that waits for one may go on meanwhile."""
        until = time.monotonic() + self.seconds
        while time.monotonic() < until:
            with suppress(queue.Empty):
                return self._idle.get(timeout=0.3)
            if told is not None:
                told("waiting", 0.0)
        raise CommissionError("this", "has to wait for other pages: try again in a moment")

    def put_away(self) -> None:
        """End all processes."""
        for hand in self._all:
            hand.end()


class _StoppedError(Exception):
    """The page has gone on: said to the process, which ends its work."""


class _Hand:
    """One process and the line to it, started when there is work."""

    def __init__(self, gigabytes: float) -> None:
        self.gigabytes = gigabytes
        self.process: SpawnProcess | None = None
        self.line: Connection | None = None
        self.lock = threading.Lock()

    def work(self, function: Callable[..., Any], given: Any, told: Told | None, seconds: float) -> Any:
        with self.lock:
            try:
                line = self._begun()
                line.send((function, given, told is not None))
                return self._heard(line, told, time.monotonic() + seconds)
            except TimeoutError:
                self._end()
                raise CommissionError("this", f"takes more than {seconds:g} s: {_SAYS_LESS}") from None
            except (EOFError, OSError):
                self._end()
                raise CommissionError("this", f"needs more than {self.gigabytes:g} GB: {_SAYS_LESS}") from None

    def end(self) -> None:
        """End the process, at work or not."""
        process = self.process
        if process is not None:
            process.kill()
            process.join(_SECONDS_TO_STOP)

    def _begun(self) -> Connection:
        if self.line is None or self.process is None or not self.process.is_alive():
            spawned = multiprocessing.get_context("spawn")
            self.line, far = spawned.Pipe()
            self.process = spawned.Process(target=_working, args=(far, self.gigabytes), daemon=True)
            self.process.start()
            far.close()
            # Beginning takes a second or more, and is nobody's work: it is not counted.
            if not self.line.poll(_SECONDS_TO_BEGIN) or self.line.recv() != "ready":
                self._end()
                raise CommissionError("this", "cannot be worked on: no process begins on this machine")
        return self.line

    def _heard(self, line: Connection, told: Told | None, until: float) -> Any:
        while True:
            if not line.poll(max(until - time.monotonic(), 0.0)):
                raise TimeoutError
            kind, what = line.recv()
            if kind == "done":
                return what
            if kind == "wrong":
                raise what
            try:
                if told is not None:
                    told(*what)
            except Exception:
                self._stop(line)
                raise

    def _stop(self, line: Connection) -> None:
        """Ask the process to leave its work; one that does not listen is ended."""
        line.send("stop")
        until = time.monotonic() + _SECONDS_TO_STOP
        try:
            while line.poll(max(until - time.monotonic(), 0.0)):
                if line.recv()[0] != "told":
                    return
        except (EOFError, OSError):
            pass
        self._end()

    def _end(self) -> None:
        self.end()
        if self.line is not None:
            self.line.close()
        self.process = self.line = None


def _working(line: Connection, gigabytes: float) -> None:
    """Do one piece of work after another: the process's own part."""
    _bound_memory(gigabytes)
    line.send("ready")
    while True:
        try:
            function, given, tells = line.recv()
        except (EOFError, OSError, KeyboardInterrupt):
            return
        except Exception as error:
            line.send(("wrong", ArmatureError(f"{type(error).__name__}: {error}"[:300])))
            continue
        try:
            line.send(_done(function, given, tells, line))
        except KeyboardInterrupt:
            return


def _done(function: Callable[..., Any], given: Any, tells: bool, line: Connection) -> tuple[str, Any]:
    def told(what: str, share: float) -> None:
        line.send(("told", (what, share)))
        if line.poll():
            # The one word that comes while there is work.
            line.recv()
            raise _StoppedError

    try:
        return "done", function(*given, told) if tells else function(*given)
    except MemoryError:
        return "wrong", ArmatureError(f"this: needs more memory than a page is given: {_SAYS_LESS}")
    except ArmatureError as error:
        return "wrong", _carried(error)
    except KeyboardInterrupt:
        raise
    except _StoppedError:
        return "wrong", ArmatureError("stopped")
    except Exception as error:
        return "wrong", RuntimeError(f"{type(error).__name__}: {error}"[:300])


def _carried(error: ArmatureError) -> ArmatureError:
    """Return an error of the same text that can be pickled, whatever its class is made with."""
    return ArmatureError(str(error))


def _bound_memory(gigabytes: float) -> None:
    if sys.platform == "win32":
        return
    import resource

    most = int(gigabytes * _GIGABYTE)
    _, hard = resource.getrlimit(resource.RLIMIT_DATA)
    resource.setrlimit(resource.RLIMIT_DATA, (most if hard == resource.RLIM_INFINITY else min(most, hard), hard))
    os.nice(1)
