"""The whole of growing: counts dealt to tags, then rank by rank from the trunk out."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from armature.grow.as_ordered import filled
from armature.grow.bounds import check_bounds
from armature.grow.canopy import envelope
from armature.grow.crown import with_branches, with_branchlets, with_twigs
from armature.grow.deals import Deals, deals
from armature.grow.drawing import Growing
from armature.grow.envelope import Envelope
from armature.grow.hang_points import hung
from armature.grow.kept import given_members, in_order
from armature.grow.limbs import with_limbs, with_limbs_on_leader
from armature.grow.members import NoPlaceError
from armature.grow.roots import with_roots
from armature.grow.season import Season, Thickness
from armature.grow.sizes import SEAT, piped, piped_stock, stocked, tapered
from armature.grow.stems import bears_leader, leader_hub, leader_top, leading_trunk, settled
from armature.grow.swelling import swollen
from armature.grow.trunk import trunk
from armature.tree import TRUNK, Floats, Ints, Tree

if TYPE_CHECKING:
    from armature.commission import Commission

# Where a member finds no place the whole is drawn again, so many times in all, with luck of its own each time.
_AGAIN, _NEXT = 4, 0x9E3779B97F4A7C1


def grow(commission: Commission, kept: Tree | None = None, again: int = 0) -> Tree:
    """Return the tree that a commission asks for: counts exact, members clear of each other, leaves hung.

    `kept` holds members that are made, with all that carries them: they come back as they are, and the rest is planned
    around them; unless said, the steel that the commission names as given. again: how often a tree of this commission
    was given up already; each has luck of its own. Raises
    GrowthError where the members do not fit the canopy, where no bar on hand carries the pipe rule, or where more is
    made than the counts allow.
    """
    check_bounds(commission)
    if kept is None:
        kept = given_members(commission)
    for luck in range(again * _AGAIN, (again + 1) * _AGAIN):
        try:
            return _grown(commission, kept, (commission.seed + luck * _NEXT) % 2**63)
        except NoPlaceError as crowded:
            last = crowded
    raise last


def _grown(commission: Commission, kept: Tree | None, seed: int) -> Tree:
    growth, canopy = commission.growth, envelope(commission)
    hubs, leads = _hubs(canopy, commission), bears_leader(commission)
    if growth.stem == "leader":
        hubs = hubs[0], leader_hub(canopy, hubs)
    twig = min(commission.steel.bars)
    counts = (growth.branches, growth.branchlets, growth.twigs)
    dealt = deals(seed, growth.limbs, counts, canopy.form.spread, growth.twig.forks, leads, kept)
    thick = _thickness(dealt, twig, growth.pipe_exponent)
    base = float(piped(np.array([growth.twigs]), twig, growth.pipe_exponent)[0])
    size, stock = _trunk_size(commission, base, _thickest_limb(commission, thick))
    height = hubs[1] + 2.5 * base
    season = Season(commission, canopy, dealt, thick, replace(growing_of(commission), seed=seed), kept)
    if kept is not None:
        tree = kept.alone(kept.of_rank(TRUNK))
    elif growth.stem == "leader":
        top = leader_top(canopy, seed) if leads else np.array([0.0, 0.0, height])
        least = commission.shop.least_bend, season.growing.least_radius
        tree = leading_trunk(canopy, seed, top, stock, size[0], least)
    else:
        tree = trunk(canopy, seed, height, size, stock, commission.shop.least_bend)
    if growth.stem == "leader":
        tree, places = with_limbs_on_leader(tree, season, hubs)
        tree = settled(tree, places, 0.9 * twig) if kept is None else tree
    else:
        tree = with_limbs(tree, season, hubs)
    tree = with_branches(tree, season)
    if growth.branchlets:
        tree = with_branchlets(tree, season)
    tree = in_order(filled(with_twigs(tree, season), season.growing, kept))
    tree = with_roots(tree, commission, season.growing, kept)
    if growth.swelling > 0.0:
        tree = swollen(tree, growth.swelling, growth.clearance, season.growing.step)
    return hung(tree.rounded(), commission).rounded()


def growing_of(commission: Commission) -> Growing:
    """Return what all ranks of a commission's tree share."""
    canopy = envelope(commission)
    return Growing(
        seed=commission.seed,
        canopy=canopy,
        clearance=commission.growth.clearance,
        # The commission's limit is for the inside of the bend, in bar diameters.
        least_radius=commission.shop.bend_factor + 0.5,
        least_bend=commission.shop.least_bend,
        step=_piece_length(canopy, commission.growth.twigs),
    )


def _hubs(canopy: Envelope, commission: Commission) -> tuple[float, float]:
    low, high = canopy.form.crotch
    # A few limbs fork low and rise together; many are spread along a trunk that goes on.
    high = low + (high - low) * (1.0 - np.exp(-(commission.growth.limbs - 1) / 4.0))
    least = 0.45 * commission.canopy.clear_stem
    bottom = max(canopy.base + low * canopy.depth, least)
    return bottom, max(canopy.base + high * canopy.depth, bottom + 0.12 * canopy.depth)


def _thickness(dealt: Deals, twig: float, exponent: float) -> Thickness:
    on_carriers = np.bincount(dealt.holders, minlength=len(dealt.carriers))
    on_branches = np.bincount(dealt.of, on_carriers, len(dealt.branches))
    on_axes = np.bincount(dealt.on, on_branches, len(dealt.axes))
    on_twigs = 1 + np.bincount(dealt.forks[dealt.forks >= 0], minlength=len(dealt.twigs))

    def thick(carried: Ints) -> Floats:
        return piped(carried, twig, exponent)

    return Thickness(thick(on_axes), thick(on_branches), thick(on_carriers), thick(on_twigs), twig)


def _thickest_limb(commission: Commission, thick: Thickness) -> float:
    if commission.steel.limbs == "pipe":
        return float(piped_stock(thick.limbs, commission.steel.pipes, "limbs")[0].max())
    return float(thick.limbs.max())


def _trunk_size(
    commission: Commission, base: float, thickest: float
) -> tuple[tuple[float, float], tuple[float, float]]:
    steel = commission.steel
    if steel.trunk == "pipe":
        outside, wall = piped_stock(np.array([max(base, SEAT * thickest)]), steel.pipes, "trunk")
        start, stock = outside, (float(outside[0]), float(wall[0]))
    else:
        start = np.array([base])
        stock = float(stocked(start, steel.bars, "trunk")[0]), 0.0
    taper = tapered(TRUNK, start, np.array([thickest]), min(steel.bars))
    return (float(start[0]), float(taper.ends[0])), stock


def _piece_length(canopy: Envelope, twigs: int) -> float:
    volume: Floats = 4.0 * canopy.half_spread[0] * canopy.half_spread[1] * canopy.depth
    return float(0.2 * np.cbrt(volume / twigs / 2.0))
