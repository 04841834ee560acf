"""The closed loop: a tree put together again from joints.csv, bends.csv and tapers.csv alone, and how far off
each tip lands.

Size letters: M members, B bends. Lengths are mm, angles degrees.
"""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass, replace
from io import StringIO
from pathlib import Path

import numpy as np

from armature.edge import CommissionError, FileError, read_bytes
from armature.shop.bending import Paper, bends_on_paper, joints_on_paper
from armature.tree import BendList, Chains, Floats, Ints, Joints, Strings, Tapers, assembled, depths, row_norms

_LARGEST = 200_000_000  # bytes
GROUND = "base"
_JOINT_COLUMNS = ("station_mm", "clock_deg", "lean_deg", "roll_deg", "setback_mm", "tail_mm", "finished_mm")
# Where a bar stands on the base, and how far its foot swells; lists of older runs have none.
_BASE_COLUMNS, _SWELL_COLUMN = ("base_x_mm", "base_y_mm", "base_z_mm"), "swell_mm"
_TAPER_COLUMNS = ("station_mm", "d_mm")
_BEND_COLUMNS = ("bend", "mark_mm", "feed_mm", "turn_deg", "bend_deg", "radius_mm")


@dataclass(frozen=True, eq=False)
class Lists:
    """What the lists hold: tags (M,), parents (M,) rows, joints, bends, finished lengths (M,) mm, and the diameters
    along each bar where tapers.csv tells them."""

    tags: Strings
    parents: Ints
    joints: Joints
    bends: BendList
    finished: Floats
    tapers: Tapers | None


@dataclass(frozen=True, eq=False)
class Rebuild:
    """Members rebuilt from lists: tags (M,), how far each start and tip is off, and each tip from paper: (M,) mm.

    tapers: the diameters along each bar, None where no tapers.csv tells them.
    """

    tags: Strings
    chains: Chains
    start_errors: Floats
    tip_errors: Floats
    paper_errors: Floats
    tapers: Tapers | None

    @property
    def largest_mm(self) -> float:
        """The largest error of any start or tip, mm."""
        return float(max(self.start_errors.max(initial=0.0), self.tip_errors.max(initial=0.0)))


def rebuilt(folder: Path | str, paper: Paper) -> Rebuild:
    """Return the tree of a job folder, rebuilt from joints.csv, bends.csv and tapers.csv and laid over the ends in
    members.csv.

    Raises FileError for a missing file and CommissionError for a row that is none of the tree.
    """
    home = Path(folder)
    lists = read_lists(home)
    chains = assembled(lists.parents, lists.joints, lists.bends)
    on_paper = assembled(
        lists.parents, joints_on_paper(lists.joints, paper), bends_on_paper(lists.bends, lists.finished, paper)
    )
    starts, tips = _ends(home / "members.csv", lists.tags)
    return Rebuild(
        tags=lists.tags,
        chains=chains,
        start_errors=row_norms(chains.vertices[chains.offsets[:-1]] - starts),
        tip_errors=row_norms(chains.vertices[chains.offsets[1:] - 1] - tips),
        paper_errors=row_norms(on_paper.vertices[on_paper.offsets[1:] - 1] - tips),
        tapers=lists.tapers,
    )


def read_lists(folder: Path) -> Lists:
    """Return what joints.csv, bends.csv and tapers.csv of a folder hold, members with parents before children."""
    joint_file, bend_file = folder / "joints.csv", folder / "bends.csv"
    rows = _rows(joint_file, ("child", "parent", *_JOINT_COLUMNS))
    order, parents = _parents_first([row["child"] for row in rows], [row["parent"] for row in rows], joint_file)
    rows = [rows[at] for at in order]
    tags = [row["child"] for row in rows]
    columns = {name: _numbers(rows, name, joint_file) for name in _JOINT_COLUMNS}
    bends = _bends(bend_file, tags, columns["tail_mm"])
    none = np.zeros(len(tags))
    joints = Joints(
        points=_bases(rows, parents, joint_file),
        stations=columns["station_mm"],
        clocks=columns["clock_deg"],
        leans=columns["lean_deg"],
        rolls=columns["roll_deg"],
        setbacks=columns["setback_mm"],
        feet=none,
        parent_diameters=none,
        chalks=np.zeros((len(tags), 3)),
    )
    swells = _numbers(rows, _SWELL_COLUMN, joint_file) if _SWELL_COLUMN in rows[0] else none
    tapers = _tapers(folder / "tapers.csv", tags, swells)
    return Lists(np.array(tags), parents, joints, bends, columns["finished_mm"], tapers)


def _bases(rows: list[dict[str, str]], parents: Ints, path: Path) -> Floats:
    if _BASE_COLUMNS[0] not in rows[0]:
        return np.zeros((len(rows), 3))
    points = np.stack([_numbers(rows, name, path) for name in _BASE_COLUMNS], axis=1)
    return np.where(parents[:, None] < 0, points, 0.0)


