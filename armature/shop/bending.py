"""How each bend is made, where it breaks a limit of the forge, and the numbers as they stand on paper.

Size letters: M members, B bends. Lengths are mm, angles degrees.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from armature.commission import Tool, Tools
from armature.tree import BendList, Floats, Ints, Joints, Tree, bend_list

if TYPE_CHECKING:
    from armature.commission import Commission

COLD, HORN, HOT, PRESS, HOT_PRESS, ROLLS, NO_TOOL = range(7)
METHODS = (
    "cold in the fork",
    "hot over the horn",
    "hot in the fork",
    "cold in the press",
    "hot in the press",
    "cold in the rolls",
    "no tool here fits",
)


@dataclass(frozen=True)
class Forge:
    """What a forge can bend: its tools, inside radii in bar diameters, the angles and how many bends a rank has.

    `least_radius` binds every bend; from `cold_radius` on a thin bar is bent cold in a hot shop too. `all_cold`: no
    fire is lit for bends. Mild steel: hot about one bar diameter inside, cold about two; common practice, no source.
    """

    tools: Tools = field(default_factory=Tools)
    cold_radius: float = 2.0
    least_radius: float = 1.0
    all_cold: bool = False
    least_deg: float = 5.0
    most_deg: float = 180.0
    most_bends: tuple[int, ...] = (12, 10, 8, 6, 5, 6)

    @classmethod
    def of(cls, commission: Commission) -> Forge:
        """Return the forge of a commission."""
        growth, shop = commission.growth, commission.shop
        most = (12, growth.limb.bends, growth.branch.bends, growth.branchlet.bends, growth.twig.bends, 6)
        return cls(
            shop.tools,
            least_radius=shop.bend_factor,
            all_cold=shop.bending == "cold",
            least_deg=shop.least_bend,
            most_bends=most,
        )


@dataclass(frozen=True)
class Paper:
    """Steps to which numbers are rounded on paper: lengths in mm, angles in degrees."""

    unit: str
    length_mm: float
    angle_deg: float = 1.0


def paper_for(unit: str) -> Paper:
    """Return the rounding of a shop that reads inch (to 1/16) or mm (to 1).

    >>> paper_for("inch").length_mm
    1.5875
    """
    return Paper("inch", 25.4 / 16.0) if unit == "inch" else Paper("mm", 1.0)


@dataclass(frozen=True)
class BendFault:
    """A bend, or a member's count of bends, that breaks a rule of the forge: bend 0 means the whole member.

    kind: what value and limit are, "length" mm, "angle" deg or "count". bar_mm: how thick the bar is where that counts.
    """

    tag: str
    bend: int
    rule: str
    value: float
    limit: float
    kind: str = "length"
    bar_mm: float = 0.0


def methods(tree: Tree, bends: BendList, forge: Forge) -> Ints:
    """Return how each bend is best made: (B,) index into METHODS, cold before horn before fork before press and rolls.

    In a shop that bends all cold, what is too thick for the fork goes into the press. Pipe goes into press or rolls.
    """
    diameter, inside = bar_at_bends(tree, bends)
    tools, bar = forge.tools, tree.walls[bends.members] == 0.0
    thin = bar & (diameter <= tools.fork.cold + 1e-9) & _taken(tools.fork, diameter, inside)
    soft = (inside >= forge.cold_radius * diameter) | forge.all_cold
    hot = bar & (not forge.all_cold)
    ways = [
        (COLD, thin & soft),
        (HORN, hot & _taken(tools.horn, diameter, inside)),
        (HOT, hot & _taken(tools.fork, diameter, inside)),
        (HOT_PRESS, hot & _taken(tools.press, diameter, inside)),
        (PRESS, _taken(tools.press, diameter, inside)),
        (ROLLS, _taken(tools.rolls, diameter, inside)),
    ]
    chosen = np.full(len(diameter), NO_TOOL, dtype=np.int64)
    for way, fits in reversed(ways):
        chosen = np.where(fits, way, chosen)
    return chosen


def _taken(tool: Tool, diameter: Floats, inside: Floats) -> NDArray[np.bool_]:
    """Return which bends (B,) a tool takes."""
    if not tool.have:
        return np.zeros(len(diameter), dtype=bool)
    thick = (diameter >= tool.thinnest - 1e-6) & (diameter <= tool.thickest + 1e-6)
    return np.asarray(thick & (inside >= tool.tightest - 1e-6) & (inside <= tool.widest + 1e-6))


def bar_at_bends(tree: Tree, bends: BendList) -> tuple[Floats, Floats]:
    """Return the bar's diameter (B,) mm in the middle of each bend and the inside radius (B,) mm."""
    middle = bends.marks + bends.radii * np.radians(bends.bends) / 2.0
    diameter = tree.diameters_at(bends.members, middle)
    return diameter, bends.radii - diameter / 2.0


def bend_faults(tree: Tree, forge: Forge) -> list[BendFault]:
    """Return every broken rule: radius under the limit, bend too slight or too far, overlapping, or too many."""
    bends = bend_list(tree.chains)
    return _shape_faults(tree, bends, forge) + _tool_faults(tree, bends, forge) + _count_faults(tree, bends, forge)


