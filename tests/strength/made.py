"""Trees and commissions for the strength tests."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from armature.commission import Commission, read
from armature.strength.forces import Loads
from armature.strength.frame import Frame
from armature.tree import Chains, Leaves, Tree, chain, cones, joined
from tests.trees import gallows, post

HEAD = """title = "Test tree"
units = "inch"
canopy.height = "3 m"
growth = {limbs = 1, branches = 1, twigs = 1}
"""
WINDY = """[site]
wind_speed = "115 mph"
exposure = "C"
"""


def commission(site: str = WINDY, head: str = HEAD) -> Commission:
    """Return a small commission with the given text after its first keys."""
    return read(head + site)


def american() -> Commission:
    """Return ASCE 7-16, 115 mph, exposure C, ice, no snow and no earthquake to speak of."""
    return commission(WINDY + 'ice = "10 mm"\nice_wind = "40 mph"\nsnow = "0 kPa"\nfrost_depth = "300 mm"\n')


def european() -> Commission:
    """Return EN 1991-1-4, 26 m/s, terrain II, in S235, and ice."""
    return commission(
        '[steel]\ngrade = "S235"\n[site]\nstandard = "EN 1991-1-4"\nwind_speed = "26 m/s"\nexposure = "II"\n'
        'ice = "10 mm"\nice_wind = "15 m/s"\n'
    )


def prismatic_tree(members: int, seed: int, straights: int = 2) -> Tree:
    """Return a tree of straight prismatic bars with sharp corners, children starting on their parent's centreline.

    A tree that a general frame solver models without any approximation of ours.
    """
    rng = np.random.default_rng(seed)
    parents = np.array([-1] + [int(rng.integers(0, row)) for row in range(1, members)])
    chains: list[Chains] = []
    stations = np.zeros(members)
    for parent in parents:
        start, toward = np.zeros(3), np.array([0.0, 0.0, 1.0])
        if parent >= 0:
            bar = chains[parent]
            side = int(rng.integers(0, straights))
            # Thirds of a side: a general solver loses digits on elements of a millimetre.
            share = float(rng.choice([1.0 / 3.0, 2.0 / 3.0, 1.0]))
            start = bar.vertices[side] + share * (bar.vertices[side + 1] - bar.vertices[side])
            stations[len(chains)] = bar.sides[:side].sum() + share * bar.sides[side]
            toward = bar.directions[side]
        corners = [start]
        for _ in range(straights):
            toward = toward + rng.normal(0.0, 0.5, 3)
            corners.append(corners[-1] + toward / np.linalg.norm(toward) * rng.uniform(100.0, 400.0))
        chains.append(chain(corners, np.zeros(straights + 1)))
    sizes = rng.uniform(8.0, 30.0, members)
    return replace(
        post(),
        tags=np.array([f"M{row}" for row in range(members)]),
        ranks=np.minimum(np.arange(members), 4),
        parents=parents,
        chains=joined(chains),
        stations=stations,
        setbacks=np.zeros(members),
        tapers=cones(sizes, sizes),
        stock_diameters=sizes,
        walls=np.zeros(members),
        departures=np.zeros(members),
    )


def cantilever(length: float, start: float, end: float, toward: tuple[float, float, float] = (0.0, 0.0, 1.0)) -> Tree:
    """Return one tapered bar, clamped at the origin."""
    tip = np.asarray(toward) / np.linalg.norm(toward) * length
    one = replace(post(), chains=chain([[0.0, 0.0, 0.0], tip], [0.0, 0.0]))
    return replace(one, tapers=cones([start], [end]), stock_diameters=np.array([start]))


def leafy_gallows(leaves: int = 1) -> Tree:
    """Return the gallows with some leaves at its tip."""
    each = Leaves(
        np.array([f"A-{number + 1}" for number in range(leaves)]),
        np.full(leaves, 1),
        np.full(leaves, 500.0),
        np.ones(leaves, dtype=np.int64),
        np.full(leaves, "", dtype="<U1"),
    )
    return gallows().hung(each)


def random_loads(cut: Frame, seed: int, cases: int = 1, lines: bool = True) -> Loads:
    """Return random forces at all nodes and, with `lines`, along all elements; uniform along each."""
    rng = np.random.default_rng(seed)
    uniform = rng.normal(0.0, 0.02, (len(cut), 1, 3, cases)) * (cut.spans > 0.0)[:, None, None, None] * lines
    return Loads(rng.normal(0.0, 10.0, (len(cut), 3, cases)), np.repeat(uniform, 2, axis=1))