def _tapers(path: Path, tags: Sequence[str], swells: Floats) -> Tapers | None:
    """Return the diameters along each bar: the last row of each is its tip; None where the file is missing."""
    if not path.exists():
        return None
    rows = _rows(path, ("tag", *_TAPER_COLUMNS))
    place = {tag: row for row, tag in enumerate(tags)}
    for row in rows:
        if row["tag"] not in place:
            raise CommissionError(str(path), "tells of a member that joints.csv does not list", row["tag"])
    members = np.array([place[row["tag"]] for row in rows], dtype=np.int64)
    stations, diameters = (_numbers(rows, name, path) for name in _TAPER_COLUMNS)
    order = np.lexsort((stations, members))
    members, stations, diameters = members[order], stations[order], diameters[order]
    counts = np.bincount(members, minlength=len(tags))
    if (counts < 2).any():
        raise CommissionError(str(path), "needs two rows a member, start and tip", tags[int(np.argmin(counts))])
    tips = np.append(np.diff(members) > 0, True)
    offsets = np.concatenate([[0], np.cumsum(counts - 1)]).astype(np.int64)
    return Tapers(offsets, stations[~tips], diameters[~tips], diameters[tips], swells)


def _bends(path: Path, tags: Sequence[str], tails: Floats) -> BendList:
    rows = _rows(path, ("tag", *_BEND_COLUMNS))
    place = {tag: row for row, tag in enumerate(tags)}
    for row in rows:
        if row["tag"] not in place:
            raise CommissionError(str(path), "bends a member that joints.csv does not list", row["tag"])
    members = np.array([place[row["tag"]] for row in rows], dtype=np.int64)
    columns = {name: _numbers(rows, name, path) for name in _BEND_COLUMNS}
    order = np.lexsort((columns["bend"], members))
    listed = BendList(
        members=members,
        numbers=columns["bend"].astype(np.int64),
        marks=columns["mark_mm"],
        feeds=columns["feed_mm"],
        turns=columns["turn_deg"],
        bends=columns["bend_deg"],
        radii=columns["radius_mm"],
        tails=tails,
    )
    names = ("members", "numbers", "marks", "feeds", "turns", "bends", "radii")
    return replace(listed, **{name: getattr(listed, name)[order] for name in names})


def _parents_first(children: list[str], parent_tags: list[str], path: Path) -> tuple[list[int], Ints]:
    place = {tag: row for row, tag in enumerate(children)}
    if len(place) != len(children):
        twice = next(tag for tag in children if children.count(tag) > 1)
        raise CommissionError(str(path), "lists a member twice", twice)
    for parent in parent_tags:
        if parent != GROUND and parent not in place:
            raise CommissionError(str(path), "names a parent that it does not list as a child", parent)
    parents = np.array([place.get(parent, -1) for parent in parent_tags], dtype=np.int64)
    at = parents.copy()
    for _ in range(len(parents)):
        if (at < 0).all():
            break
        at = np.where(at >= 0, parents[at], -1)
    else:
        raise CommissionError(str(path), "has members that hang in a circle and never reach the base")
    order = np.argsort(depths(parents), kind="stable")
    new = np.empty(len(order), dtype=np.int64)
    new[order] = np.arange(len(order))
    moved = np.where(parents[order] >= 0, new[np.maximum(parents[order], 0)], -1)
    return order.tolist(), moved


def _ends(path: Path, tags: Strings) -> tuple[Floats, Floats]:
    names = [f"{axis}{end}_mm" for end in "01" for axis in "xyz"]
    rows = {row["tag"]: row for row in _rows(path, ("tag", *names))}
    for tag in tags.tolist():
        if tag not in rows:
            raise CommissionError(str(path), "lacks a member of joints.csv", tag)
    kept = [rows[tag] for tag in tags.tolist()]
    ends = np.stack([_numbers(kept, name, path) for name in names], axis=1)
    return ends[:, :3], ends[:, 3:]


def _rows(path: Path, needed: Sequence[str]) -> list[dict[str, str]]:
    try:
        if not path.exists():
            raise FileError(path, "is missing: name a job folder that 'make' has written")
        text = read_bytes(path, _LARGEST, "list of bars").decode("utf-8-sig")
        reader = csv.DictReader(StringIO(text, newline=""))
        rows = list(reader)
        missing = [name for name in needed if name not in (reader.fieldnames or [])]
    except FileError:
        raise
    except (UnicodeDecodeError, csv.Error) as error:
        raise FileError(path, f"cannot be read: {error}") from None
    if missing:
        raise CommissionError(str(path), f"lacks the column {missing[0]}")
    return rows


def _numbers(rows: list[dict[str, str]], name: str, path: Path) -> Floats:
    values = np.zeros(len(rows))
    for at, row in enumerate(rows):
        try:
            values[at] = float(row[name])
        except (TypeError, ValueError):
            raise CommissionError(f"{path}: line {at + 2}, {name}", "must be a number", row[name]) from None
    if not np.isfinite(values).all():
        at = int(np.flatnonzero(~np.isfinite(values))[0])
        raise CommissionError(f"{path}: line {at + 2}, {name}", "must be a finite number", rows[at][name])
    return values