def _shape_faults(tree: Tree, bends: BendList, forge: Forge) -> list[BendFault]:
    """Return what is wrong with single bends: inside radius, angle, the straight after it."""
    diameter, inside = bar_at_bends(tree, bends)
    least_inside = forge.least_radius * diameter
    feeds_after = np.append(bends.feeds[1:], 0.0)
    last = np.append(np.diff(bends.members) != 0, True) if len(bends.members) else np.zeros(0, dtype=bool)
    feeds_after = np.where(last, bends.tails[bends.members], feeds_after)
    least, most, none = (np.full(len(bends.bends), value) for value in (forge.least_deg, forge.most_deg, 0.0))
    tight = f"inside radius under the {'cold' if forge.all_cold else 'hot'} limit"
    rules: list[tuple[str, NDArray[np.bool_], Floats, Floats, str]] = [
        (tight, inside < least_inside - 1e-6, inside, least_inside, "length"),
        ("bend under the least angle", bends.bends < forge.least_deg - 1e-6, bends.bends, least, "angle"),
        ("bend over the most angle", bends.bends > forge.most_deg + 1e-6, bends.bends, most, "angle"),
        ("bend overlaps the next or runs off the bar", feeds_after < -1e-6, feeds_after, none, "length"),
    ]
    return [
        BendFault(_tag(tree, bends, at), int(bends.numbers[at]), rule, float(value[at]), float(limit[at]), kind)
        for rule, broken, value, limit, kind in rules
        for at in np.flatnonzero(broken).tolist()
    ]


def _tool_faults(tree: Tree, bends: BendList, forge: Forge) -> list[BendFault]:
    """Return the bends that no tool of the shop makes."""
    diameter, inside = bar_at_bends(tree, bends)
    faults = []
    for at in np.flatnonzero(methods(tree, bends, forge) == NO_TOOL).tolist():
        thick = "pipe" if tree.walls[bends.members[at]] else "bar"
        rule = f"no tool in shop.tools bends a {thick} so thick to this inside radius"
        number, thickness = int(bends.numbers[at]), float(diameter[at])
        faults.append(BendFault(_tag(tree, bends, at), number, rule, float(inside[at]), 0.0, bar_mm=thickness))
    return faults


def _count_faults(tree: Tree, bends: BendList, forge: Forge) -> list[BendFault]:
    """Return the members with more bends than their rank should have."""
    counts = np.bincount(bends.members, minlength=len(tree))
    most = np.asarray(forge.most_bends)[tree.ranks]
    rule = "more bends than its rank should have"
    return [
        BendFault(str(tree.tags[row]), 0, rule, float(counts[row]), float(most[row]), "count")
        for row in np.flatnonzero(counts > most)
    ]


def _tag(tree: Tree, bends: BendList, at: int) -> str:
    return str(tree.tags[bends.members[at]])


def chalk_clocks(bends: BendList) -> Floats:
    """Return the way round the bar in which each bend goes, from its chalk line: (B,) deg within +-180.

    Turns count from the bend before. The bar carries its chalk line through a bend without twist, so that the clock of
    a bend on the chalk line is the sum of the turns up to it, and every bend can be punched while the bar is straight.

    >>> from armature.tree import bend_list, chain
    >>> zigzag = bend_list(chain([[0, 0, 0], [9, 0, 0], [9, 9, 0], [18, 9, 0], [18, 18, 0]], [0, 1, 1, 1, 0]))
    >>> zigzag.turns.round(6).tolist(), chalk_clocks(zigzag).round(6).tolist()
    ([0.0, 180.0, 180.0], [0.0, 180.0, 0.0])
    """
    total = np.cumsum(bends.turns)
    first = np.searchsorted(bends.members, bends.members)
    summed = total - (total - bends.turns)[first]
    # Halves of a turn are told as +180.
    return np.asarray(180.0 - np.mod(180.0 - summed, 360.0)) + 0.0


def bends_on_paper(bends: BendList, lengths: Floats, paper: Paper) -> BendList:
    """Return the bends as a smith reads them: marks, radii, angles and finished lengths (M,) mm rounded.

    Marks are measured from the start of the member, so rounding one does not move the next; each feed is what is
    left between two rounded marks.
    """
    marks, radii = rounded(bends.marks, paper.length_mm), rounded(bends.radii, paper.length_mm)
    angles = rounded(bends.bends, paper.angle_deg)
    ends = marks + radii * np.radians(angles)
    before = np.where(bends.numbers > 1, np.roll(ends, 1), 0.0)
    tails = rounded(lengths, paper.length_mm)
    final = np.append(np.diff(bends.members) != 0, True) if len(marks) else np.zeros(0, dtype=bool)
    tails[bends.members[final]] -= ends[final]
    return replace(
        bends,
        marks=marks,
        feeds=marks - before,
        turns=rounded(bends.turns, paper.angle_deg),
        bends=angles,
        radii=radii,
        tails=tails,
    )


def joints_on_paper(listed: Joints, paper: Paper) -> Joints:
    """Return the joints as a welder reads them: stations, setbacks and angles rounded."""
    return replace(
        listed,
        stations=rounded(listed.stations, paper.length_mm),
        setbacks=rounded(listed.setbacks, paper.length_mm),
        clocks=rounded(listed.clocks, paper.angle_deg),
        leans=rounded(listed.leans, paper.angle_deg),
        rolls=rounded(listed.rolls, paper.angle_deg),
    )


def rounded(values: Floats, step: float) -> Floats:
    """Return values rounded to whole steps, halves away from zero, as a tape is read.

    >>> rounded(np.array([2.5, -2.5, 3.4]), 1.0).tolist()
    [3.0, -3.0, 3.0]
    """
    return np.asarray(np.sign(values) * np.floor(np.abs(values) / step + 0.5) * step)


def arc_offsets(radii: Floats, bends: Floats) -> tuple[Floats, Floats]:
    """Return chord and rise (B,) mm of each bend: 2 R sin(bend / 2) and R (1 - cos(bend / 2)).

    >>> chord, rise = arc_offsets(np.array([100.0]), np.array([90.0]))
    >>> chord.round(2).tolist(), rise.round(2).tolist()
    ([141.42], [29.29])
    """
    half = np.radians(bends) / 2.0
    return 2.0 * radii * np.sin(half), radii * (1.0 - np.cos(half))
