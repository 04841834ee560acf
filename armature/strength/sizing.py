"""Bigger bars where the checks ask for them, with the look of the pipe rule kept as far as the rack allows."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from armature.centreline import Floats, Ints
from armature.commission import Commission
from armature.strength.assess import Assessment, assessed
from armature.strength.resized import resized
from armature.strength.second_order import LIMIT
from armature.tree import RANKS, Tree

# A child's bar keeps a little inside its parent's skin where it sits.
SEAT = 1.04
_ROUNDS = 12


@dataclass(frozen=True)
class Change:
    """One member made thicker: its bar and start diameter before and after, mm, and why."""

    tag: str
    rank: str
    stock_before_mm: float
    stock_mm: float
    start_before_mm: float
    start_mm: float
    why: str


@dataclass(frozen=True, eq=False)
class Strengthened:
    """A tree with bigger bars: what changed and why, members for which no bar on hand is enough, and its assessment.

    let_out: members whose runs were too short for the thicker bars, so that their tips came outward.
    """

    tree: Tree
    changes: tuple[Change, ...]
    no_bar: tuple[str, ...]
    let_out: tuple[str, ...]
    assessment: Assessment


def strengthened(
    tree: Tree,
    commission: Commission,
    leaf_masses_kg: Floats | None = None,
    leaf_areas_mm2: Floats | None = None,
) -> Strengthened:
    """Return the tree with members grown, bar by bar, until their checks pass or the rack has nothing thicker.

    Each round takes a failing member to the next bar that its ratio asks for, then its parents to what the pipe rule
    and the seat of the thicker child ask. Setbacks, first runs and bend radii follow; all angles stay.
    Fatigue counts with the leaves as plates. Thicker members are not tried for clashes here: look at their clearance.
    """
    rack = _rack(commission)
    now, reasons = tree, dict[int, str]()
    let_out: set[int] = set()
    found = assessed(now, commission, leaf_masses_kg, leaf_areas_mm2)
    for _ in range(_ROUNDS):
        asked, why = _asked(found)
        wanted = _wanted(now, asked, rack)
        starts = _piped(now, wanted, rack, commission.growth.pipe_exponent)
        grown = np.flatnonzero(starts > now.start_diameters * (1.0 + 1e-9))
        if not len(grown):
            break
        for row in grown.tolist():
            reasons[row] = reasons.get(row) or (
                why[row] if asked[row] > 1.0 else "pipe rule and seat of thicker children"
            )
        now, outward = _with(now, starts, rack, commission)
        let_out |= set(outward.tolist())
        found = assessed(now, commission, leaf_masses_kg, leaf_areas_mm2)
    failing = np.flatnonzero(_asked(found)[0] > 1.0)
    return Strengthened(
        tree=now,
        changes=tuple(_change(tree, now, row, reasons[row]) for row in sorted(reasons)),
        no_bar=tuple(str(tag) for tag in now.tags[failing]),
        let_out=tuple(str(now.tags[row]) for row in sorted(let_out)),
        assessment=found,
    )


@dataclass(frozen=True, eq=False)
class _Rack:
    """What is on hand: bars (B,) mm; pipes as outside (P,) and wall (P,) mm; both thinnest first."""

    bars: Floats
    outsides: Floats
    walls: Floats


def _rack(commission: Commission) -> _Rack:
    pipes = [(pipe.outside, pipe.wall) for pipe in commission.steel.pipes]
    table = np.array(sorted(pipes), dtype=np.float64).reshape(-1, 2)
    return _Rack(np.sort(np.asarray(commission.steel.bars, dtype=np.float64)), table[:, 0], table[:, 1])


def _asked(found: Assessment) -> tuple[Floats, list[str]]:
    """Return how far over each member is (M,), over 1 where it has to grow, and the words for it."""
    parts = {"strength": found.ratios}
    if found.fatigue is not None:
        # Stress goes with the cube root of a Miner sum, and that with the cube of the diameter.
        parts["fatigue, leaves as plates"] = np.cbrt(found.fatigue.damage("plates"))
    carries = np.isin(np.arange(len(found.tree)), found.tree.parents)
    parts["second order"] = np.where(carries, found.order.shares / LIMIT, 0.0)
    stacked = np.stack(list(parts.values()))
    names = list(parts)
    worst = stacked.argmax(axis=0)
    asked = stacked.max(axis=0)
    words = [f"{names[kind]}: ratio {asked[row]:.2f}" for row, kind in enumerate(worst.tolist())]
    return asked, words


def _wanted(tree: Tree, asked: Floats, rack: _Rack) -> Floats:
    """Return start diameters (M,) mm that the checks ask for: resistance in bending goes with the cube."""
    failing = asked > 1.0
    # The next bar at least; more where one step is plainly not enough. 0.97: rather one more round than a bar too many.
    target = tree.start_diameters * np.where(failing, np.maximum(0.97 * np.cbrt(asked), 1.0 + 1e-6), 1.0)
    return np.where(failing, _next_size(target, tree.walls, tree.start_diameters, rack), tree.start_diameters)


def _next_size(target: Floats, walls: Floats, now: Floats, rack: _Rack) -> Floats:
    """Return the least size on hand no thinner than the target, (M,) mm; the thickest, or what it is, where none is."""
    bar = np.take(rack.bars, np.minimum(np.searchsorted(rack.bars, target - 1e-6), len(rack.bars) - 1))
    if not len(rack.outsides):
        return np.maximum(bar, now)
    pipe = rack.outsides[np.minimum(np.searchsorted(rack.outsides, target - 1e-6), len(rack.outsides) - 1)]
    return np.maximum(np.where(walls > 0.0, pipe, bar), now)


def _piped(tree: Tree, starts: Floats, rack: _Rack, exponent: float) -> Floats:
    """Return start diameters (M,) mm after parents have followed their children, tips to root, within the rack.

    A parent keeps its share of the pipe rule's sum over its children, d^n = sum d_i^n, and is never thinner than the
    seat of a child that grew.
    """
    found = starts.copy()
    before = _sums(tree, tree.start_diameters, exponent)
    room = np.where(tree.walls > 0.0, rack.outsides.max(initial=0.0), rack.bars[-1])
    for level in tree.levels[:0:-1]:
        parents = np.unique(tree.parents[level])
        after = _sums(tree, found, exponent)
        ratio = (after[parents] / np.maximum(before[parents], 1e-9)) ** (1.0 / exponent)
        piped = tree.start_diameters[parents] * np.maximum(ratio, 1.0)
        seated = np.zeros(len(tree))
        np.maximum.at(seated, tree.parents[level], np.where(_grew(tree, found)[level], SEAT * found[level], 0.0))
        asked = np.minimum(np.maximum(piped, seated[parents]), np.maximum(room[parents], tree.start_diameters[parents]))
        found[parents] = np.maximum(found[parents], asked)
    return found


def _sums(tree: Tree, starts: Floats, exponent: float) -> Floats:
    kids = np.flatnonzero(tree.parents >= 0)
    return np.asarray(np.bincount(tree.parents[kids], starts[kids] ** exponent, minlength=len(tree)), dtype=np.float64)


def _grew(tree: Tree, starts: Floats) -> NDArray[np.bool_]:
    return starts > tree.start_diameters * (1.0 + 1e-9)


def _seated_ends(tree: Tree, starts: Floats) -> Floats:
    """Return end diameters (M,) mm: scaled with the start, and full enough that every thicker child has its seat.

    A slower taper seats a child near the tip without a thicker bar.
    """
    ends = tree.end_diameters * starts / tree.start_diameters
    kids = np.flatnonzero((tree.parents >= 0) & _grew(tree, starts))
    hosts = tree.parents[kids]
    tapering = np.maximum(tree.lengths[hosts] - tree.taper_starts[hosts], 1e-9)
    share = np.clip((tree.stations[kids] - tree.taper_starts[hosts]) / tapering, 0.0, 1.0)
    need = starts[hosts] + (SEAT * starts[kids] - starts[hosts]) / np.maximum(share, 1e-9)
    np.maximum.at(ends, hosts, need)
    return np.minimum(ends, starts)


def _with(tree: Tree, starts: Floats, rack: _Rack, commission: Commission) -> tuple[Tree, Ints]:
    """Return the tree with new start diameters, its tapers scaled with them, and the rows let out."""
    grown = _grew(tree, starts)
    stock = np.where(grown, _next_size(starts, tree.walls, starts, rack), tree.stock_diameters)
    walls = tree.walls.copy()
    pipes = np.flatnonzero(grown & (walls > 0.0))
    walls[pipes] = rack.walls[np.minimum(np.searchsorted(rack.outsides, stock[pipes] - 1e-6), len(rack.walls) - 1)]
    thick = replace(
        tree,
        # A pipe's foot is the pipe as bought: only a bar can be forged to a size between two.
        start_diameters=np.where(grown & (walls > 0.0), stock, starts),
        end_diameters=_seated_ends(tree, starts),
        stock_diameters=np.maximum(stock, tree.stock_diameters),
        walls=walls,
    )
    return resized(tree, thick, commission.shop.bend_factor + 0.5)


def _change(before: Tree, after: Tree, row: int, why: str) -> Change:
    return Change(
        tag=str(after.tags[row]),
        rank=RANKS[int(after.ranks[row])],
        stock_before_mm=float(before.stock_diameters[row]),
        stock_mm=float(after.stock_diameters[row]),
        start_before_mm=float(before.start_diameters[row]),
        start_mm=float(after.start_diameters[row]),
        why=why,
    )
