"""One artist's work at the easel: the commission as it stands, what it was before, and the trees set aside.

Each browser page has a session of its own. Every kept step is written to a file, so that nothing is lost when the
page or the program is closed.
"""

from __future__ import annotations

import base64
import binascii
import json
import re
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from armature.commission import Commission, changed, named_files, read, write
from armature.edge import CommissionError, read_bytes, write_whole
from armature.pictures.easel.controls import commission_values
from armature.pictures.easel.making import Making
from armature.pictures.easel.names import is_plain
from armature.pictures.easel.works import Settled, Works
from armature.server import Hands, MalformedError
from armature.tree import Tree

_MOST_STEPS = 200
# Bytes of the steps kept of one design.
_LARGEST = 200_000_000
_RECENT = 4
_MOST_AT_ONCE = 8
_MOST_FILES = 40
# What a browser can still turn, and a page is still quick with.
_MOST_MEMBERS, _MOST_LEAVES = 20_000, 60_000


class _GoneOnError(Exception):
    """The page shows another tree by now."""


NAME = re.compile(r"[0-9a-f]{16}")


@dataclass(frozen=True, eq=False)
class Grown:
    """A commission and its tree; number: which of the session's trees it is."""

    commission: Commission
    tree: Tree
    number: int


class Crew:
    """Who works for the pages: hands for what follows a slider, and one that settles trees and may take its time."""

    def __init__(self) -> None:
        self.hands, self.settler = Hands(2), Hands(1, seconds=400.0)

    def put_away(self) -> None:
        """End all processes."""
        self.hands.put_away()
        self.settler.put_away()


@dataclass(frozen=True)
class Step:
    """A commission as text; handed: it came from the page, and the files that it names did too."""

    text: str
    handed: bool = False


