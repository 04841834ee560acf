"""What the easel asks of the floors above and beside it, handed in by the caller."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from armature.commission import Commission
from armature.look.verdict import Verdict
from armature.progress import Told
from armature.tree import Tree

Rows = Sequence[tuple[str, str]]


@dataclass(frozen=True)
class Standing:
    """Whether a tree stands, in one line, and the rows (M,) of members that fall short."""

    stands: bool
    says: str
    rows: tuple[int, ...] = ()


@dataclass(frozen=True)
class Works:
    """grow: a commission to its Tree. judge: its look. stand: whether it stands. totals: rows of (label, value).

    make: writes the job folder at a path and tells (what, share done) as it goes; it may raise ArmatureError.
    """

    grow: Callable[[Commission], Tree]
    judge: Callable[[Tree], Verdict]
    stand: Callable[[Commission, Tree], Standing]
    totals: Callable[[Commission, Tree], Rows]
    make: Callable[[Commission, Path, Told], None]
