"""Hanging: loops on the twigs, eyes in the leaves, and hang points moved along twigs where leaves would strike."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from armature.centreline import locate
from armature.errors import CommissionError
from armature.leaves.outlines import Design
from armature.leaves.swing import _STEP, BODY, Rods, Steel, strike_shares
from armature.seeds import keys, uniform
from armature.tree import Tree

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
_TRIES = 12
_ROUNDS = 8


@dataclass(frozen=True)
class Loop:
    """A loop of round wire under a twig: wire and inside diameter, mm; `ring`: one more between loop and eye."""

    wire: float
    inside: float
    ring: bool = False

    @property
    def drop(self) -> float:
        """Distance from the twig's skin to the middle of the eye, mm: the wire's own height does not count twice."""
        return self.inside + self.wire / 2 + (self.inside if self.ring else 0.0)

    @property
    def stock(self) -> float:
        """Wire for one loop, mm: the ring's centreline and one thickness for the scarf (smiths' rule)."""
        return float(np.pi * (self.inside + self.wire) + self.wire)


@dataclass(frozen=True, eq=False)
class Hung:
    """The tree with its leaves where they hang, and each leaf's figures.

    tree: hang points moved. eyes: (L, 3) mm, middle of each eye at rest. masses: (L,) kg. areas: (L,) mm2, one face.
    shares: (L,) share of the swing in which a leaf strikes. moved: (L,) mm along the twig.
    """

    tree: Tree
    eyes: Floats
    masses: Floats
    areas: Floats
    shares: Floats
    moved: Floats


def hang_leaves(
    tree: Tree,
    designs: Sequence[Design],
    loop: Loop,
    mass_kg_m2: float,
    swing_deg: float,
    strike: float,
    spacing: float,
    move: bool = True,
) -> Hung:
    """Return the leaves of a tree hung from their loops.

    mass_kg_m2: of the sheet. swing_deg: angle to which leaves are let swing. strike: share of a leaf's swing in which
    it may meet another leaf or steel; leaves beyond it are moved along their twig, at least `spacing` mm from the next,
    to where they strike least. Leaves that no place on their twig serves stay beyond it, and are told by `shares`.
    move: whether leaves may move at all.
    """
    by_number = {d.number: d for d in designs}
    missing = sorted({int(n) for n in tree.leaves.designs} - set(by_number))
    if missing:
        raise CommissionError("leaves.designs", f"every leaf needs a design; {len(designs)} are drawn", missing[0])
    numbers = tree.leaves.designs
    steel = steel_balls(tree)
    start = tree.leaves.stations
    rounds = _ROUNDS if move else 0
    stations, shares = _settled(tree, by_number, loop, steel, swing_deg, strike, spacing, rounds)
    hung = tree.hung(replace(tree.leaves, stations=stations))
    areas = np.array([by_number[int(n)].area for n in numbers])
    eyes = rods(hung, hung.leaves.twigs, stations, numbers, by_number, loop).eyes
    return Hung(hung, eyes, areas * 1e-6 * mass_kg_m2, areas, shares, stations - start)


def steel_balls(tree: Tree) -> Steel:
    """Return all members as balls 20 mm apart along their centrelines."""
    counts = np.maximum(np.ceil(tree.lengths / _STEP).astype(np.int64), 1) + 1
    members = np.repeat(np.arange(len(tree)), counts)
    place = np.arange(len(members)) - np.repeat(np.cumsum(counts) - counts, counts)
    stations = tree.lengths[members] * place / (counts[members] - 1)
    points, _, _ = locate(tree.chains, members, stations)
    return Steel(points, tree.diameters_at(members, stations) / 2, members, stations)


def rods(tree: Tree, twigs: Ints, stations: Floats, numbers: Ints, by_number: dict[int, Design], loop: Loop) -> Rods:
    """Return leaves of the given designs as rods hung at stations (Q,) mm of twigs (Q,)."""
    points, tangents, _ = locate(tree.chains, twigs, stations)
    steep = np.sqrt(np.maximum(1 - tangents[:, 2] ** 2, 0.0))
    down = np.array([0.0, 0.0, -1.0]) + tangents * tangents[:, 2:]
    below = np.where(steep[:, None] > 1e-6, down / np.maximum(steep, 1e-6)[:, None], [1.0, 0.0, 0.0])
    skin = points + below * (tree.diameters_at(twigs, stations)[:, None] / 2)
    # The loop stands off the skin square to the twig and the leaf's eye lies at its lowest point.
    eyes = skin + below * loop.inside / 2 - np.array([0.0, 0.0, loop.drop - loop.inside / 2])
    table = {n: (d.length, BODY * d.blade[1]) for n, d in by_number.items()}
    sizes = np.array([table[int(n)] for n in numbers]).reshape(-1, 2)
    return Rods(eyes, sizes[:, 0], sizes[:, 1], twigs, stations)


def _settled(
    tree: Tree,
    by_number: dict[int, Design],
    loop: Loop,
    steel: Steel,
    swing: float,
    strike: float,
    spacing: float,
    rounds: int,
) -> tuple[Floats, Floats]:
    """Stations and strike shares after moving the worst leaves, a few rounds of all offenders at once.

    In a round only leaves that are the worst among their neighbours move, so that no two moves undo each other.
    """
    leaves = tree.leaves
    stations = leaves.stations.copy()
    everyone = np.arange(len(leaves))
    shares = np.zeros(len(leaves))
    if not len(leaves):
        return stations, shares
    stuck = np.zeros(len(leaves), dtype=bool)
    for number in range(rounds + 1):
        resting = rods(tree, leaves.twigs, stations, leaves.designs, by_number, loop)
        shares = strike_shares(resting, everyone, resting, steel, swing)
        worst = _worst(shares, strike, resting, stuck)
        if number == rounds or len(worst) == 0:
            break
        rows, tries = _places_to_try(tree, worst, stations, spacing)
        tried = rods(tree, leaves.twigs[rows], tries, leaves.designs[rows], by_number, loop)
        found = strike_shares(tried, rows, resting, steel, swing)
        stuck |= np.isin(everyone, worst)
        for leaf in worst.tolist():
            mine = np.flatnonzero(rows == leaf)
            if len(mine) and found[mine].min() < shares[leaf] - 1e-9:
                pick = mine[np.lexsort((np.abs(tries[mine] - stations[leaf]), found[mine]))[0]]
                stations[leaf] = tries[pick]
                stuck[leaf] = False
    return stations, shares


def _worst(shares: Floats, strike: float, resting: Rods, stuck: NDArray[np.bool_]) -> Ints:
    """Leaves beyond the share that are worst among those within reach, rows as the last word among equals."""
    from scipy.spatial import cKDTree

    bad = np.flatnonzero((shares > strike + 1e-9) & ~stuck)
    if len(bad) == 0:
        return bad
    near = cKDTree(resting.eyes[bad])
    pairs = near.query_pairs(2.0 * float(resting.lengths.max()), output_type="ndarray")
    rank = np.argsort(np.lexsort((bad, -shares[bad])))
    beaten = np.where(rank[pairs[:, 0]] > rank[pairs[:, 1]], pairs[:, 0], pairs[:, 1])
    keep = np.ones(len(bad), dtype=bool)
    keep[beaten] = False
    return bad[keep]


def _places_to_try(tree: Tree, worst: Ints, stations: Floats, spacing: float) -> tuple[Ints, Floats]:
    """Stations on each leaf's own twig, from its lower third to its tip, off its sisters by the spacing."""
    rows, tries = [], []
    for leaf in worst.tolist():
        twig = int(tree.leaves.twigs[leaf])
        length = float(tree.lengths[twig])
        places = np.linspace(0.3 * length, max(length - 4.0, 0.3 * length), _TRIES)
        sisters = stations[(tree.leaves.twigs == twig) & (np.arange(len(stations)) != leaf)]
        if len(sisters):
            places = places[np.min(np.abs(places[:, None] - sisters[None]), axis=1) >= min(spacing, length / 8)]
        rows.append(np.full(len(places), leaf, dtype=np.int64))
        tries.append(places)
    return np.concatenate(rows), np.concatenate(tries)


