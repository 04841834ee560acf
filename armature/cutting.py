"""Stock to cut for each bar, and what it weighs when forged.

Size letters: M members. Lengths and diameters are mm.

A solid bar is drawn out from its stock, so the stock holds the volume of the forged member, of the heel of its
saddle, and of the scale that burns off; what is added for fitting and welding comes on top.

Pipe is not drawn out. It is drawn in: darts are cut out of its skin, and it is closed on itself and welded, so that its
wall stays as thick and its length as long as they were. Where that leaves no bore the pipe ends, and a solid end goes
on: a bar as thick as the pipe is there, welded to it and drawn out as any bar.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from armature.centreline import Floats, Ints
from armature.joints import Joints, joints
from armature.tree import Tree

if TYPE_CHECKING:
    from armature.commission import Commission


def cut_lengths(tree: Tree, commission: Commission, listed: Joints | None = None) -> Floats:
    """Return the length of stock for each member: (M,) mm.

    Of a pipe this is the pipe alone, up to where its bore closes; `solid_ends` go on there.
    From the commission: `shop.scale_loss`, the share of stock lost as scale, `shop.weld_allowance`, mm, and what the
    kind of joint takes.
    listed: the tree's joints, where they are known already.
    """
    listing = joints(tree) if listed is None else listed
    heel = heels(tree.start_diameters, listing.parent_diameters, listing.leans, tree.setbacks)
    forged = tree.volumes + np.pi / 4.0 * tree.start_diameters**2 * heel
    drawn = forged / (np.pi / 4.0 * tree.stock_diameters**2) / (1.0 - commission.shop.scale_loss)
    joined = joining_allowances(tree, commission, listing)
    return np.where(tree.walls > 0.0, bore_ends(tree) + heel, drawn) + commission.shop.weld_allowance + joined


def bore_ends(tree: Tree) -> Floats:
    """Return the station at which the bore of each member ends: (M,) mm.

    Where a pipe tapers to less than twice its wall that is before its tip, elsewhere the tip. Solid bar has none: 0.
    """
    closes = tree.tapers.thinner(tree.lengths, np.arange(len(tree)), 2.0 * tree.walls)
    return np.where(tree.walls > 0.0, closes, 0.0)


@dataclass(frozen=True, eq=False)
class SolidEnds:
    """The solid ends of E pipes: rows (E,), stations (E,) mm where they begin, diameters (E,) mm of the pipe there,
    bars (E,) mm to make them of and cuts (E,) mm of that bar."""

    rows: Ints
    stations: Floats
    diameters: Floats
    bars: Floats
    cuts: Floats


def solid_ends(tree: Tree, commission: Commission) -> SolidEnds:
    """Return the solid end of each pipe whose bore closes before its tip.

    Its bar is the thinnest on hand that is no thinner than the pipe where the bore closes, or the thickest on hand; its
    stock has the volume of the end, with scale, and a scarf of `shop.scarf_factor` diameters to weld it on.
    """
    closes = bore_ends(tree)
    rows = np.flatnonzero((tree.walls > 0.0) & (closes < tree.lengths - 1e-6))
    thick = 2.0 * tree.walls[rows]
    on_hand = np.sort(np.asarray(commission.steel.bars, dtype=np.float64))
    bars = on_hand[np.minimum(np.searchsorted(on_hand, thick - 1e-6), len(on_hand) - 1)]
    drawn = tree.tapers.beyond(tree.lengths, rows, closes[rows]) / bars**2 / (1.0 - commission.shop.scale_loss)
    return SolidEnds(rows, closes[rows], thick, bars, drawn + commission.shop.scarf_factor * thick)


def joining_allowances(tree: Tree, commission: Commission, listed: Joints) -> Floats:
    """Return the stock that each joint takes beyond a weld: (M,) mm, 0 for welds and collars.

    A forge weld takes a scarf, `shop.scarf_factor` diameters; a rivet takes a tenon of half the bar's diameter through
    the parent and one and a half of its own diameters to head over (common practice, no source).
    """
    joining = commission.shop.joining
    kinds = np.array(["weld", joining.limb, joining.branch, joining.branchlet, joining.twig, "weld"])[tree.ranks]
    scarf = commission.shop.scarf_factor * tree.start_diameters
    tenon = (listed.parent_diameters + 1.5 * tree.start_diameters / 2.0) / 4.0
    return np.where(kinds == "forge weld", scarf, np.where(kinds == "rivet", tenon, 0.0))


def heels(diameters: Floats, parent_diameters: Floats, leans: Floats, setbacks: Floats) -> Floats:
    """Return how far the saddle of each member reaches behind the start of its centreline: (M,) mm.

    Two round bars whose axes cross at the lean a, radii R of the parent and r of the child: the generator of the child
    at an angle f round it meets the parent's skin at s = (sqrt(R^2 - r^2 sin^2 f) - r cos f cos a) / sin a along the
    child's axis. The least s follows by setting its derivative to zero: r cos f = min(r, sqrt(R^2 - r^2) |cot a|).
    A heel ends at the parent's axis; a member without a parent has none.

    >>> one = np.ones(1)
    >>> heels(20.0 * one, 20.0 * one, 90.0 * one, 10.0 * one).round(9).tolist()
    [10.0]
    """
    big = parent_diameters / 2.0
    small = np.minimum(diameters, parent_diameters) / 2.0
    sine, cosine = np.sin(np.radians(leans)), np.abs(np.cos(np.radians(leans)))
    flat = np.sqrt(np.maximum(big**2 - small**2, 0.0))
    near = np.minimum(small, flat * cosine / np.maximum(sine, 1e-9))
    reach = np.sqrt(np.maximum(big**2 - small**2 + near**2, 0.0)) - near * cosine
    return np.where(big > 0.0, np.clip(setbacks - reach / np.maximum(sine, 1e-9), 0.0, setbacks), 0.0)


def forged_masses(tree: Tree, density_kg_m3: float) -> Floats:
    """Return the mass of each member as forged: (M,) kg, from the density of its steel."""
    return tree.volumes * density_kg_m3 * 1e-9
