"""Stock to cut for each bar.

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

from armature.tree import Floats, Ints, Joints, Tree, bore_ends, heels, joints

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
