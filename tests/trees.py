"""Small trees with answers by hand, and random ones, for the tests."""

from __future__ import annotations

import numpy as np

from armature.tree import (
    BRANCH,
    LIMB,
    TRUNK,
    TWIG,
    BendList,
    Chains,
    Joints,
    Leaves,
    Tree,
    assembled,
    bent,
    chain,
    cones,
    joined,
    no_leaves,
)


def post(height: float = 1000.0, diameter: float = 20.0) -> Tree:
    """Return a trunk alone: a straight prismatic post."""
    return Tree(
        tags=np.array(["T"]),
        ranks=np.array([TRUNK]),
        parents=np.array([-1]),
        chains=chain(np.array([[0.0, 0.0, 0.0], [0.0, 0.0, height]]), [0, 0]),
        stations=np.zeros(1),
        setbacks=np.zeros(1),
        tapers=cones([diameter], [diameter]),
        stock_diameters=np.array([diameter]),
        walls=np.zeros(1),
        departures=np.zeros(1),
        leaves=no_leaves(),
    )


def gallows() -> Tree:
    """Return a 20 mm post of 1000 mm with a level 10 mm limb of 500 mm at 800 mm, and one leaf at its tip.

    The limb starts at the post's skin, x = 10 mm, and ends at x = 510 mm.
    """
    limb = Tree(
        tags=np.array(["A"]),
        ranks=np.array([LIMB]),
        parents=np.array([0]),
        chains=chain([[10, 0, 800], [510, 0, 800]], [0, 0]),
        stations=np.array([800.0]),
        setbacks=np.array([10.0]),
        tapers=cones([10.0], [10.0]),
        stock_diameters=np.array([10.0]),
        walls=np.zeros(1),
        departures=np.zeros(1),
        leaves=no_leaves(),
    )
    leaf = Leaves(np.array(["A-1"]), np.array([1]), np.array([500.0]), np.array([1]), np.array([""]))
    return post().grafted(limb).hung(leaf)


def random_tree(twigs: int, seed: int = 1, limbs: int = 3, leaves_a_twig: int = 2) -> Tree:
    """Return a tree of random bends and joints with the ranks trunk, limb, branch, twig; not pretty, not free of
    clashes."""
    rng = np.random.default_rng(seed)
    branches = max(limbs, twigs // 8)
    counts = [1, limbs, branches, twigs]
    ranks = np.repeat([TRUNK, LIMB, BRANCH, TWIG], counts)
    bases = np.cumsum([0, *counts])
    parents = np.full(len(ranks), -1)
    tags = ["T"]
    for level, rank_count in enumerate(counts[1:], start=1):
        on = bases[level - 1] + np.arange(rank_count) % counts[level - 1]
        parents[bases[level] : bases[level + 1]] = on
        tags += _tags(level, on, tags)
    starts = np.array([60.0, 30.0, 16.0, 6.35])[np.repeat(range(4), counts)]
    ends = np.array([34.0, 18.0, 7.0, 3.2])[np.repeat(range(4), counts)]
    sizes = np.array([2000.0, 1500.0, 900.0, 300.0])[np.repeat(range(4), counts)] * rng.uniform(0.8, 1.2, len(ranks))
    bends = _bends(rng, sizes, starts)
    lengths = _lengths(bends, len(ranks))
    stations = np.where(parents >= 0, lengths[parents] * rng.uniform(0.4, 0.95, len(ranks)), 0.0)
    leans = np.where(parents >= 0, rng.normal(55.0, 12.0, len(ranks)).clip(25.0, 90.0), 0.0)
    share = np.where(parents >= 0, stations / lengths[parents], 0.0)
    at_joint = starts[parents] + share * (ends[parents] - starts[parents])
    setbacks = np.where(parents >= 0, at_joint / 2.0 / np.sin(np.radians(np.maximum(leans, 1.0))), 0.0)
    spare = np.zeros(len(ranks))
    listed = Joints(
        np.zeros((len(ranks), 3)),
        stations,
        rng.uniform(-180.0, 180.0, len(ranks)) * (parents >= 0),
        leans,
        rng.uniform(-180.0, 180.0, len(ranks)) * (parents >= 0),
        setbacks,
        spare,
        spare,
        np.zeros((len(ranks), 3)),
    )
    tree = Tree(
        tags=np.array(tags),
        ranks=ranks,
        parents=parents,
        chains=assembled(parents, listed, bends),
        stations=stations,
        setbacks=setbacks,
        tapers=cones(starts, ends),
        stock_diameters=starts,
        walls=spare,
        departures=spare,
        leaves=no_leaves(),
    )
    return tree.hung(_leaves(tree, rng, leaves_a_twig))


def _tags(level: int, parents: np.ndarray, tags: list[str]) -> list[str]:
    number: dict[int, int] = {}
    found = []
    for parent in parents.tolist():
        number[parent] = number.get(parent, 0) + 1
        mine = f"{tags[parent]}{number[parent]:02d}"
        name = {1: chr(64 + number[parent]), 2: mine, 3: f"{tags[parent]}-{number[parent]}"}
        found.append(name[level])
    return found


def _bends(rng: np.random.Generator, sizes: np.ndarray, diameters: np.ndarray) -> BendList:
    each = 2
    members = np.repeat(np.arange(len(sizes)), each)
    spread = len(members)
    return BendList(
        members=members,
        numbers=np.tile(np.arange(1, each + 1), len(sizes)),
        marks=np.zeros(spread),
        feeds=sizes[members] / 3.0,
        turns=np.where(np.arange(spread) % each == 0, 0.0, rng.uniform(-180.0, 180.0, spread)),
        bends=rng.uniform(6.0, 30.0, spread),
        radii=diameters[members] * 2.5,
        tails=sizes / 3.0,
    )


def _lengths(bends: BendList, count: int) -> np.ndarray:
    zero = np.zeros((count, 3))
    return bent(bends, zero, zero + [0.0, 0.0, 1.0], zero + [1.0, 0.0, 0.0]).lengths


def _leaves(tree: Tree, rng: np.random.Generator, each: int) -> Leaves:
    twigs = np.repeat(tree.of_rank(TWIG), each)
    numbers = np.tile(np.arange(1, each + 1), len(tree.of_rank(TWIG)))
    tags = np.array([f"{tree.tags[twig]}-{number}" for twig, number in zip(twigs, numbers, strict=True)])
    stations = tree.lengths[twigs] * (0.5 + 0.5 * numbers / each)
    return Leaves(tags, twigs, stations, rng.integers(1, 10, len(twigs)), np.full(len(twigs), "", dtype="<U1"))


def polyline_chains(points: list[list[list[float]]]) -> Chains:
    """Return chains with sharp corners through the given points."""
    return joined([chain(each, np.zeros(len(each))) for each in points])
