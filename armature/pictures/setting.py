"""What the tree stands on: ground and base plate."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from armature.pictures.parts import Finish, Part, grid_faces, linear, merged, part, vertex_normals
from armature.tree import Floats, Rods, Tree

STONE = Finish(roughness=0.9, metal=0.0)
_LAMP_HIGH = 90.0
# Colour and strength of lamps of some 2,700 K, chosen by eye.
LAMPLIGHT = np.array([1.0, 0.72, 0.42]) * 3.4
PLATE = Finish(roughness=0.5, metal=0.8)


@dataclass(frozen=True)
class Plate:
    """The plate under the trunk as it is made: side and thickness in mm, and its anchors where they are known."""

    side: float
    thickness: float
    rods: Rods | None = None


def ground(reach: float, spacing: float, colour: str = "989288") -> Part:
    """Return level ground, finely meshed out to `reach` mm at `spacing` mm and coarsely to forty times that."""
    inner = np.arange(-reach, reach + spacing / 2.0, spacing)
    outer = inner[-1] * np.geomspace(1.15, 40.0, 16)
    line = np.concatenate([-outer[::-1], inner, outer])
    x, y = np.meshgrid(line, line, indexing="ij")
    vertices = np.stack([x.ravel(), y.ravel(), np.zeros(x.size)], axis=1)
    return part(
        "ground", vertices, np.array([[0.0, 0.0, 1.0]]).repeat(x.size, 0), grid_faces(*x.shape), linear(colour), STONE
    )


def base_plate(tree: Tree, side: float | None = None, thickness: float = 25.0, rods: Rods | None = None) -> Part:
    """Return the square plate under the trunk, let into the ground to half its thickness, with the nuts on its anchors.

    side: mm, five trunk diameters where it is not given. rods: the anchors, none drawn where they are not known.
    """
    half = 2.5 * float(tree.start_diameters[0]) if side is None else side / 2.0
    slab = _slab(half, thickness)
    if rods is None:
        return slab
    around = 2.0 * np.pi * (np.arange(rods.count) + 0.5) / rods.count
    places = rods.circle_mm / 2.0 * np.stack([np.cos(around), np.sin(around)], axis=1)
    d, top = rods.diameter_mm, thickness / 2.0
    # Nut and thread end as sizes of ISO 4032 run: 1.5 d across flats, 0.8 d high; the thread ends 0.4 d above.
    pieces = [slab]
    for place in places:
        pieces.append(_prism(6, 0.75 * d / np.cos(np.pi / 6.0), 0.0, (top, top + 0.8 * d), place))
        pieces.append(_prism(12, d / 2.0, 0.0, (top + 0.8 * d, top + 1.2 * d), place))
    return merged("plate", pieces)


def _slab(half: float, thickness: float) -> Part:
    corners = np.array(
        [[x, y, z] for z in (0.0, thickness / 2.0) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))], float
    )
    corners[:, :2] *= half
    sides = [(0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7), (4, 5, 6, 7)]
    vertices = corners[np.array(sides).ravel()]
    first = np.arange(len(sides)) * 4
    faces = np.concatenate([np.stack([first, first + 1, first + 2], 1), np.stack([first, first + 2, first + 3], 1)])
    return part("plate", vertices, vertex_normals(vertices, faces), faces, linear("3a3a3c"), PLATE)


def _prism(corners: int, radius: float, turn: float, levels: tuple[float, float], place: Floats) -> Part:
    """An upright prism without a floor, its edges sharp."""
    a = turn + 2.0 * np.pi * np.arange(corners) / corners
    ring = place + radius * np.stack([np.cos(a), np.sin(a)], axis=1)
    low, high = (np.column_stack([ring, np.full(corners, level)]) for level in levels)
    after = np.roll(np.arange(corners), -1)
    walls = np.stack([low, low[after], high[after], high], axis=1).reshape(-1, 3)
    first = 4 * np.arange(corners)
    faces = np.concatenate([np.stack([first, first + 1, first + 2], 1), np.stack([first, first + 2, first + 3], 1)])
    lid = len(walls) + np.stack([np.zeros(corners - 2, int), np.arange(1, corners - 1), np.arange(2, corners)], 1)
    vertices, faces = np.concatenate([walls, high]), np.concatenate([faces, lid])
    return part("plate", vertices, vertex_normals(vertices, faces), faces, linear("3a3a3c"), PLATE)


def lamp_places(tree: Tree) -> Floats:
    """Return where lamps stand at the tree's foot: (4, 3) mm, a tenth of its height from the axis."""
    away = max(0.1 * float(tree.tips[:, 2].max()), 3.0 * float(tree.start_diameters[0]))
    around = np.radians([45.0, 135.0, 225.0, 315.0])
    return np.stack([away * np.cos(around), away * np.sin(around), np.full(4, _LAMP_HIGH)], axis=1)


def lamps(places: Floats) -> Part:
    """Return lamps as short posts with a bright lid."""
    posts = [_prism(16, 45.0, 0.0, (0.0, _LAMP_HIGH - 10.0), place[:2]) for place in places]
    lids = [_prism(16, 38.0, 0.0, (_LAMP_HIGH - 10.0, _LAMP_HIGH - 4.0), place[:2]) for place in places]
    dark, bright = merged("lamps", posts), merged("lamps", lids)
    shades = np.concatenate([np.asarray(dark.colours), np.full((len(bright.vertices), 3), 1.0)])
    return replace(merged("lamps", [dark, bright]), colours=shades)
