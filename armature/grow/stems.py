"""Stems: a trunk whose own bar runs on to the top, stepping down by the pipe rule where each limb leaves.

Size letters: A limbs, B branches. The leader is the end of the trunk and no limb: it has a territory of its own, the
last of A + 1, and branches of its own. Lengths are mm.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from armature.grow.envelope import Envelope
from armature.grow.shapes import shapes, without_faint_bends
from armature.grow.sizes import SEAT
from armature.grow.trunk import rounded_corners, stood
from armature.seeds import keys, uniform
from armature.tree import LIMB, TRUNK, Floats, Ints, Tapers, Tree, joined_tapers, joints, no_leaves

if TYPE_CHECKING:
    from armature.commission import Commission

_SINUOSITY, _BENDS = 1.011, 5
# The edge of a leader's end stands this much, mm, over its middle.
_EDGE = 1.0
# A step is forged over so many diameters, and none is worth forging over less than this.
_STEP, _LEAST_STEP = 2.5, 0.5
# The leader keeps its size for this share of its length above the last limb, then thins to a whip.
_LEADER_HOLDS = 0.25


@dataclass(frozen=True, eq=False)
class Sites:
    """Where A limbs may leave a leader: wanted, lows, highs (A,) mm, and the trunk's diameters below each limb and
    above the last (A + 1,) mm."""

    wanted: Floats
    lows: Floats
    highs: Floats
    diameters: Floats


def bears_leader(commission: Commission) -> bool:
    """Return whether the trunk runs on as a leader that can bear a branch of its own."""
    growth = commission.growth
    return growth.stem == "leader" and growth.branches > growth.limbs


def leader_hub(canopy: Envelope, hubs: tuple[float, float]) -> float:
    """Return the height, mm, up to which limbs leave a leader: higher than those of a trunk that ends among them."""
    return max(hubs[1], min(hubs[0] + 1.6 * (hubs[1] - hubs[0]), canopy.base + 0.6 * canopy.depth))


def stepped_diameters(limbs: Floats, leader: float, exponent: float) -> Floats:
    """Return the trunk's diameters below each limb, from the lowest, and above the last: (A + 1,) mm, by the pipe rule.

    limbs: (A,) mm at their starts. Each is thick enough to seat its limb.

    >>> stepped_diameters(np.array([6.0, 6.0]), 6.0, 2.0).round(3).tolist()
    [10.392, 8.485, 6.0]
    """
    powers = np.append(limbs, leader) ** exponent
    piped = np.cumsum(powers[::-1])[::-1] ** (1.0 / exponent)
    seats = np.append(1.02 * SEAT * limbs, 0.0)
    return np.asarray(np.maximum.accumulate(np.maximum(piped, seats)[::-1])[::-1])


def sites(wanted: Floats, limbs: Floats, diameters: Floats, top: float) -> Sites:
    """Return where limbs may leave a leader: stretches of its length, one a limb, with room for a step between.

    wanted: (A,) mm, ascending. limbs: (A,) mm. diameters: (A + 1,) mm. top: mm, the last station that may bear one.
    """
    below = diameters[:-1]
    # A limb that leans little meets the skin well above where its axis leaves; its weld runs on from there.
    above, under = 1.2 * below + 0.75 * limbs, 0.75 * limbs
    middle = (wanted[1:] + wanted[:-1] + above[:-1] - under[1:]) / 2.0
    half = _LEAST_STEP * below[1:] / 2.0
    lows = np.append(wanted[0] - 2.0 * below[0], middle + half + under[1:])
    highs = np.append(middle - half - above[:-1], top)
    return Sites(wanted, np.minimum(lows, wanted), np.maximum(highs, wanted), diameters)


def leader_tapers(places: Sites, limbs: Floats, length: float, whip: float, feet: Floats | None = None) -> Tapers:
    """Return the diameters along a leader: whole to each limb's weld, a step behind it, a whip at the end.

    feet: (A,) mm where the limbs meet the skin; before they are known each may be anywhere in its stretch, and the step
    comes as late as it can.
    """
    stations, diameters = [0.0], [float(places.diameters[0])]
    for row, after in enumerate(places.diameters[1:].tolist()):
        ends = length if row + 1 == len(limbs) else float(places.lows[row + 1] - 0.75 * limbs[row + 1])
        late = ends - _LEAST_STEP * after
        if row + 1 == len(limbs):
            late = float(places.highs[row] + 1.2 * places.diameters[row] + 0.75 * limbs[row])
        begins = late if feet is None else min(float(feet[row] + 0.75 * limbs[row]), late)
        begins = max(begins, stations[-1])
        stops = min(begins + _STEP * diameters[-1], ends)
        if stops - begins >= 0.9 * _LEAST_STEP * after and after < diameters[-1] - 1e-9:
            stations += [begins, stops]
            diameters += [diameters[-1], after]
    holds = stations[-1] + _LEADER_HOLDS * (length - stations[-1])
    stations, diameters = [*stations, holds], [*diameters, diameters[-1]]
    return Tapers(
        np.array([0, len(stations)]),
        np.array(stations),
        np.array(diameters),
        np.array([min(whip, diameters[-1])]),
        np.zeros(1),
    )


def leader_top(canopy: Envelope, seed: int) -> Floats:
    """Return where the leader ends: (3,) mm, at the top, as far off its foot as the habit lets a stem lean."""
    luck = uniform(keys(seed, ["T"], "top"), 2)[0]
    least, most = canopy.form.lean
    azimuth = 0.0 if canopy.form.flat or canopy.form.wind else 2.0 * np.pi * float(luck[1])
    off = (least + (most - least) * float(luck[0])) * canopy.top
    most_off = 0.4 * float(canopy.half_spread.min()) if not canopy.form.flat else 0.4 * float(canopy.half_spread[0])
    off = min(off, most_off)
    return np.array([off * np.cos(azimuth), 0.0 if canopy.form.flat else off * np.sin(azimuth), canopy.top - _EDGE])


def leading_trunk(
    canopy: Envelope, seed: int, top: Floats, stock: tuple[float, float], thickest: float, least: tuple[float, float]
) -> Tree:
    """Return a trunk from the foot to `top` (3,) mm, `thickest` mm all along, with a bow or two.

    stock: bar (or pipe outside) and wall, mm. least: bend, deg, and bend radius over diameter. The trunk stands square
    on its plate.
    """
    tags = np.array(["T"])
    turn = 2.0 * np.pi * float(uniform(keys(seed, tags, "leader"), 1)[0, 0])
    for bends in range(_BENDS, 0, -1):
        drawn = shapes(seed, tags, 0, TRUNK, _SINUOSITY, bends, least[0])
        corners = stood(drawn.corners[0, : drawn.counts[0] + 1], top, turn, canopy.form.flat)
        corners[1, :2] = 0.0
        clear, count = without_faint_bends(corners[None], drawn.counts, least[0])
        chains = rounded_corners(clear[0, : count[0] + 1], float(drawn.roundness[0]))
        if (chains.radii[1:-1] >= least[1] * thickest).all():
            break
    tapers = Tapers(np.array([0, 1]), np.zeros(1), np.array([thickest]), np.array([thickest]), np.zeros(1))
    return Tree(
        tags=tags,
        ranks=np.array([TRUNK]),
        parents=np.array([-1]),
        chains=chains,
        tapers=tapers,
        stations=np.zeros(1),
        setbacks=np.zeros(1),
        stock_diameters=np.array([stock[0]]),
        walls=np.array([stock[1]]),
        departures=np.zeros(1),
        leaves=no_leaves(),
    )


def settled(tree: Tree, places: Sites, whip: float) -> Tree:
    """Return the tree, trunk and limbs, with the trunk's steps right behind the limbs as they came."""
    rows = tree.of_rank(LIMB)
    order = rows[np.argsort(tree.stations[rows], kind="stable")]
    listed = joints(tree)
    feet = np.maximum(listed.feet, tree.stations)[order]
    tapers = leader_tapers(places, tree.start_diameters[order], float(tree.lengths[0]), whip, feet)
    return replace(tree, tapers=_with_first(tree.tapers, tapers))


def with_tapers(tree: Tree, tapers: Tapers) -> Tree:
    """Return the tree with other diameters along its first member."""
    return replace(tree, tapers=_with_first(tree.tapers, tapers))


def _with_first(tapers: Tapers, first: Tapers) -> Tapers:
    return joined_tapers([first, tapers.taken(np.arange(1, len(tapers)))])


def bearers(tree: Tree, limbs: Ints) -> Ints:
    """Return the row of the limb that bears each branch (B,), the trunk's for those of the leader."""
    rows = np.append(tree.of_rank(LIMB), 0)
    return np.asarray(rows[limbs])


def bare_shares(tree: Tree, parents: Ints, least: float) -> Floats:
    """Return the share of its length (B,) from which each parent (B,) bears branches: `least`, and on the trunk above
    the last limb."""
    limbs = tree.of_rank(LIMB)
    last = float(joints(tree).feet[limbs].max(initial=0.0)) + 2.0 * float(tree.start_diameters[limbs].max(initial=0.0))
    shares = np.full(len(tree), least)
    shares[0] = last / tree.lengths[0]
    return shares[parents]
