"""Which test runs which block: every file of tests run once in a marked copy of the house, and what each test marked.

What a fixture or a cached function marks is marked for every test that uses it, though it ran for the first alone.
"""

from __future__ import annotations

import functools
import json
import time
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest

# The figures of whole commissions see most changes: they are not left behind dozens of narrow tests.
_WIDE_S = 10.0
_OURS = ("armature", "tests")


@dataclass(frozen=True)
class Run:
    """One test as it ran: its name, seconds of its own and of its fixtures, whether it passed, blocks it entered."""

    test: str
    own_s: float
    fixtures_s: float
    passed: bool
    blocks: frozenset[int]


class Watching:
    """A plugin of pytest: writes what each test entered, one line a test, to a file."""

    def __init__(self, marks: Any, told: Path) -> None:
        self.marks, self.told = marks, told
        self.fixtures: dict[int, tuple[bytes, float]] = {}
        self.setting_up_s = 0.0
        self.passed = True

    def _whole(self) -> bytes:
        return bytes(self.marks[:])

    def _put(self, marks: bytes) -> None:
        self.marks[:] = marks

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any) -> Iterator[None]:
        before, begun = self._whole(), time.perf_counter()
        self._put(bytes(len(before)))
        try:
            return (yield)
        finally:
            entered, took = self._whole(), time.perf_counter() - begun
            self.setting_up_s += took
            self.fixtures[id(fixturedef)] = entered, took
            self._put(_either(before, entered))

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: Any) -> Iterator[None]:
        self._put(bytes(len(self._whole())))
        self.setting_up_s, self.passed, begun = 0.0, True, time.perf_counter()
        result = yield
        own = time.perf_counter() - begun - self.setting_up_s
        entered, fixtures = self._whole(), 0.0
        info = getattr(item, "_fixtureinfo", None)
        for definitions in info.name2fixturedefs.values() if info else ():
            more, took = self.fixtures.get(id(definitions[-1]), (b"", 0.0))
            entered, fixtures = _either(entered, more) if more else entered, fixtures + took
        blocks = np.flatnonzero(np.frombuffer(entered, dtype=np.uint8)).tolist()
        with self.told.open("a") as file:
            file.write(json.dumps([item.nodeid, own, fixtures, self.passed, blocks]) + "\n")
        return result

    def pytest_runtest_logreport(self, report: Any) -> None:
        self.passed = self.passed and not report.failed


def _either(one: bytes, other: bytes) -> bytes:
    return (np.frombuffer(one, dtype=np.uint8) | np.frombuffer(other, dtype=np.uint8)).tobytes()


def remembered(marks: Any) -> None:
    """Make cached functions and properties of the house mark again, each time they are asked, what they marked once."""
    lru_cache = functools.lru_cache

    def marking(function: Callable[..., Any], size: int | None, typed: bool) -> Any:
        if not function.__module__.startswith(_OURS):
            return lru_cache(size, typed)(function)
        entered: dict[Any, bytes] = {}

        def kept(*args: Any, **keys: Any) -> Any:
            before, key = bytes(marks[:]), (args, tuple(keys.items()))
            if key not in entered:
                marks[:] = bytes(len(before))
            value = cached(*args, **keys)
            entered.setdefault(key, bytes(marks[:]))
            marks[:] = _either(before, entered[key])
            return value

        cached = lru_cache(size, typed)(function)
        made: Any = functools.wraps(function)(kept)
        made.cache_clear, made.cache_info = cached.cache_clear, cached.cache_info
        return made

    def caching(maxsize: Any = 128, typed: bool = False) -> Any:
        if callable(maxsize):
            return marking(maxsize, 128, typed)
        return lambda function: marking(function, maxsize, typed)

    class Property(functools.cached_property[Any]):
        def __get__(self, instance: Any, owner: Any = None) -> Any:
            if instance is None or not self.func.__module__.startswith(_OURS):
                return super().__get__(instance, owner)
            store = instance.__dict__.setdefault("__bite__", {})
            before = bytes(marks[:])
            if self.attrname not in store:
                marks[:] = bytes(len(before))
                value = self.func(instance)
                store[self.attrname] = value, bytes(marks[:])
            value, entered = store[self.attrname]
            marks[:] = _either(before, entered)
            return value

    functools.lru_cache = caching
    functools.cache = lambda function: marking(function, None, False)
    functools.cached_property = Property  # type: ignore[misc]


def told_of(folder: Path) -> list[Any]:
    """Return what a map holds: lists for tests, dictionaries for files that are done."""
    paths = sorted(folder.glob("runs-*.jsonl"))
    return [json.loads(line) for path in paths for line in path.read_text("utf-8").splitlines()]


def files_done(folder: Path) -> set[str]:
    """Return the files whose tests a map has."""
    return {each["done"] for each in told_of(folder) if isinstance(each, dict)}


def runs_of(folder: Path) -> list[Run]:
    """Return every test that a map has, the last where it ran twice."""
    told = {each[0]: each for each in told_of(folder) if isinstance(each, list)}
    return [
        Run(name, own, fixtures, passed, frozenset(blocks)) for name, own, fixtures, passed, blocks in told.values()
    ]


def test_texts(house: Path) -> dict[str, str]:
    """Return the text of each file with tests in it, the house's own modules among them."""
    paths = [*(house / "tests").rglob("test_*.py"), *(house / "armature").rglob("*.py")]
    return {path.relative_to(house).as_posix(): path.read_text("utf-8") for path in paths}


def carried(earlier: list[Any], other: set[str], now: dict[int, set[int]]) -> list[str]:
    """Return the lines of an earlier map that still hold, its blocks by what they are `now`.

    A file of tests that is an `other` one now is left out, to be run again. What a test runs is what it ran before,
    where the code has changed: the functions of the same names.
    """
    kept = []
    for each in earlier:
        if isinstance(each, dict):
            if not any(path.startswith(each["done"]) for path in other):
                kept.append(json.dumps(each))
        elif each[0].split("::")[0] not in other:
            blocks = sorted(set[int]().union(*(now.get(at, set()) for at in each[4])))
            kept.append(json.dumps([*each[:4], blocks]))
    return kept


def chosen(runs: list[Run], blocks: list[int], unsound: Collection[str] = ()) -> list[tuple[float, list[str]]]:
    """Return the tests that enter one of the blocks, by file, the cheapest file first: seconds of it, and its tests.

    A test that failed on the marked copy (it looks at the sources), or is known to be `unsound`, says nothing, and is
    left out.
    """
    wanted, files = frozenset(blocks), dict[str, list[Run]]()
    for run in runs:
        if run.passed and run.blocks & wanted and run.test not in unsound:
            files.setdefault(run.test.split("::")[0], []).append(run)
    dear = []
    for name, each in files.items():
        seconds = sum(run.own_s for run in each) + max(run.fixtures_s for run in each)
        dear.append((min(seconds, _WIDE_S) if "as_it_came" in name else seconds, [run.test for run in each]))
    return sorted(dear)
