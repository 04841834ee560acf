"""Leaves to look at: dished blades of sheet metal that hang from their loops, new, brown or green with age.

Size letters: L leaves, K vertices of one blade.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from armature.metals import patina
from armature.pictures.parts import Finish, Part, linear, merged, part, vertex_normals
from armature.seeds import keys, normal, uniform
from armature.tree import Floats, Ints, Tree, row_norms


class Sheet(Protocol):
    """One leaf as sheet: vertices (K, 3) mm with the eye at the origin, the tip toward -z and the face toward +y;
    faces (F, 3).
    """

    @property
    def vertices(self) -> Floats:
        """Corners (K, 3) mm."""
        ...

    @property
    def faces(self) -> Ints:
        """Triangles (F, 3) as rows of corners."""
        ...


@dataclass(frozen=True, eq=False)
class Blade:
    """A leaf as sheet, by its vertices (K, 3) mm and faces (F, 3)."""

    vertices: Floats
    faces: Ints


# The eye of a leaf hangs this far below the skin of its twig; the loop is bent from wire of this diameter, mm.
HANG, WIRE = 9.0, 2.4
_COARSE = 0.45
_LOOP = Finish(roughness=0.5, metal=0.8)


def ovate(length: float = 92.0, width: float = 40.0, rows: int = 6) -> Blade:
    """Return a plain ovate blade, dished across and curled along, on a short stalk: what hangs where no design is
    given.
    """
    along = np.linspace(0.0, 1.0, rows + 1)
    half = 0.5 * width * (np.sin(np.pi * along**0.72) ** 0.8) * (1.0 - 0.25 * along)
    half[0], half[-1] = 0.03 * width, 0.015 * width
    across = np.array([-1.0, -0.5, 0.0, 0.5, 1.0])
    down = 9.0 + along * length
    x = half[:, None] * across
    y = 0.20 * width * (np.abs(across) ** 1.5) * (half / half.max())[:, None] - 0.10 * length * along[:, None] ** 2
    grid = np.stack([x, y, np.broadcast_to(-down[:, None], x.shape)], axis=-1).reshape(-1, 3)
    stem = np.array([[-1.2, 0.0, 0.0], [1.2, 0.0, 0.0]])
    first, wide = np.arange(rows)[:, None] * 5, np.arange(4)
    a = (first + wide).ravel()
    faces = np.concatenate([np.stack([a, a + 5, a + 6], 1), np.stack([a, a + 6, a + 1], 1)])
    last = len(grid)
    stalk = np.array([[last, 0, 4], [last, 4, last + 1]])
    return Blade(np.concatenate([grid, stem]), np.concatenate([faces, stalk]))


def foliage(
    tree: Tree,
    age: str = "new",
    blades: Sequence[Sheet] | None = None,
    frames: Floats | None = None,
    metal: str = "copper",
    near: NDArray[np.bool_] | None = None,
    near_blades: Sequence[Sheet] = (),
) -> Part | None:
    """Return the hanging leaves as one part, or nothing where there are none.

    blades: by design, from the first; near: (L,) which leaves are drawn by `near_blades` in their place. frames:
    (L, 4, 4) from a blade's frame to the tree's, mm; our own hanging where not given.
    """
    if not len(tree.leaves):
        return None
    sheets: list[Sheet] = list(blades) if blades else [ovate()]
    design = (tree.leaves.designs - 1) % len(sheets)
    if near is not None and near_blades:
        design = design + np.where(near, len(sheets), 0)
        sheets += near_blades
    hung = hangings(tree) if frames is None else (frames[:, :3, :3], frames[:, :3, 3])
    scale = np.ones(len(tree.leaves))
    if not blades:
        scale = 0.82 + 0.36 * uniform(keys(0, tree.leaves.tags, "leaf size"), 1)[:, 0]
    points, normals, faces, leaf = _placed(sheets, design, hung, scale)
    return part("leaves", points, normals, faces, tones(tree, age, metal)[leaf], finish_of(age, metal), leaf)


def _placed(
    sheets: Sequence[Sheet], design: Ints, hung: tuple[Floats, Floats], scale: Floats
) -> tuple[Floats, Floats, Ints, Ints]:
    """Return points (V, 3), normals (V, 3), faces (F, 3) and the leaf of each point (V,), sheet by sheet.

    design: (L,) the sheet of each leaf; hung: turns (L, 3, 3) and places (L, 3); scale: (L,).
    """
    turns, places = hung
    points, normals, faces, owners, start = [], [], [], [], 0
    for number, blade in enumerate(sheets):
        rows, size = np.flatnonzero(design == number), len(blade.vertices)
        own = vertex_normals(blade.vertices, blade.faces)
        shape = blade.vertices[None] * scale[rows, None, None]
        points.append((np.einsum("lij,lkj->lki", turns[rows], shape) + places[rows, None]).reshape(-1, 3))
        normals.append(np.einsum("lij,kj->lki", turns[rows], own).reshape(-1, 3))
        faces.append((blade.faces[None] + start + size * np.arange(len(rows))[:, None, None]).reshape(-1, 3))
        owners.append(np.repeat(rows, size))
        start += size * len(rows)
    return np.concatenate(points), np.concatenate(normals), np.concatenate(faces), np.concatenate(owners)


def hangings(tree: Tree) -> tuple[Floats, Floats]:
    """Return how each leaf is turned (L, 3, 3) and where its eye hangs (L, 3) mm.

    Blades hang near plumb, lean a little away from the trunk, and turn any way about their loop.
    """
    key = keys(0, tree.leaves.tags, "leaf hang")
    draw, spin = normal(key, 2), 2.0 * np.pi * uniform(keys(0, tree.leaves.tags, "leaf spin"), 1)[:, 0]
    places = tree.hang_points
    low = places - [0.0, 0.0, HANG]
    outward = places * [1.0, 1.0, 0.0]
    outward = outward / np.maximum(row_norms(outward), 1.0)[:, None]
    up = np.array([0.0, 0.0, 1.0]) - 0.35 * outward
    up[:, :2] += 0.28 * draw
    up /= row_norms(up)[:, None]
    facing = np.stack([np.cos(spin), np.sin(spin), np.zeros(len(spin))], axis=1)
    across = np.cross(facing, up)
    across /= row_norms(across)[:, None]
    return np.stack([across, np.cross(up, across), up], axis=-1), low


def loops(
    tree: Tree, frames: Floats | None = None, fine: float = 1.0, near: NDArray[np.bool_] | None = None
) -> Part | None:
    """Return the wire loops between twigs and leaves as one part, or nothing where no leaf hangs.

    fine: factor on the corners round a loop and its wire; near: (L,) where they are drawn so, half as fine elsewhere.
    """
    if near is None:
        return _loops(tree, frames, fine, np.arange(len(tree.leaves)))
    each = [_loops(tree, frames, share * fine, np.flatnonzero(rows)) for share, rows in ((1.0, near), (_COARSE, ~near))]
    drawn = [part for part in each if part is not None]
    return merged("loops", drawn) if drawn else None


def _loops(tree: Tree, frames: Floats | None, fine: float, rows: Ints) -> Part | None:
    count = len(rows)
    if not count:
        return None
    corners, sides = max(round(15.0 * fine), 6), max(round(5.5 * fine), 3)
    turns, low = hangings(tree) if frames is None else (frames[:, :3, :3], frames[:, :3, 3])
    turns, low, high = turns[rows], low[rows], tree.hang_points[rows]
    round_, across = 2.0 * np.pi * np.arange(corners) / corners, 2.0 * np.pi * np.arange(sides) / sides
    outward = np.stack([np.zeros(corners), np.cos(round_), np.sin(round_)], axis=1)
    skin = np.cos(across)[:, None] * outward[:, None] + np.sin(across)[:, None] * np.array([1.0, 0.0, 0.0])
    radius = 0.5 * (row_norms(high - low) + WIRE)[:, None, None, None]
    ring = radius * outward[:, None] + 0.5 * WIRE * skin
    middle = 0.5 * (high + low)
    vertices = np.einsum("lij,lkj->lki", turns, ring.reshape(count, -1, 3)) + middle[:, None]
    normals = np.einsum("lij,kj->lki", turns, skin.reshape(-1, 3))
    each = corners * sides
    faces = (_ring_faces(corners, sides)[None] + each * np.arange(count)[:, None, None]).reshape(-1, 3)
    keyed = np.repeat(rows, each)
    return part("loops", vertices.reshape(-1, 3), normals.reshape(-1, 3), faces, linear("3c3b3a"), _LOOP, keyed)


def _ring_faces(corners: int, sides: int) -> Ints:
    a, b = (each.ravel() for each in np.meshgrid(np.arange(corners), np.arange(sides), indexing="ij"))
    after, beside = (a + 1) % corners * sides, (b + 1) % sides
    first, second, third, fourth = a * sides + b, after + b, after + beside, a * sides + beside
    return np.concatenate([np.stack([first, third, second], 1), np.stack([first, fourth, third], 1)])


def tones(tree: Tree, age: str, metal: str = "copper") -> Floats:
    """Return a colour for each leaf (L, 3): no two pieces of sheet age quite alike."""
    usual, light, deep = (linear(tone) for tone in patina(metal, age).tones)
    draw = uniform(keys(0, tree.leaves.tags, "leaf tone"), 2)
    return np.asarray(usual + draw[:, :1] ** 2 * (light - usual) + draw[:, 1:] ** 2 * (deep - usual))


def finish_of(age: str, metal: str = "copper") -> Finish:
    """Return how a metal of an age takes the light."""
    finish = patina(metal, age)
    return Finish(finish.roughness, finish.metal, both_sides=True)
