"""What every rank of one crown needs, and how one rank is grown from it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from armature.grow.aim import Buds
from armature.grow.deals import Deals
from armature.grow.drawing import Growing, Manners
from armature.grow.envelope import Envelope
from armature.grow.members import grown
from armature.grow.sizes import SEAT, piped_stock, stocked, tapered
from armature.grow.sprouting import Sprouting
from armature.tree import (
    LIMB,
    PLURALS,
    RANKS,
    TWIG,
    Floats,
    Ints,
    Tree,
)

if TYPE_CHECKING:
    from armature.commission import Commission


@dataclass(frozen=True, eq=False)
class Thickness:
    """Start diameters of limbs (A,), branches (B,), carriers of twigs (K,) and twigs (T,), mm; twig: the thinnest."""

    limbs: Floats
    branches: Floats
    carriers: Floats
    twigs: Floats
    twig: float


@dataclass(frozen=True, eq=False)
class Season:
    """What every rank of one crown needs: the commission, its canopy, who bears what, diameters, what stays as made."""

    commission: Commission
    canopy: Envelope
    deals: Deals
    thick: Thickness
    growing: Growing
    kept: Tree | None


def grown_rank(
    tree: Tree,
    season: Season,
    rank: int,
    buds: Buds,
    thickest: Floats,
    least: Floats,
    sprouting: Sprouting | None = None,
) -> Tree:
    """Return the tree with one more rank: its buds grown, the thickest that each carries (B,) and the least length (B,)
    that seats all its children, mm, being known."""
    if rank == LIMB and season.commission.steel.limbs == "pipe":
        # A pipe keeps its outside where it starts and is drawn in from there, by darts cut out and welded shut.
        buds = replace(buds, diameters=piped_stock(buds.diameters, season.commission.steel.pipes, "limbs")[0])
    manners = manners_of(season.commission, rank, season.canopy, buds.diameters, thickest, least, sprouting)
    return grown(tree, buds, manners, season.growing, season.kept)


def manners_of(
    commission: Commission,
    rank: int,
    canopy: Envelope,
    diameters: Floats,
    thickest: Floats,
    least: Floats,
    sprouting: Sprouting | None = None,
) -> Manners:
    """Return how a rank grows, from the start diameters (B,) of its members, the thickest that each carries (B,) and
    the least length that seats all its children (B,), mm."""
    habit, steel = getattr(commission.growth, RANKS[rank]), commission.steel
    form = canopy.form
    walls = np.zeros(len(diameters))
    if rank == LIMB and steel.limbs == "pipe":
        stock, walls = piped_stock(diameters, steel.pipes, "limbs")
    else:
        stock = stocked(diameters, steel.bars, PLURALS[rank])
    taper = tapered(rank, diameters, thickest, min(steel.bars))
    return Manners(
        rank=rank,
        lean=habit.insertion_angle,
        lean_sd=habit.insertion_angle_sd,
        sinuosity=1.0 + (habit.sinuosity - 1.0) * form.crooked,
        most_bends=habit.bends,
        rise=form.rise[{LIMB: 0, TWIG: 2}.get(rank, 1)],
        sprouting=sprouting,
        ends=taper.ends,
        taper_share=taper.from_share,
        stock=stock,
        walls=walls,
        least_lengths=least,
    )


def last_stations(tree: Tree, parents: Ints, diameters: Floats) -> Floats:
    """Return the last station (B,) mm at which each parent (B,) seats a child of the given diameter (B,) mm."""
    needed = SEAT * diameters
    seated = tree.tapers.thinner(tree.lengths, parents, needed)
    # A parent too thin from its start on seats its child where it is thickest.
    return np.where(tree.start_diameters[parents] < needed, tree.taper_starts[parents], seated)


def borne_by(season: Season, children: Floats, bearers: Ints, count: int) -> tuple[Floats, Floats]:
    """Return the thickest child of each of `count` members, mm, and the length that seats all its children, mm."""
    thickest = np.zeros(count)
    np.maximum.at(thickest, bearers, children)
    return thickest, np.asarray(1.5 * np.bincount(bearers, 2.0 * children + season.growing.clearance, count))
