"""Loops on the twigs, and the leaves that hang in them as rods among the steel."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from armature.leaves.hanging.meeting import Floats, Ints
from armature.leaves.hanging.swing import STEP, Rods, Steel
from armature.metals import bar_masses
from armature.tree import Tree, locate


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
    def mass_kg(self) -> float:
        """Mass of one loop of steel wire, its ring's too."""
        return float(bar_masses(self.wire)) * self.stock / 1000.0 * (2.0 if self.ring else 1.0)

    @property
    def stock(self) -> float:
        """Wire for one loop, mm: the ring's centreline and one thickness for saw and file (smiths' rule)."""
        return float(np.pi * (self.inside + self.wire) + self.wire)


@dataclass(frozen=True, eq=False)
class Room:
    """What leaves hang among: the tree's steel, the loops, sizes (D, 2) mm of the designs as rods, length and radius,
    and the swing in degrees."""

    tree: Tree
    loop: Loop
    sizes: Floats
    swing: float

    @cached_property
    def steel(self) -> Steel:
        """All members of the tree as short bars."""
        return steel_pieces(self.tree)

    def rods(self, twigs: Ints, stations: Floats, kinds: Ints) -> Rods:
        """Return leaves as rods: twigs (Q,) rows of the tree, stations (Q,) mm, kinds (Q,) rows of the designs."""
        lengths, radii = self.sizes[kinds].T
        return Rods(eyes_at(self.tree, self.loop, twigs, stations), lengths, radii, twigs)


def eyes_at(tree: Tree, loop: Loop, twigs: Ints, stations: Floats) -> Floats:
    """Return the middles of the eyes of leaves at rest: (Q, 3) mm."""
    points, tangents, _ = locate(tree.chains, twigs, stations)
    steep = np.sqrt(np.maximum(1 - tangents[:, 2] ** 2, 0.0))
    down = np.array([0.0, 0.0, -1.0]) + tangents * tangents[:, 2:]
    below = np.where(steep[:, None] > 1e-6, down / np.maximum(steep, 1e-6)[:, None], [1.0, 0.0, 0.0])
    skin = points + below * (tree.diameters_at(twigs, stations)[:, None] / 2)
    # The loop stands off the skin square to the twig and the leaf's eye lies at its lowest point.
    return np.asarray(skin + below * loop.inside / 2 - np.array([0.0, 0.0, loop.drop - loop.inside / 2]))


def steel_pieces(tree: Tree) -> Steel:
    """Return all members as short round bars along their centrelines."""
    counts = np.maximum(np.ceil(tree.lengths / STEP).astype(np.int64), 1)
    members = np.repeat(np.arange(len(tree)), counts)
    place = np.arange(len(members)) - np.repeat(np.cumsum(counts) - counts, counts)
    steps = tree.lengths[members] / counts[members]
    starts, _, _ = locate(tree.chains, members, steps * place)
    ends, _, _ = locate(tree.chains, members, steps * (place + 1))
    runs = np.sqrt(np.sum((ends - starts) ** 2, axis=1))
    radii = tree.diameters_at(members, steps * (place + 0.5)) / 2
    return Steel(starts, (ends - starts) / runs[:, None], runs, radii, members)