def leaf_frames(tree: Tree, eyes: Floats, seed: int) -> Floats:
    """Return how each leaf hangs, for pictures and meshes: (L, 4, 4), from a leaf mesh's frame to the tree's, mm.

    Faces lie outward from the tree's axis, give or take 50 deg by the leaf's tag, a few degrees off plumb.
    """
    draw = uniform(keys(seed, tree.leaves.tags, "facing"), 3)
    out = eyes[:, :2] - (eyes[:, :2].mean(axis=0) if len(eyes) else 0.0)
    # A leaf mesh faces +y: turned by this angle about z it faces outward.
    yaw = np.arctan2(out[:, 1], out[:, 0]) - np.pi / 2 + np.deg2rad(100.0) * (draw[:, 0] - 0.5)
    pitch, roll = (np.deg2rad(14.0) * (draw[:, k] - 0.5) for k in (1, 2))
    frames = np.zeros((len(eyes), 4, 4))
    frames[:, :3, :3] = _about_z(yaw) @ _about_x(pitch) @ _about_y(roll)
    frames[:, :3, 3] = eyes
    frames[:, 3, 3] = 1.0
    return frames


def _about_z(a: Floats) -> Floats:
    z, one = np.zeros_like(a), np.ones_like(a)
    rows = [np.cos(a), -np.sin(a), z, np.sin(a), np.cos(a), z, z, z, one]
    return np.stack(rows, axis=1).reshape(-1, 3, 3)


def _about_x(a: Floats) -> Floats:
    z, one = np.zeros_like(a), np.ones_like(a)
    return np.stack([one, z, z, z, np.cos(a), -np.sin(a), z, np.sin(a), np.cos(a)], axis=1).reshape(-1, 3, 3)


def _about_y(a: Floats) -> Floats:
    z, one = np.zeros_like(a), np.ones_like(a)
    return np.stack([np.cos(a), z, np.sin(a), z, one, z, -np.sin(a), z, np.cos(a)], axis=1).reshape(-1, 3, 3)
