"""One artist's work at the easel: the commission as it stands, what it was before, and the trees set aside.

Each browser page has a session of its own. Every kept step is written to a file, so that nothing is lost when the
page or the program is closed.
"""

from __future__ import annotations

import json
import re
import threading
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from armature.commission import Commission, changed, read, write
from armature.errors import CommissionError
from armature.pictures.easel.controls import commission_values
from armature.pictures.easel.making import Making
from armature.pictures.easel.works import Settled, Works
from armature.tree import Tree

_MOST_STEPS = 200
_RECENT = 4


class _GoneOnError(Exception):
    """The page shows another tree by now."""


NAME = re.compile(r"[0-9a-f]{16}")


@dataclass(frozen=True, eq=False)
class Grown:
    """A commission and its tree; number: which of the session's trees it is."""

    commission: Commission
    tree: Tree
    number: int


@dataclass(eq=False)
class Session:
    """The steps kept, where in them the artist stands, the tree on view, and the trees set aside by number.

    written: SHA-256 of the commissions that were written out, by their paths.
    """

    name: str
    file: Path
    folder: Path
    works: Works
    steps: list[str]
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

    def opened(self, text: str) -> Grown:
        """Return the tree of an uploaded commission."""
        with self.lock:
            return self._take(self._read(text), True)

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
        found = self.recent.get(number) or self.aside.get(number)
        if found is None:
            raise CommissionError("shelf", "no such tree", number)
        return found

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
                    found = self.works.settle(grown.commission, self.job, told)
                    kept = {*self.recent, *self.aside, number}
                    self.settled = {k: v for k, v in [*self.settled.items(), (number, found)] if k in kept}
                return self.settled[number]
            except _GoneOnError:
                return None

    def seen(self, number: int) -> Tree:
        """Return a tree by its number as the page shows it: settled, or as first grown."""
        found = self.settled.get(number)
        return self.on_shelf(number).tree if found is None else found.tree

    def _take(self, commission: Commission, keep: bool) -> Grown:
        grown = self._grown(commission)
        self.shown = grown
        text = write(commission)
        if keep and text != self.steps[self.at]:
            self.steps = [*self.steps[: self.at + 1], text][-_MOST_STEPS:]
            self.at = len(self.steps) - 1
            self._save()
        return grown

    def _grown(self, commission: Commission) -> Grown:
        # The last move of a slider and its release say the same thing: the tree is grown once.
        if self.shown is not None and self.shown.commission == commission:
            return self.shown
        tree = self.works.grow(commission)
        self.count += 1
        grown = Grown(commission, tree, self.count)
        self.recent = dict([*self.recent.items(), (grown.number, grown)][-_RECENT:])
        return grown

    def _read(self, text: str) -> Commission:
        return read(text if "\n" in text else text + "\n", self.folder)

    def _save(self) -> None:
        """Keep the steps; a disk that is full or closed must not stop the work on the page."""
        aside = self.file.with_suffix(".part")
        try:
            self.file.parent.mkdir(parents=True, exist_ok=True)
            aside.write_text(json.dumps({"at": self.at, "steps": self.steps}), encoding="utf-8")
            aside.replace(self.file)
        except OSError:
            return


def restored(name: str, file: Path, folder: Path, works: Works) -> Session | None:
    """Return the session that a file keeps, or nothing where there is none."""
    try:
        kept = json.loads(file.read_text(encoding="utf-8"))
        steps, at = [str(step) for step in kept["steps"]], int(kept["at"])
    except (OSError, ValueError, KeyError, TypeError, OverflowError, RecursionError):
        return None
    return Session(name, file, folder, works, steps, at) if 0 <= at < len(steps) else None
