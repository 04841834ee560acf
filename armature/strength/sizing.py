"""Bigger bars where the checks ask for them, and nowhere else: each member by its own need, parents by its seat."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from armature.commission import Commission
from armature.strength.assess import Assessment, assessed
from armature.strength.carrying import Carries, carrying
from armature.strength.cross_sections import member_worst
from armature.strength.crowding import Crowded, crowded
from armature.strength.lifetime import wasted_ratio
from armature.strength.resized import resized
from armature.strength.worst import first_worst
from armature.tree import RANKS, TWIG, Floats, Tapers, Tree

# A child's bar keeps a little inside its parent's skin where it sits.
SEAT = 1.04
_ROUNDS = 20
# Diameters are asked for in steps: finer than a hammer, coarse enough that a hair of load changes nothing.
_STEP_MM = 0.1
# Few directions find nearly all who are too thin in so many rounds; all of them have the last word.
_QUICK_WINDS, _ALL_WINDS, _QUICK_ROUNDS = 12, 36, 2

Marks = NDArray[np.bool_]


@dataclass(frozen=True)
class Change:
    """One member made thicker: its bar, start and end diameter before and after, mm, and why."""

    tag: str
    rank: str
    stock_before_mm: float
    stock_mm: float
    start_before_mm: float
    start_mm: float
    end_before_mm: float
    end_mm: float
    why: str


@dataclass(frozen=True, eq=False)
class Strengthened:
    """A tree with bigger bars: what changed and why, members for which no bar on hand is enough, and its assessment.

    let_out: members whose runs were too short for the thicker bars, so that their tips came outward. crowded: pairs
    that the thicker bars brought nearer than the commission's clearance, the nearest first. carries: what those for
    which no bar is enough, or that keep theirs, can carry.
    """

    tree: Tree
    changes: tuple[Change, ...]
    no_bar: tuple[str, ...]
    let_out: tuple[str, ...]
    crowded: tuple[Crowded, ...]
    assessment: Assessment
    carries: tuple[Carries, ...] = ()

    @property
    def notes(self) -> tuple[str, ...]:
        """What to know of it before building, a line each."""
        bigger = sum(change.stock_mm > change.stock_before_mm for change in self.changes)
        said = []
        if self.changes:
            said.append(f"strengthened: {len(self.changes)} members made thicker, {bigger} of them from a bigger bar")
        if self.no_bar:
            said.append(f"not strong enough as it is allowed to be: {_some(self.no_bar)}")
            said += [each.words for each in self.carries[:4]]
        if self.let_out:
            said.append(f"thicker bars let out the tips of {_some(self.let_out)}")
        if self.crowded:
            pairs = tuple(f"{pair.first} and {pair.second} ({pair.gap_mm:.1f} mm)" for pair in self.crowded)
            said.append(f"thicker bars come nearer than the clearance: {_some(pairs)}")
        return tuple(said)


def _some(names: tuple[str, ...]) -> str:
    return ", ".join(names[:5]) + (f" and {len(names) - 5} more" if len(names) > 5 else "")


def strengthened(
    tree: Tree,
    commission: Commission,
    leaf_masses_kg: Floats | None = None,
    leaf_areas_mm2: Floats | None = None,
    made: Collection[str] = (),
) -> Strengthened:
    """Return the tree with members made thicker until their checks pass or the rack has nothing thicker.

    Each round gives a failing member the diameter that its worst place asks for: a fuller taper where the foot has
    enough, else a thicker start, from the same bar while that holds it. A parent follows only as far as the seat of a
    thicker child asks. Setbacks, first runs and bend radii follow; all angles stay. `made` tags are forged, and keep
    their size as their parents do; ranks of `steel.hold` keep the bars they grew with, and what those can carry is
    told.
    """
    rack = _rack(commission)
    as_grown = np.isin(tree.ranks, [RANKS.index(rank) for rank in commission.steel.hold])
    fixed = _forged(tree, made) | as_grown
    now, reasons = tree, dict[int, str]()
    let_out: set[int] = set()
    winds = _QUICK_WINDS
    assessment = assessed(now, commission, leaf_masses_kg, leaf_areas_mm2, winds)
    for number in range(_ROUNDS):
        asked, why = _asked(assessment)
        thick = _thicker(now, assessment, np.where(fixed, 0.0, asked), rack, fixed)
        grown = np.flatnonzero(_grew(now, thick))
        if len(grown):
            for row in grown.tolist():
                reasons[row] = reasons.get(row) or (why[row] if asked[row] > 1.0 else "seat of a thicker child")
            now, outward = resized(now, thick, commission.shop.bend_factor + 0.5)
            let_out |= set(outward.tolist())
        elif winds == _ALL_WINDS:
            break
        if number + 1 >= _QUICK_ROUNDS or not len(grown):
            winds = _ALL_WINDS
        assessment = assessed(now, commission, leaf_masses_kg, leaf_areas_mm2, winds)
    if winds != _ALL_WINDS:
        assessment = assessed(now, commission, leaf_masses_kg, leaf_areas_mm2)
    failing = np.flatnonzero(_asked(assessment)[0] > 1.0)
    return Strengthened(
        tree=now,
        changes=tuple(_change(tree, now, row, reasons[row]) for row in sorted(reasons)),
        no_bar=tuple(str(tag) for tag in now.tags[failing]),
        carries=carrying(assessment, failing),
        let_out=tuple(str(now.tags[row]) for row in sorted(let_out)),
        crowded=crowded(tree, now, commission.growth.clearance) if reasons else (),
        assessment=assessment,
    )


def _forged(tree: Tree, made: Collection[str]) -> Marks:
    """Return the members that are forged, with all that carry them: (M,)."""
    return np.asarray(tree.summed_to_root(np.isin(tree.tags, sorted(made)).astype(np.float64)) > 0.0)


@dataclass(frozen=True, eq=False)
class _Rack:
    """What is on hand: bars (B,) mm; pipes as outside (P,) and wall (P,) mm; both thinnest first."""

    bars: Floats
    outsides: Floats
    walls: Floats

    def fitting(self, diameters: Floats, walls: Floats) -> tuple[Floats, Floats]:
        """Return the least size on hand that holds each diameter (M,) mm, the thickest where none does, and walls."""
        bar = self.bars[np.minimum(np.searchsorted(self.bars, diameters - 1e-6), len(self.bars) - 1)]
        if not len(self.outsides):
            return bar, walls
        at = np.minimum(np.searchsorted(self.outsides, diameters - 1e-6), len(self.outsides) - 1)
        is_pipe = walls > 0.0
        return np.where(is_pipe, self.outsides[at], bar), np.where(is_pipe, self.walls[at], 0.0)

    def most(self, walls: Floats) -> Floats:
        """Return the thickest size on hand for each member, bar or pipe: (M,) mm."""
        return np.where(walls > 0.0, self.outsides.max(initial=0.0), float(self.bars[-1]))


def _rack(commission: Commission) -> _Rack:
    # Of pipes as wide as each other the thickest wall is taken.
    pipes = {pipe.outside: pipe.wall for pipe in sorted(commission.steel.pipes, key=lambda pipe: pipe.wall)}
    wide = sorted(pipes)
    return _Rack(
        np.sort(np.asarray(commission.steel.bars, dtype=np.float64)),
        np.array(wide, dtype=np.float64),
        np.array([pipes[outside] for outside in wide], dtype=np.float64),
    )


def _asked(assessment: Assessment) -> tuple[Floats, list[str]]:
    """Return how far over each member is (M,), over 1 where it has to grow, and the words for it."""
    names = list(assessment.parts)
    worst = first_worst(np.stack([assessment.parts[name] for name in names], axis=1))
    return assessment.ratios, [
        f"{names[kind]}: ratio {assessment.ratios[row]:.2f}" for row, kind in enumerate(worst.tolist())
    ]


def _needs(assessment: Assessment) -> tuple[Floats, Floats]:
    """Return the station (M,) mm where each member needs most, and the diameter (M,) mm that it needs there.

    Resistance goes with the cube of the diameter. What wastes before a renewal comes on top; welds, fatigue and second
    order ask at the foot. Needs are rounded up to a step, so that two loads a hair apart ask for the same bar, and the
    larger of two loads never for less.
    """
    cross_sections = assessment.cross_sections
    size = cross_sections.values.diameter
    ratio = np.maximum(np.maximum.reduce(list(assessment.worst.ratio.values())), assessment.elastic.ratio)
    if assessment.fatigue is not None:
        ratio = np.maximum(ratio, assessment.fatigue.skin)
    need = size * np.cbrt(ratio)
    depth = assessment.lifetime.renewal_depth
    if depth:
        left = np.maximum(size - 2.0 * depth, 0.1)
        wasted = wasted_ratio(
            cross_sections, assessment.worst, assessment.yields, assessment.conditions, np.minimum(depth, 0.49 * size)
        )
        need = np.maximum(need, 2.0 * depth + left * np.cbrt(wasted))
    rest = np.ones(len(assessment.tree))
    for name, part in assessment.parts.items():
        if name in ("weld", "second order", "fatigue", "rocking"):
            rest = np.maximum(rest, part)
    feet = np.arange(len(rest))  # the first cross-sections are the welds, in member order
    need[feet] = np.maximum(need[feet], np.where(rest > 1.0, size[feet] * np.cbrt(rest), 0.0))
    share, where = member_worst(cross_sections, need / size)
    wanted = np.where(share > 1.0, np.ceil(need[where] / _STEP_MM + 1e-9) * _STEP_MM, 0.0)
    return assessment.frame.stations[cross_sections.nodes[where]], wanted


def _thicker(tree: Tree, assessment: Assessment, asked: Floats, rack: _Rack, fixed: Marks) -> Tree:
    """Return the tree with the diameters that one round of checks asks for, on its old centrelines."""
    stations, need = _needs(assessment)
    need = np.where(asked > 1.0, need, 0.0)
    starts = np.where(need > tree.start_diameters, _sized(tree, need, rack), tree.start_diameters)
    tapers = tree.tapers.restarted(starts).filled(tree.lengths, np.arange(len(tree)), stations, need)
    tapers = _seated(tree, tapers, rack, fixed)
    bigger = tapers.bars > tree.stock_diameters + 1e-6
    stock, walls = rack.fitting(tapers.bars, tree.walls)
    return replace(
        tree,
        tapers=tapers,
        stock_diameters=np.where(bigger, stock, tree.stock_diameters),
        walls=np.where(bigger, walls, tree.walls),
    )


def _sized(tree: Tree, need: Floats, rack: _Rack) -> Floats:
    """Return starts (M,) mm for what is needed: forged to size from a bar; twigs and pipes as they are bought."""
    whole = (tree.ranks == TWIG) | (tree.walls > 0.0)
    size = np.where(whole, rack.fitting(need, tree.walls)[0], np.minimum(need, rack.most(tree.walls)))
    return np.maximum(size, tree.start_diameters)


def _seated(tree: Tree, tapers: Tapers, rack: _Rack, fixed: Marks) -> Tapers:
    """Return the tapers after parents made room for the seats of thicker children, tips to root.

    A fuller taper seats a child near the tip without a thicker start; on a parent that is made already, or is the
    thickest on hand, the child gives way.
    """
    for level in tree.levels[:0:-1]:
        kids = level[tapers.starts[level] > tree.start_diameters[level] * (1.0 + 1e-9)]
        kids = kids[~fixed[tree.parents[kids]]]
        parents, need = tree.parents[kids], SEAT * tapers.starts[kids]
        wanted = np.zeros(len(tree))
        np.maximum.at(wanted, parents, need)
        room = np.maximum(rack.most(tree.walls), tree.start_diameters)
        grown = np.where(wanted > tapers.starts, np.minimum(_sized(tree, wanted, rack), room), tapers.starts)
        tapers = tapers.restarted(np.maximum(tapers.starts, grown))
        tapers = tapers.filled(tree.lengths, parents, tree.stations[kids], need)
    kids = np.flatnonzero((tree.parents >= 0) & (tapers.starts > tree.start_diameters * (1.0 + 1e-9)))
    seats = tapers.at(tree.lengths, tree.parents[kids], tree.stations[kids]) / SEAT
    starts = tapers.starts.copy()
    starts[kids] = np.maximum(np.minimum(starts[kids], seats), tree.start_diameters[kids])
    return tapers.restarted(starts).narrowed()


def _grew(before: Tree, after: Tree) -> Marks:
    along = after.tapers.diameters > before.tapers.diameters * (1.0 + 1e-9)
    thicker = np.logical_or.reduceat(along, before.tapers.offsets[:-1])
    return np.asarray(thicker | (after.end_diameters > before.end_diameters * (1.0 + 1e-9)))


def _change(before: Tree, after: Tree, row: int, why: str) -> Change:
    return Change(
        tag=str(after.tags[row]),
        rank=RANKS[int(after.ranks[row])],
        stock_before_mm=float(before.stock_diameters[row]),
        stock_mm=float(after.stock_diameters[row]),
        start_before_mm=float(before.start_diameters[row]),
        start_mm=float(after.start_diameters[row]),
        end_before_mm=float(before.end_diameters[row]),
        end_mm=float(after.end_diameters[row]),
        why=why,
    )
