"""What the easel asks of the floors above and beside it, handed in by the caller."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from armature.commission import Commission
from armature.job import Standing
from armature.look import Verdict
from armature.progress import Told
from armature.tree import Tree

Rows = Sequence[tuple[str, str]]


@dataclass(frozen=True, eq=False)
class Settled:
    """A tree as `make` makes it: what the eye says of it, whether it stands, and what was changed since it was first
    grown, a few words each."""

    tree: Tree
    verdict: Verdict
    standing: Standing
    changes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Works:
    """grow: a commission to its Tree as first grown. judge: its look. totals: rows of (label, value).

    settle: all that `make` decides about the tree of a commission for a folder, told (what, share done) as it goes;
    what `told` raises ends it. make: writes that job folder; called in a process of its own, so it stands in a module.
    Both may raise ArmatureError.
    """

    grow: Callable[[Commission], Tree]
    judge: Callable[[Tree], Verdict]
    settle: Callable[[Commission, Path, Told], Settled]
    totals: Callable[[Commission, Tree], Rows]
    make: Callable[[Commission, Path, Told], None]
