"""How a member is held to its place when it is welded: what a tape and a plumb line read there.

Only what stands at that moment of the welding order is measured to: the pins of the setting-out grid and the STARTs and
tips of members welded before in the same section; its first bar is held over the grid before all others. A member that
is welded on site brings its whole section with it: it is measured to sections that went up before. Three distances from
the tip, and the places of tip and middle on the grid, fix where the bar lies and how it is rolled.
Size letters: M members, C points that stand, T triples of them. Lengths are mm; x goes east, y north, z up.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from armature.shop.sections import SectionPlan
from armature.tree import BRANCHLET, TWIG, Floats, Ints, Strings, Tree, locate, row_norms

# A tape is hooked over less than this badly, and sags over more; of so many near points the best three are taken.
_NEAR, _FAR, _NEAREST = 120.0, 3500.0, 12
# Pins of the grid stand so far from the middle of the foot, the least: north, east, south, west.
PINS = ("N", "E", "S", "W")
PIN_WAYS = np.array([[0.0, 1.0, 0.0], [1.0, 0.0, 0.0], [0.0, -1.0, 0.0], [-1.0, 0.0, 0.0]])
_PIN_SHARE, _PIN_STEP = 0.4, {"mm": 250.0, "inch": 304.8}


@dataclass(frozen=True, eq=False)
class Poses:
    """For M members: names (M, 3) of what to measure to and distances (M, 3) mm from the tip; tips, middles (M, 3) mm
    on the grid; halves (M,) mm, station of the middle from START. pin_mm: how far pins stand from the foot's middle.
    spread: (M,) 0 to 1, how squarely the three tapes meet at the tip."""

    names: Strings
    distances: Floats
    tips: Floats
    middles: Floats
    halves: Floats
    pin_mm: float
    spread: Floats


def pin_distance(height_mm: float, units: str) -> float:
    """Return how far the pins of the grid stand from the middle of the foot, mm, in whole feet or quarter metres.

    >>> pin_distance(4876.8, "mm"), pin_distance(1000.0, "mm")
    (2000.0, 500.0)
    """
    step = _PIN_STEP[units]
    return max(round(_PIN_SHARE * height_mm / step), 2) * step


def pin_places(tree: Tree, units: str) -> dict[str, Floats]:
    """Return where the pins of the grid stand, (3,) mm, by the names that the cards have for them."""
    pin = pin_distance(float(tree.tips[:, 2].max()), units)
    return {f"pin {name}": pin * way for name, way in zip(PINS, PIN_WAYS, strict=True)}


def poses(tree: Tree, sequence: Ints, parted: SectionPlan, on_site: NDArray[np.bool_], units: str) -> Poses:
    """Return how each member is held.

    sequence: (M,) rows as they are welded; on_site: (M,) whether welded there. Sections are numbered as they go up.
    """
    pin = pin_distance(float(tree.tips[:, 2].max()), units)
    pins = pin * PIN_WAYS
    points = np.concatenate([pins, tree.starts, tree.tips])
    labels = [f"pin {each}" for each in PINS]
    labels += [f"{tag} START" for tag in tree.tags.tolist()] + [f"{tag} tip" for tag in tree.tags.tolist()]
    when = np.empty(len(tree), dtype=np.int64)
    when[sequence] = np.arange(len(tree))
    # What begins a section is held in the shop before anything is welded on it.
    held = np.where(on_site, -1, when)
    owner = np.concatenate([[-1] * len(PINS), np.arange(len(tree)), np.arange(len(tree))])
    inside = np.concatenate([[-1] * len(PINS), parted.of_member, _tip_sections(parted)])
    thin = np.isin(tree.ranks, (BRANCHLET, TWIG))
    # The tip of a twig gives way to a tape: only other twigs are measured to it.
    whippy = np.concatenate([np.zeros(len(PINS) + len(tree), dtype=bool), thin])
    names = np.empty((len(tree), 3), dtype=np.array(labels).dtype)
    distances, spread = np.zeros((len(tree), 3)), np.zeros(len(tree))
    for row in range(len(tree)):
        own = parted.of_member[row]
        stands = inside < own if on_site[row] else (inside == own) & (held[owner] < when[row])
        if not thin[row]:
            stands &= ~whippy
        chosen, spread[row] = _triple(tree.tips[row], points, np.flatnonzero(stands | (owner < 0)))
        names[row] = [labels[each] for each in chosen]
        distances[row] = row_norms(points[chosen] - tree.tips[row])
    halves = tree.lengths / 2.0
    middles = locate(tree.chains, np.arange(len(tree)), halves)[0]
    return Poses(names, distances, tree.tips, middles, halves, pin, spread)


def _tip_sections(parted: SectionPlan) -> Ints:
    """Return the section that holds each member's tip, (M,): of a bar sawn for transport the furthest one."""
    holds, far = parted.of_member.copy(), np.zeros(len(parted.of_member))
    for number, section in enumerate(parted.sections):
        splice = section.splice
        if splice is not None and not splice.at_joint and splice.station_mm > far[splice.row]:
            holds[splice.row], far[splice.row] = number, splice.station_mm
    return holds


def _triple(tip: Floats, points: Floats, standing: Ints) -> tuple[Ints, float]:
    """Return three of the points that stand, from which tapes meet at the tip most squarely, and how squarely."""
    away = points[standing] - tip
    far = row_norms(away)
    near = np.flatnonzero(far >= _NEAR)
    near = near[np.lexsort((standing[near], np.round(far[near], 3)))[:_NEAREST]]
    near = np.union1d(near, np.flatnonzero(standing < len(PINS)))
    unit = away[near] / far[near][:, None]
    triples = np.array(list(combinations(range(len(near)), 3)), dtype=np.int64)
    volumes = np.abs(np.linalg.det(unit[triples]))
    worth = volumes / (1.0 + (far[near][triples].max(axis=1) / _FAR) ** 2)
    best = triples[int(np.argmax(np.round(worth, 9)))]
    order = best[np.argsort(far[near][best], kind="stable")]
    return standing[near[order]], float(volumes[int(np.argmax(np.round(worth, 9)))])
