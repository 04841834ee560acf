"""What is made stays as it is: members kept through a new plan, a twig added to a grown tree, the order of the rows."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np

from armature.commission import Anvil, Commission
from armature.edge import CommissionError
from armature.made import given_steel
from armature.tree import BRANCH, BRANCHLET, LIMB, Tree


def given_members(commission: Commission) -> Tree | None:
    """Return the members that a commission names as given, as they are in a finished tree; None where there are none.

    Raises FileError or CommissionError in one line for a table of them that cannot be so.
    """
    name = commission.given.steel
    if name is None:
        return None
    path = commission.file(name)
    try:
        stamp = path.stat()
    except OSError:
        return given_steel(path, commission.steel.bars, commission.shop.anvil)
    return _given(path, stamp.st_mtime_ns, stamp.st_size, commission.steel.bars, commission.shop.anvil)


@lru_cache(maxsize=8)
def _given(path: Path, _when: int, _size: int, bars: tuple[float, ...], anvil: Anvil) -> Tree:
    """Fitted once for all who ask about the same file."""
    return given_steel(path, bars, anvil).rounded()


def kept_members(tree: Tree, made: Iterable[str], where: str = "made.csv") -> Tree | None:
    """Return the members of a tree that are made, with all that carries them, without leaves; None where nothing is
    made.

    Raises CommissionError for a tag that the tree does not have; `where` names the list in the message.
    """
    keep = np.zeros(len(tree), dtype=bool)
    for tag in made:
        if tag not in tree.rows:
            raise CommissionError(where, "must list tags of this tree", tag)
        row = tree.rows[tag]
        while row >= 0:
            keep[row] = True
            row = int(tree.parents[row])
    return tree.taken(np.flatnonzero(keep)) if keep.any() else None


def check_kept(tree: Tree, kept: Tree | None, where: str = "made.csv") -> None:
    """Raise CommissionError for the first of the kept members that a tree does not hold just as it is."""
    for row, tag in enumerate([] if kept is None else kept.tags.tolist()):
        assert kept is not None
        own = tree.rows.get(tag, -1)
        parent, other = int(kept.parents[row]), int(tree.parents[own])
        same_parent = own >= 0 and (parent < 0 or (other >= 0 and kept.tags[parent] == tree.tags[other]))
        lone = np.zeros(1, dtype=np.int64)
        one, two = (replace(each.alone([at]), parents=lone) for each, at in ((kept, row), (tree, max(own, 0))))
        if not same_parent or not one.same_as(two):
            raise CommissionError(where, "the tree given does not hold this member as it is made", tag)


def check_counts(tree: Tree, commission: Commission) -> None:
    """Raise CommissionError where a tree has other limbs, branches or branchlets than its commission asks for.

    Twigs may be more or fewer: one may have been added, or lost over the years.
    """
    growth = commission.growth
    for rank, key, asked in (
        (LIMB, "limbs", growth.limbs),
        (BRANCH, "branches", growth.branches),
        (BRANCHLET, "branchlets", growth.branchlets),
    ):
        own = len(tree.of_rank(rank))
        if own != asked:
            raise CommissionError(f"growth.{key}", f"must be {own}, as the tree given has them", asked)


def in_order(tree: Tree) -> Tree:
    """Return the tree with its members by rank, then along their parents; `T` comes first of all stems.

    A fork stands among the members of what carries its parent, and has a higher number than it.
    """
    order = np.arange(0)
    for level in range(int(tree.ranks.max()) + 1):
        rows = tree.of_rank(level)
        place = np.empty(len(tree), dtype=np.int64)
        place[order] = np.arange(len(order))
        numbers = np.array([_number(str(tag)) for tag in tree.tags[rows]], dtype=np.int64)
        bearers = tree.parents[rows]
        # A fork stands among the twigs of the member that carries its twig, behind that twig by its number.
        forks = (bearers >= 0) & (tree.ranks[np.maximum(bearers, 0)] == level)
        bearers = np.where(forks, tree.parents[np.maximum(bearers, 0)], bearers)
        parents = np.where(bearers >= 0, place[np.maximum(bearers, 0)], -1) if level else numbers
        order = np.concatenate([order, rows[np.lexsort((numbers, parents))]])
    return tree.taken(order)


def _number(tag: str) -> int:
    digits = tag[len(tag.rstrip("0123456789")) :]
    if digits:
        return int(digits)
    if tag == "T":
        return 1
    return sum((ord(letter) - 64) * 26**power for power, letter in enumerate(reversed(tag)))
