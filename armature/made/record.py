"""The one record of all steel that exists: what is made as planned, and what was measured.

Size letters: K members that exist, B their bends, D diameters read on them. Lengths are mm, angles degrees.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from armature.edge import CommissionError
from armature.made.felt import points_of
from armature.made.fitting import Shape, shape_of
from armature.made.given import bar_through
from armature.made.measures import Line, Measures, Offsets, Tape
from armature.made.tapes import AGREE, met, spread, wrong_one
from armature.tree import BendList, Floats, Ints, Strings, Tree, bend_list, locate

if TYPE_CHECKING:
    from armature.commission import Anvil

# A bar that came out shorter or longer than this against its plan was read in another unit, or is another bar.
_SHORT, _LONG, _SLACK = 0.6, 1.5, 60.0
# A reading further off the fitted bar than this, or this share of its length, was misread.
_OFF, _OFF_SHARE = 20.0, 0.02
# Tapes that meet less squarely than this fix no place.
_FLAT = 0.04
_THICK = (0.3, 1.6)
# A bar may stand so far from its plan, mm, and half its length.
_ELSEWHERE = 400.0


@dataclass(frozen=True, eq=False)
class Steel:
    """K members that exist, in the tree's order.

    tags (K,). measured (K,): whether how it came out is known; else it is as planned. bends: their bends as made,
    `members` counting in these K. errors (K,): how far readings lie off the fitted bar at most, NaN without any.
    ats, clocks, leans, rolls (K,): the joint as welded, NaN where as planned; welded (K,): whether it is welded on.
    starts, tips, mids (K, 3): where tapes or points found them, NaN where they did not; off (K,): by how much
    tapes disagree.
    size_of (D,), size_shares (D,), sizes (D,): the member on which a diameter was read, at which share of its length,
    and how much it is of the diameter planned there.
    """

    tags: Strings
    measured: NDArray[np.bool_]
    bends: BendList
    errors: Floats
    ats: Floats
    clocks: Floats
    leans: Floats
    rolls: Floats
    welded: NDArray[np.bool_]
    starts: Floats
    tips: Floats
    mids: Floats
    off: Floats
    size_of: Ints
    size_shares: Floats
    sizes: Floats

    def __len__(self) -> int:
        return len(self.tags)

    def __repr__(self) -> str:
        return f"Steel: {len(self)} members exist, {int(self.measured.sum())} of them measured"

    @property
    def lengths(self) -> Floats:
        """Length of each along its bends, (K,) mm."""
        own = self.bends
        runs = np.bincount(own.members, own.feeds + own.radii * np.radians(own.bends), len(self))
        return np.asarray(runs + own.tails)


def taken_in(
    plan: Tree, anvil: Anvil, made: Collection[str], measures: Measures, places: Mapping[str, Floats]
) -> Steel:
    """Return all that exists of a planned tree.

    made: tags that are made as planned. places: (3,) mm of fixed points that the shop knows by name; those of the
    measures take their place. Raises CommissionError, naming the line, for a tag that the plan does not have, a reading
    that no bar of this tree can have, and tapes that contradict each other.
    """
    for tag, where in measures.tags():
        _known(plan, tag, where)
    by_tag = {bar.tag: bar for bar in measures.offsets}
    felt = {bar.tag: bar for bar in measures.felt}
    lines = {line.tag: line for line in measures.lines}
    for tag, line in lines.items():
        _check_line(plan, line)
        by_tag[tag] = _as_offsets(line)
    tapes: dict[str, tuple[Tape, ...]] = {}
    for tape in measures.tapes:
        tapes[tape.tag] = (*tapes.get(tape.tag, ()), tape)
    welds = {weld.tag: weld for weld in measures.welds}
    measured = {*by_tag, *tapes, *welds, *felt}
    rows = [row for row, tag in enumerate(plan.tags.tolist()) if tag in measured or tag in set(made)]
    points = {**places, **(measures.points or {})}
    shapes, tips, mids, off = [], np.full((len(rows), 3), np.nan), np.full((len(rows), 3), np.nan), np.zeros(len(rows))
    joints, starts = np.full((4, len(rows)), np.nan), np.full((len(rows), 3), np.nan)
    for number, row in enumerate(rows):
        tag = str(plan.tags[row])
        by_feel = _felt_shape(felt[tag], anvil) if tag in felt and tag not in by_tag else None
        shapes.append(by_feel or _shaped(plan, row, anvil, by_tag.get(tag), tapes.get(tag, ())))
        if tag in welds:
            weld = welds[tag]
            joints[:, number] = weld.at, weld.clock, weld.lean, weld.roll
        if tag in lines:
            starts[number], mids[number], tips[number] = _stands(lines[tag].points)
        halfway = locate(plan.chains, [row], [float(plan.lengths[row]) / 2.0])[0][0]
        for what, found, near in (("tip", tips, plan.tips[row]), ("mid", mids, halfway)):
            own = [tape for tape in tapes.get(tag, ()) if tape.what == what]
            if own:
                found[number], far = _place(own, points, near)
                off[number] = max(off[number], far)
    tags = plan.tags[rows]
    size_of, shares, sizes = _sizes(plan, rows, felt | by_tag)
    welded = np.array([tag in welds for tag in tags.tolist()], dtype=bool) | np.isfinite(tips[:, 0])
    return Steel(
        tags=tags,
        measured=np.array([tag in measured for tag in tags.tolist()], dtype=bool),
        bends=_together(shapes),
        errors=np.array([shape.most for shape in shapes]),
        ats=joints[0],
        clocks=joints[1],
        leans=joints[2],
        rolls=joints[3],
        welded=welded,
        tips=tips,
        starts=starts,
        mids=mids,
        off=off,
        size_of=size_of,
        size_shares=shares,
        sizes=sizes,
    )


def _felt_shape(read: Offsets, anvil: Anvil) -> Shape:
    """Return the shape of a bar that was forged by feel: as many bends as its readings ask for."""
    points = points_of(read)
    bar = bar_through(points, anvil)
    line = locate(bar, np.zeros(400, dtype=np.int64), np.linspace(0.0, float(bar.lengths[0]), 400))[0]
    off = np.linalg.norm(points[:, None] - line, axis=2).min(axis=1)
    return Shape(bend_list(bar), float(np.sqrt(np.mean(off**2))), float(off.max()))


def _check_line(plan: Tree, line: Line) -> None:
    """Raise CommissionError for a bar that stands nowhere near its place: another grid, unit or end first."""
    row = plan.rows[line.tag]
    away = [float(np.linalg.norm(line.points[at] - own[row])) for at, own in ((0, plan.starts), (-1, plan.tips))]
    if max(away) > _ELSEWHERE + 0.5 * float(plan.lengths[row]):
        rule = f"{line.tag} begins {away[0]:.0f} mm and ends {away[1]:.0f} mm from its plan: another grid, unit or end?"
        raise CommissionError(line.where, rule)


def _as_offsets(line: Line) -> Offsets:
    """Return points along a bar as offsets from its own base line."""
    away = line.points - line.points[0]
    base = away[-1] / np.linalg.norm(away[-1])
    side = np.eye(3)[int(np.argmin(np.abs(base)))]
    side = side - (side @ base) * base
    side /= np.linalg.norm(side)
    local = away @ np.stack([base, side, np.cross(base, side)]).T
    # A bar that doubles back is read where it first gets that far.
    further = np.flatnonzero(local[:, 0] > np.maximum.accumulate(np.append(0.0, local[:-1, 0])) + 0.5)
    keep = np.union1d(further[local[further, 0] < local[-1, 0] - 0.5], [len(local) - 1])
    last = np.arange(len(keep)) == len(keep) - 1
    rises, lifts = (np.where(last, 0.0, local[keep, axis]) for axis in (1, 2))
    return Offsets(line.tag, local[keep, 0], rises, lifts, line.diameters[keep], line.where)


def _stands(points: Floats) -> tuple[Floats, Floats, Floats]:
    """Return START, middle and tip (3,) of a line of points (P, 3)."""
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    middle = np.array([np.interp(along[-1] / 2.0, along, points[:, axis]) for axis in range(3)])
    return points[0], middle, points[-1]


def _known(plan: Tree, tag: str, where: str) -> None:
    if tag not in plan.rows:
        near = get_close_matches(tag, list(plan.rows), n=1)
        hint = f": did you mean {near[0]}?" if near else ""
        raise CommissionError(f"{where}: tag", f"is no member of this tree{hint}", tag)


def _shaped(plan: Tree, row: int, anvil: Anvil, offsets: Offsets | None, tapes: tuple[Tape, ...]) -> Shape:
    planned = bend_list(plan.chains.taken([row]))
    long, tag = float(plan.lengths[row]), str(plan.tags[row])
    chord = float(np.linalg.norm(plan.tips[row] - plan.starts[row]))
    readings = [(tape.where, tape.distance, long if tape.what == "length" else chord) for tape in tapes]
    readings = [each for each, tape in zip(readings, tapes, strict=True) if tape.what in ("length", "chord")]
    if offsets is not None:
        readings.append((f"{offsets.where}: along", float(offsets.alongs[-1]), chord))
        _check_offsets(offsets, long)
    for where, read, wanted in readings:
        if not _SHORT * wanted - _SLACK < read < _LONG * wanted + _SLACK:
            rule = (
                f"{tag} is planned {wanted:.0f} mm here, this is {read / wanted:.2g} times that: another unit or bar?"
            )
            raise CommissionError(where, rule, f"{read:.0f} mm")
    shape = shape_of(planned, anvil, offsets, tapes)
    if shape.most > max(_OFF, _OFF_SHARE * long):
        at = f" at {offsets.alongs[shape.worst]:.0f} mm along" if offsets is not None and shape.worst >= 0 else ""
        where = offsets.where if offsets is not None else tapes[0].where
        bends = len(planned.bends)
        raise CommissionError(
            where, f"{tag}{at} is read {shape.most:.0f} mm off any bar of {bends} bends: read it again"
        )
    return shape


def _check_offsets(offsets: Offsets, long: float) -> None:
    far = np.hypot(offsets.rises, offsets.lifts)
    worst = int(np.argmax(far))
    if far[worst] > long:
        rule = f"{offsets.tag} is {long:.0f} mm long and cannot stray so far from its base line"
        raise CommissionError(offsets.where, rule, f"{far[worst]:.0f} mm at {offsets.alongs[worst]:.0f} mm along")


def _place(tapes: list[Tape], points: Mapping[str, Floats], near: Floats) -> tuple[Floats, float]:
    """Return where tapes of one place meet, (3,) mm, and by how much the worst of them disagrees, mm."""
    first = tapes[0]
    for tape in tapes:
        if tape.to not in points:
            said = ", ".join(sorted(points)[:8])
            raise CommissionError(f"{tape.where}: to", f"must be a point of points.csv or one of {said}", tape.to)
    if len(tapes) < 3:
        rule = f"three tapes or more fix the {first.what} of {first.tag}"
        raise CommissionError(first.where, rule, len(tapes))
    ends = np.array([points[tape.to] for tape in tapes])
    read = np.array([tape.distance for tape in tapes])
    if spread(ends, near) < _FLAT:
        rule = f"the tapes to the {first.what} of {first.tag} lie almost in one plane: measure from another point too"
        raise CommissionError(first.where, rule, ", ".join(tape.to for tape in tapes))
    place, over = met(ends, read, near)
    if np.abs(over).max() > AGREE:
        _refuse(tapes, ends, read, near, over)
    return place, float(np.abs(over).max())


def _refuse(tapes: list[Tape], ends: Floats, read: Floats, near: Floats, over: Floats) -> None:
    one = tapes[0]
    if len(tapes) == 3:
        rule = f"the three tapes to the {one.what} of {one.tag} do not meet by {np.abs(over).max():.0f} mm: read again"
        raise CommissionError(one.where, rule, ", ".join(f"{tape.to} {tape.distance:.0f} mm" for tape in tapes))
    wrong = tapes[wrong_one(ends, read, near)]
    rest = [number for number, tape in enumerate(tapes) if tape is not wrong]
    place, _ = met(ends[rest], read[rest], near)
    wanted = float(np.linalg.norm(place - ends[tapes.index(wrong)]))
    rule = f"contradicts the other tapes to the {wrong.what} of {wrong.tag}, which want {wanted:.0f} mm"
    raise CommissionError(f"{wrong.where}: distance", rule, f"{wrong.distance:.0f} mm")


def _sizes(plan: Tree, rows: list[int], offsets: Mapping[str, Offsets]) -> tuple[Ints, Floats, Floats]:
    """Return on which member diameters were read, at which share of its length, and their share of what is planned."""
    found: list[tuple[int, float, float]] = []
    for number, row in enumerate(rows):
        own = offsets.get(str(plan.tags[row]))
        if own is None:
            continue
        for along, size in zip(own.alongs.tolist(), own.diameters.tolist(), strict=True):
            if np.isnan(size):
                continue
            share = along / float(own.alongs[-1])
            planned = float(plan.diameters_at([row], [share * float(plan.lengths[row])])[0])
            if not _THICK[0] < size / planned < _THICK[1]:
                rule = f"{own.tag} is planned {planned:.1f} mm thick at {along:.0f} mm along: another unit or bar?"
                raise CommissionError(f"{own.where}: diameter", rule, f"{size:.1f} mm")
            found.append((number, share, size / planned))
    columns = np.array(found).reshape(-1, 3)
    return columns[:, 0].astype(np.int64), columns[:, 1], columns[:, 2]


def _together(shapes: list[Shape]) -> BendList:
    """Return the bends of all shapes as one list."""
    counts = [len(shape.bends.bends) for shape in shapes]
    members = np.repeat(np.arange(len(shapes)), counts).astype(np.int64)
    names = ("numbers", "marks", "feeds", "turns", "bends", "radii", "tails")
    none = {name: np.zeros(0, dtype=np.int64 if name == "numbers" else np.float64) for name in names}
    columns = {name: np.concatenate([none[name], *(getattr(s.bends, name) for s in shapes)]) for name in names}
    return BendList(members, **columns)
