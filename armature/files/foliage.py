"""Leaves for mesh files: a few blades, and where and how each leaf of the tree hangs.

Size letters: L leaves, K vertices and F faces of one blade. A blade has its eye at the origin, its tip toward -z and
its face toward +y; lengths are mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from armature.seeds import keys, uniform
from armature.tree import Floats, Ints, Tree


@dataclass(frozen=True, eq=False)
class Foliage:
    """blades: (vertices (K, 3) mm, faces (F, 3)) each; shapes: (L,) row of each leaf's blade.

    turns: (L, 3, 3) rotation from the blade's frame to the tree's; places: (L, 3) mm, where the eye hangs.
    """

    blades: Sequence[tuple[Floats, Ints]]
    shapes: Ints
    turns: Floats
    places: Floats

    def leaf(self, row: int) -> tuple[Floats, Ints]:
        """Return one leaf in its place: vertices (K, 3) mm and faces (F, 3)."""
        vertices, faces = self.blades[int(self.shapes[row])]
        return vertices @ self.turns[row].T + self.places[row], faces


def plain_foliage(tree: Tree, length: float, thickness: float = 0.8) -> Foliage:
    """Return plain ovate leaves of a length, mm, that hang plumb from their loops and turn any way about them."""
    spin = 2.0 * np.pi * uniform(keys(0, tree.leaves.tags, "leaf spin"), 1)[:, 0]
    turns = np.zeros((len(spin), 3, 3))
    turns[:, 0, 0] = turns[:, 1, 1] = np.cos(spin)
    turns[:, 1, 0] = np.sin(spin)
    turns[:, 0, 1] = -turns[:, 1, 0]
    turns[:, 2, 2] = 1.0
    blades = [plain_blade(length, thickness)]
    return Foliage(blades, np.zeros(len(spin), dtype=np.int64), turns, tree.hang_points)


def plain_blade(length: float, thickness: float) -> tuple[Floats, Ints]:
    """Return a flat ovate plate as a closed mesh: vertices (K, 3) mm with the eye at the origin, faces (F, 3).

    The margin is half a sine drawn toward the base: widest at two fifths of the length, two fifths of it wide.
    """
    along = np.linspace(0.0, 1.0, 9)
    half = 0.2 * length * np.sin(np.pi * along**0.756)
    # A stalk of a sixth of the length, as wide as a pencil line, holds the eye.
    right = np.stack([half[1:-1], -length * (1.0 / 6.0 + along[1:-1])], axis=1)
    stalk = 0.01 * length
    rim = np.concatenate(
        [
            [[stalk, 0.0], [stalk, -length / 6.0]],
            right,
            [[0.0, -length * 7.0 / 6.0]],
            right[::-1] * [-1.0, 1.0],
            [[-stalk, -length / 6.0], [-stalk, 0.0]],
        ]
    )
    count = len(rim)
    vertices = np.concatenate([np.insert(rim, 1, side, axis=1) for side in (thickness / 2.0, -thickness / 2.0)])
    # The margin is the same on both sides, so rungs across it fill the plate.
    low, high = np.arange(count // 2), count - 1 - np.arange(count // 2)
    rungs = [[[a, c, b], [a, d, c]] for a, b, c, d in zip(high[:-1], high[1:], low[1:], low[:-1], strict=True)]
    rungs_to_tip = [[high[-1], low[-1], count // 2]] if count % 2 else []
    front = np.array([face for pair in rungs for face in pair] + rungs_to_tip)
    edge, after = np.arange(count), (np.arange(count) + 1) % count
    wall = np.concatenate([np.stack([edge, edge + count, after + count], 1), np.stack([edge, after + count, after], 1)])
    return vertices, np.concatenate([front, front[:, ::-1] + count, wall])
