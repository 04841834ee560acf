"""What is made stays as it is: members kept through a new plan, a twig added to a grown tree, the order of the rows."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import numpy as np

from armature.errors import CommissionError, FileError, GrowthError
from armature.grow.aim import Buds
from armature.saving import read_bytes
from armature.tree import PLURALS, Tree


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


_LARGEST = 20_000_000  # bytes


def check_kept(tree: Tree, kept: Tree | None, where: str = "made.csv") -> None:
    """Raise CommissionError for the first of the kept members that a tree does not hold just as it is."""
    for row, tag in enumerate([] if kept is None else kept.tags.tolist()):
        assert kept is not None
        own = tree.rows.get(tag, -1)
        host, other = int(kept.parents[row]), int(tree.parents[own])
        same_host = own >= 0 and (host < 0 or (other >= 0 and kept.tags[host] == tree.tags[other]))
        lone = np.zeros(1, dtype=np.int64)
        one, two = (replace(each.alone([at]), parents=lone) for each, at in ((kept, row), (tree, max(own, 0))))
        if not same_host or not one.same_as(two):
            raise CommissionError(where, "the tree given does not hold this member as it is made", tag)


def made_tags(path: Path) -> list[str]:
    """Return the tags that a made.csv lists, none where there is no such file: a column `tag`, or else the first
    column.

    Raises FileError where the file cannot be read.
    """
    if not path.is_file():
        return []
    try:
        text = read_bytes(path, _LARGEST, "list of tags").decode("utf-8-sig")
        rows = [row for row in csv.reader(text.splitlines()) if any(cell.strip() for cell in row)]
    except FileError:
        raise
    except (UnicodeDecodeError, csv.Error) as fault:
        raise FileError(path, f"cannot be read as a list of tags: {fault}") from None
    names = [cell.strip().lower() for cell in rows[0]] if rows else []
    column = names.index("tag") if "tag" in names else 0
    body = rows[1:] if "tag" in names else rows
    return [row[column].strip() for row in body if len(row) > column and row[column].strip()]


def taken_over(tree: Tree, buds: Buds, rank: int, kept: Tree | None) -> Buds:
    """Return the buds of one rank with a bud for each kept member: those planned under other tags give theirs up.

    Buds give way from the fullest parents first. Raises GrowthError where more members are kept than are asked.
    """
    if kept is None:
        return buds
    wanted = kept.tags[kept.of_rank(rank)].tolist()
    missing = sorted(set(wanted) - set(buds.tags.tolist()))
    free = np.flatnonzero(~np.isin(buds.tags, wanted))
    if len(missing) > len(free):
        raise GrowthError(
            f"growth: {len(wanted)} {PLURALS[rank]} are made already, {len(buds.tags)} asked: ask for no fewer than are"
            " made"
        )
    crowd = np.bincount(buds.parents)[buds.parents[free]]
    giving = free[np.argsort(-crowd, kind="stable")][: len(missing)]
    tags, parents = buds.tags.astype(object), buds.parents.copy()
    tags[giving] = missing
    for row, tag in zip(giving.tolist(), missing, strict=True):
        parents[row] = tree.rows[str(kept.tags[kept.parents[kept.rows[tag]]])]
    return replace(buds, tags=tags.astype(np.str_), parents=parents)


def in_order(tree: Tree) -> Tree:
    """Return the tree with its members by rank, then along their parents."""
    order = np.arange(0)
    for level in range(int(tree.ranks.max()) + 1):
        rows = tree.of_rank(level)
        place = np.empty(len(tree), dtype=np.int64)
        place[order] = np.arange(len(order))
        numbers = np.array([_number(str(tag)) for tag in tree.tags[rows]], dtype=np.int64)
        hosts = np.where(tree.parents[rows] >= 0, place[np.maximum(tree.parents[rows], 0)], -1) if level else numbers
        order = np.concatenate([order, rows[np.lexsort((numbers, hosts))]])
    return tree.taken(order)


def _number(tag: str) -> int:
    digits = tag[len(tag.rstrip("0123456789")) :]
    if digits:
        return int(digits)
    return sum((ord(letter) - 64) * 26**power for power, letter in enumerate(reversed(tag)))