@dataclass(eq=False)
class Session:
    """The steps kept, where in them the artist stands, the tree on view, and the trees set aside by number.

    folder: where the commission that the easel was opened with finds the files that it names.
    written: SHA-256 of the commissions that were written out, by their paths.
    """

    name: str
    file: Path
    folder: Path
    works: Works
    crew: Crew
    steps: list[Step]
    at: int = 0
    shown: Grown | None = None
    aside: dict[int, Grown] = field(default_factory=dict)
    making: Making | None = None
    lock: threading.RLock = field(default_factory=threading.RLock)
    count: int = 0
    recent: dict[int, Grown] = field(default_factory=dict)
    settled: dict[int, Settled] = field(default_factory=dict)
    written: dict[Path, str] = field(default_factory=dict)
    settling: threading.Lock = field(default_factory=threading.Lock)
    at_once: threading.BoundedSemaphore = field(default_factory=lambda: threading.BoundedSemaphore(_MOST_AT_ONCE))

    @contextmanager
    def turn(self) -> Iterator[None]:
        """Hold one of the requests that a page may have under way: one page must not take every thread."""
        if not self.at_once.acquire(blocking=False):
            raise CommissionError("page", f"asks for more than {_MOST_AT_ONCE} things at once")
        try:
            yield
        finally:
            self.at_once.release()

    @property
    def handed_over(self) -> Path:
        """Folder for the files that the page hands over."""
        return self.file.with_suffix("")

    @property
    def job(self) -> Path:
        """Folder that the work is made into."""
        return self.file.parent.parent / f"easel-{self.name}"

    def present(self) -> Grown:
        """Return the tree on view, grown where it has not been yet."""
        with self.lock:
            if self.shown is None:
                self.shown = self._grown(self._read(self.steps[self.at]))
            return self.shown

    def moved(self, values: dict[str, Any], keep: bool) -> Grown:
        """Return the tree after controls moved; `keep` makes it a step to come back to. Where it raises, nothing has
        changed.
        """
        with self.lock:
            before = self.present().commission
            return self._take(changed(before, commission_values(before, values)), keep)

    def opened(self, text: str, files: Mapping[str, str]) -> Grown:
        """Return the tree of a commission that the page hands over, with the files that it names in base64; no other
        file is opened for it.
        """
        with self.lock:
            contents = _contents(files)
            self._keep(contents)
            return self._take(self._read(Step(text, True)), True)

    def stepped(self, by: int) -> Grown:
        """Return the tree of the step before (-1) or after (1)."""
        with self.lock:
            if not 0 <= self.at + by < len(self.steps):
                raise CommissionError("undo" if by < 0 else "redo", "there is no further step")
            grown = self._grown(self._read(self.steps[self.at + by]))
            self.at += by
            self.shown = grown
            self._save()
            return grown

    def set_aside(self) -> Grown:
        """Return the tree on view after it was put on the shelf."""
        with self.lock:
            grown = self.present()
            if len(self.aside) >= 24:
                raise CommissionError("shelf", "holds 24 trees: take one down first")
            self.aside[grown.number] = grown
            return grown

    def taken_back(self, number: int) -> Grown:
        """Return a tree from the shelf, on view again as a new step."""
        with self.lock:
            return self._take(self.on_shelf(number).commission, True)

    def on_shelf(self, number: int) -> Grown:
        """Return a tree by its number: from the shelf, or one of the last on view, which the page may still ask
        about.
        """
        grown = self.recent.get(number) or self.aside.get(number)
        if grown is None:
            raise CommissionError("shelf", "no such tree", number)
        return grown

    def text(self) -> str:
        """Return the commission on view as TOML."""
        return write(self.present().commission)

    def begin_making(self) -> Making:
        """Return the run of `make` that was started aside for the tree on view; one at a time."""
        with self.lock:
            if self.making is not None and not self.making.done:
                raise CommissionError("make", "is already running for this tree")
            self.making = Making(self.job)
            self.making.begin(self.works.make, self.present().commission)
            return self.making

    def settle(self, number: int) -> Settled | None:
        """Return a tree as `make` would make it, worked out where it has not been yet; none where the page has gone on
        to another tree meanwhile.
        """
        grown = self.on_shelf(number)

        def told(_what: str, _share: float) -> None:
            if number not in self.aside and (self.shown is None or self.shown.number != number):
                raise _GoneOnError

        with self.settling:
            try:
                told("", 0.0)
                if number not in self.settled:
                    settled = self.crew.settler.work(self.works.settle, grown.commission, self.job, told=told)
                    kept = {*self.recent, *self.aside, number}
                    self.settled = {k: v for k, v in [*self.settled.items(), (number, settled)] if k in kept}
                return self.settled[number]
            except _GoneOnError:
                return None

    def seen(self, number: int) -> Tree:
        """Return a tree by its number as the page shows it: settled, or as first grown."""
        tree = self.settled.get(number)
        return self.on_shelf(number).tree if tree is None else tree.tree

    def _take(self, commission: Commission, keep: bool) -> Grown:
        grown = self._grown(commission)
        self.shown = grown
        step = Step(write(commission), commission.folder == self.handed_over)
        if keep and step != self.steps[self.at]:
            self.steps = [*self.steps[: self.at + 1], step][-_MOST_STEPS:]
            self.at = len(self.steps) - 1
            self._save()
        return grown

    def _grown(self, commission: Commission) -> Grown:
        # The last move of a slider and its release say the same thing: the tree is grown once.
        if self.shown is not None and _same(self.shown.commission, commission):
            return self.shown
        _check_size(commission)
        tree = self.crew.hands.work(self.works.grow, commission)
        self.count += 1
        grown = Grown(commission, tree, self.count)
        self.recent = dict([*self.recent.items(), (grown.number, grown)][-_RECENT:])
        return grown

    def _read(self, step: Step) -> Commission:
        text = step.text if "\n" in step.text else step.text + "\n"
        commission = self.crew.hands.work(read, text, self.handed_over if step.handed else self.folder)
        if step.handed:
            for key, name in named_files(commission).items():
                if not is_plain(name) or not (self.handed_over / name).is_file():
                    raise CommissionError(key, "hand this file over too: choose it together with the commission", name)
        return commission

    def _keep(self, contents: Mapping[str, bytes]) -> None:
        if not contents:
            return
        self.handed_over.mkdir(parents=True, exist_ok=True)
        for name, content in contents.items():
            write_whole(self.handed_over / name, content)

    def _save(self) -> None:
        """Keep the steps; a disk that is full or closed must not stop the work on the page."""
        aside = self.file.with_suffix(".part")
        try:
            self.file.parent.mkdir(parents=True, exist_ok=True)
            kept = {"at": self.at, "steps": [[step.text, step.handed] for step in self.steps]}
            aside.write_text(json.dumps(kept), encoding="utf-8")
            aside.replace(self.file)
        except OSError:
            return


def restored(name: str, file: Path, folder: Path, works: Works, crew: Crew) -> Session | None:
    """Return the session that a file keeps, or nothing where there is none."""
    try:
        kept = json.loads(read_bytes(file, _LARGEST, "kept design").decode())
        steps = [Step(str(text), bool(handed)) for text, handed in kept["steps"]]
        at = int(kept["at"])
    except (OSError, ValueError, KeyError, TypeError, OverflowError, RecursionError):
        return None
    return Session(name, file, folder, works, crew, steps, at) if 0 <= at < len(steps) else None


def _same(one: Commission, other: Commission) -> bool:
    return one.folder == other.folder and one == other


def _check_size(commission: Commission) -> None:
    growth, leaves = commission.growth, commission.leaves.count
    members = growth.limbs + growth.branches + (growth.branchlets or 0) + growth.twigs
    if members > _MOST_MEMBERS:
        raise CommissionError("growth", f"the easel shows at most {_MOST_MEMBERS} members", members)
    if leaves > _MOST_LEAVES:
        raise CommissionError("leaves.count", f"the easel shows at most {_MOST_LEAVES} leaves", leaves)


def _contents(files: Mapping[str, str]) -> dict[str, bytes]:
    """Return files that a page hands over, by plain names."""
    if len(files) > _MOST_FILES:
        raise MalformedError("files", f"are more than {_MOST_FILES}", len(files))
    contents = {}
    for name, text in files.items():
        if not is_plain(name):
            raise MalformedError("files", "must have plain names", name[:80])
        try:
            contents[name] = base64.b64decode(text, validate=True)
        except (binascii.Error, ValueError, TypeError):
            raise MalformedError("files", "must be in base64", name[:80]) from None
    return contents
