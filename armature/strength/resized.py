"""The centrelines that follow from thicker bars: setbacks to the new skin, first runs to match, wider bends."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from armature.tree import BendList, Floats, Ints, Joints, Tree, assembled, bend_list, joints, locate, row_norms

LEAST_FEED_MM = 2.0


def resized(tree: Tree, thick: Tree, least_radius: float) -> tuple[Tree, Ints]:
    """Return `thick`, which is `tree` with other diameters, on centrelines that fit it, and the rows let out.

    Every angle stays; a bar begins at its parent's new skin, so that its first run is shorter by what the skin came
    out, and stations along it count from there. A bend keeps its radius unless that is under `least_radius` bars.
    """
    listed, bends = joints(tree), bend_list(tree.chains)
    setbacks = _setbacks(tree, thick, listed)
    shifts = setbacks - tree.setbacks
    widened, stuck = _widened(tree, thick, bends, shifts, least_radius)
    parents = np.maximum(tree.parents, 0)
    lengths = widened.tails + np.bincount(
        widened.members, widened.feeds + widened.radii * np.radians(widened.bends), minlength=len(tree)
    )
    stations = np.where(tree.parents >= 0, np.clip(tree.stations - shifts[parents], 0.0, lengths[parents]), 0.0)
    chains = assembled(tree.parents, replace(listed, setbacks=setbacks, stations=stations), widened)
    leaves = thick.leaves
    hung = np.clip(leaves.stations - shifts[leaves.twigs], 0.0, chains.lengths[leaves.twigs])
    made = replace(
        thick,
        chains=chains,
        stations=stations,
        setbacks=setbacks,
        tapers=thick.tapers.moved(shifts, chains.lengths),
        leaves=replace(leaves, stations=hung),
    )
    return made.rounded(), stuck


def _setbacks(tree: Tree, thick: Tree, listed: Joints) -> Floats:
    """Return the setbacks (M,) mm at which each axis leaves its parent's new skin, by Newton's steps from the old."""
    kids = np.flatnonzero(tree.parents >= 0)
    parents, axes = tree.parents[kids], tree.axes[kids]
    sine = np.maximum(np.sin(np.radians(listed.leans[kids])), 0.1)
    out = (thick.diameters_at(parents, listed.feet[kids]) - tree.diameters_at(parents, listed.feet[kids])) / 2.0 / sine
    setback, foot = tree.setbacks[kids] + out, listed.feet[kids].copy()
    low, high = tree.setbacks[kids], tree.setbacks[kids] + 3.0 * out
    for _ in range(6):
        away = listed.points[kids] + setback[:, None] * axes
        skin, tangents, _ = locate(tree.chains, parents, foot)
        foot = np.clip(foot + np.sum((away - skin) * tangents, axis=1), 0.0, tree.lengths[parents])
        skin, tangents, _ = locate(tree.chains, parents, foot)
        off = away - skin
        distance = np.maximum(row_norms(off), 1e-9)
        slope = np.maximum(np.sum(off * axes, axis=1) / distance, 0.1)
        # Past the end of a parent there is no skin to meet: the step from the lean alone bounds the search.
        setback = np.clip(setback - (distance - thick.diameters_at(parents, foot) / 2.0) / slope, low, high)
    # Where nothing grew, nothing moves: a fresh solve would shift old joints by the tolerance of the first one.
    grew = _outgrown(tree, thick)[parents] > 1e-9
    setbacks = tree.setbacks.copy()
    setbacks[kids] = np.where(grew, setback, tree.setbacks[kids])
    return setbacks


def _outgrown(tree: Tree, thick: Tree) -> Floats:
    """Return by how much each member's diameters differ at most: (M,) mm; both have their places alike."""
    along = np.abs(thick.tapers.diameters - tree.tapers.diameters)
    most = np.maximum.reduceat(along, tree.tapers.offsets[:-1])
    return np.asarray(np.maximum(most, np.abs(thick.end_diameters - tree.end_diameters)))


def _widened(tree: Tree, thick: Tree, bends: BendList, shifts: Floats, least_radius: float) -> tuple[BendList, Ints]:
    """Return the bends with radii for the thicker bars and runs to match, and the rows that had to be let out.

    Where a run would be used up it stays at a least length, so that all beyond it comes out by the rest.
    """
    grew = thick.tapers.bars > tree.tapers.bars * (1.0 + 1e-9)
    wide = np.maximum(bends.radii, least_radius * thick.tapers.bars[bends.members])
    # A bend that was tight before stays as it was: only thicker bars ask for more.
    radii = np.where(grew[bends.members], wide, bends.radii)
    eaten = (radii - bends.radii) * np.tan(np.radians(bends.bends) / 2.0)
    first = bends.numbers == 1
    feeds = bends.feeds - eaten - np.where(first, shifts[bends.members], np.roll(eaten, 1))
    counts = np.bincount(bends.members, minlength=len(tree))
    tails = bends.tails - np.where(counts > 0, 0.0, shifts)
    bent = np.flatnonzero(counts > 0)
    tails[bent] -= eaten[np.cumsum(counts)[bent] - 1]
    least_feeds, least_tails = np.minimum(bends.feeds, LEAST_FEED_MM), np.minimum(bends.tails, LEAST_FEED_MM)
    out = tails < least_tails
    out[bends.members[feeds < least_feeds]] = True
    let_out = replace(bends, radii=radii, feeds=np.maximum(feeds, least_feeds), tails=np.maximum(tails, least_tails))
    return let_out, np.flatnonzero(out)
