"""The trunk: from the ground to the crotch, nearly upright, and never quite straight."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from armature.grow.envelope import Envelope
from armature.grow.shapes import shapes, without_faint_bends
from armature.seeds import keys, uniform
from armature.tree import TRUNK, Chains, Floats, Tree, cones, no_leaves

_SINUOSITY, _BENDS = 1.006, 4
_LEAST_LAST = 10.0


def trunk(
    canopy: Envelope, seed: int, height: float, size: tuple[float, float], stock: tuple[float, float], least_bend: float
) -> Tree:
    """Return a tree of the trunk alone: `height` mm high, size (start, end) and stock (outside, wall) in mm, its least
    bend in degrees."""
    tags = np.array(["T"])
    luck = uniform(keys(seed, tags, "trunk"), 3)[0]
    lean = 0.045 * height * luck[0]
    azimuth = 2.0 * np.pi * luck[1]
    top = np.array([lean * np.cos(azimuth), 0.0 if canopy.form.flat else lean * np.sin(azimuth), height])
    drawn = shapes(seed, tags, 0, TRUNK, _SINUOSITY, _BENDS, least_bend)
    corners = stood(drawn.corners[0, : drawn.counts[0] + 1], top, 2.0 * np.pi * luck[2], canopy.form.flat)
    # The foot stands square on its plate: the first straight goes straight up.
    corners[1, :2] = 0.0
    clear, count = without_faint_bends(corners[None], drawn.counts, least_bend)
    corners = clear[0, : count[0] + 1]
    chains = rounded_corners(corners, float(drawn.roundness[0]))
    return Tree(
        tags=tags,
        ranks=np.array([TRUNK]),
        parents=np.array([-1]),
        chains=chains,
        stations=np.zeros(1),
        setbacks=np.zeros(1),
        tapers=cones([size[0]], [size[1]]),
        stock_diameters=np.array([stock[0]]),
        walls=np.array([stock[1]]),
        departures=np.zeros(1),
        leaves=no_leaves(),
    )


def cut_back(tree: Tree, station: float) -> Tree:
    """Return the tree with its trunk cut at a station (mm), past the bend if it falls in one; what is left keeps its
    diameters."""
    chains = tree.chains
    trunk_straights = np.arange(chains.firsts[1])
    kept = int(np.searchsorted(chains.marks[trunk_straights], station, side="right")) - 1
    if station > chains.marks[kept] + chains.feeds[kept] and kept + 1 < len(trunk_straights):
        kept += 1
        station = float(chains.marks[kept]) + _LEAST_LAST
    if station >= chains.lengths[0]:
        return tree
    along = chains.tangents_in[kept] + max(station - float(chains.marks[kept]), _LEAST_LAST)
    top = chains.vertices[chains.starts[kept]] + chains.directions[kept] * along
    vertices = np.concatenate([chains.vertices[: kept + 1], [top], chains.vertices[chains.offsets[1] :]])
    radii = np.concatenate([chains.radii[: kept + 1], [0.0], chains.radii[chains.offsets[1] :]])
    offsets = chains.offsets - (int(chains.offsets[1]) - (kept + 2))
    offsets[0] = 0
    shorter = Chains(offsets, vertices, radii)
    ends = tree.end_diameters.copy()
    ends[0] = tree.diameters_at(np.array([0]), shorter.lengths[:1])[0]
    return replace(tree, chains=shorter, tapers=replace(tree.tapers, tips=ends))


def stood(corners: Floats, top: Floats, turn: float, flat: bool) -> Floats:
    """Return a shape's corners (K, 3), chord 1, as they stand from the foot to `top` (3,) mm, turned by `turn`
    radians."""
    length = float(np.sqrt(top @ top))
    along = top / length
    x = np.cross([0.0, 1.0, 0.0], along) if flat else np.array([np.cos(turn), np.sin(turn), 0.0])
    x -= (x @ along) * along
    x /= np.sqrt(x @ x)
    # A flat crown's trunk bends in its plane only, so the sideways part of the shape stays small.
    y = np.cross(along, x) * (0.3 if flat else 1.0)
    return np.asarray(length * (corners[:, :1] * x + corners[:, 1:2] * y + corners[:, 2:] * along))


def rounded_corners(corners: Floats, roundness: float) -> Chains:
    """Return one chain through corners (K, 3) mm, each rounded by a share of its shorter side."""
    sharp = Chains(np.array([0, len(corners)]), corners, np.zeros(len(corners)))
    radii = np.zeros(len(corners))
    half = np.tan(sharp.bends[:-1] / 2.0)
    radii[1:-1] = roundness * np.minimum(sharp.sides[:-1], sharp.sides[1:]) / np.maximum(half, 1e-9)
    return Chains(sharp.offsets, corners, radii)
