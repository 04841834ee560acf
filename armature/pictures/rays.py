"""Pictures drawn by casting rays, for machines without any graphics library: the same scene, light and shading.

Size letters: Q rays, H x W pixels.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
from numpy.typing import NDArray

from armature.pictures.cameras import Camera
from armature.pictures.parts import Part
from armature.pictures.scene import Scene
from armature.pictures.shade import backdrop, paved, shaded, shown
from armature.tree import Ints

Singles = NDArray[np.floating]

CHUNK = 60_000
_SMALL = 250_000
# A step in colour, of 1, between neighbours above which a pixel is drawn again from more rays.
_STEP = 0.035


class Singly:
    """A part with place, normal, colour and light of each vertex side by side in single precision: (N, 12)."""

    def __init__(self, each: Part) -> None:
        self.part = each
        columns = [each.vertices, each.normals, each.colours, each.light]
        self.values = np.concatenate(columns, axis=1).astype(np.float32)


class RayStage:
    """A scene set up once, to be drawn from any number of cameras, without OpenGL."""

    def __init__(self, scene: Scene, size: tuple[int, int], fineness: int = 3) -> None:
        self.scene, self.size, self.fineness = scene, size, fineness
        self.parts = [Singly(each) for each in scene.parts]
        self.camera: Camera | None = None
        self.pool = ThreadPoolExecutor(os.cpu_count() or 1)
        self.traced = traced(scene.parts)

    def draw(self, camera: Camera, clear: bool = False) -> NDArray[np.uint8]:
        """Return the picture (H, W, 3), or (H, W, 4) with a see-through background."""
        wide, high = self.size
        self.camera = camera
        rows, columns = (each.ravel() for each in np.mgrid[0:high, 0:wide])
        # One ray a pixel would miss twigs thinner than a pixel, as they are in small pictures.
        first = self._averaged if wide * high <= _SMALL else self._middle
        colours = first(camera, columns, rows)
        if wide * high > _SMALL:
            self._refine(camera, colours, columns, rows)
        picture = _stepped(colours.reshape(high, wide, 4))
        if clear:
            return picture
        return np.ascontiguousarray(picture[..., :3])

    def resize(self, size: tuple[int, int]) -> None:
        """Draw pictures of this size from now on."""
        self.size = size

    def close(self) -> None:
        """Give the triangles back."""
        self.pool.shutdown()
        del self.traced

    def _refine(self, camera: Camera, colours: Singles, columns: Ints, rows: Ints) -> None:
        """Draw pixels at steps of colour again, in place, until no new step shows: a twig is followed to its tip."""
        wide, high = self.size
        fine = np.zeros(len(colours), dtype=bool)
        while len(edges := np.flatnonzero(_edges(colours.reshape(high, wide, 4)).ravel() & ~fine)):
            colours[edges] = self._averaged(camera, columns[edges], rows[edges])
            fine[edges] = True

    def _middle(self, camera: Camera, columns: Ints, rows: Ints) -> Singles:
        return self._seen(camera, columns + 0.5, rows + 0.5)

    def _averaged(self, camera: Camera, columns: Ints, rows: Ints) -> Singles:
        total = np.zeros((len(columns), 4), dtype=np.float32)
        fineness = 2 if len(columns) > _SMALL else self.fineness
        each = (np.arange(fineness) + 0.5) / fineness
        for right in each:
            for down in each:
                total += self._seen(camera, columns + right, rows + down)
        return total / np.float32(fineness**2)

    def _seen(self, camera: Camera, x: Singles, y: Singles) -> Singles:
        """Return screen colours and coverage (Q, 4) at places (Q,) px of the picture."""
        parts = [slice(start, start + CHUNK) for start in range(0, len(x), CHUNK)]
        strips = self.pool.map(lambda part: self._cast(camera, x[part], y[part]), parts)
        return np.concatenate(list(strips)) if parts else np.zeros((0, 4), dtype=np.float32)

    def _cast(self, camera: Camera, x: Singles, y: Singles) -> Singles:
        directions, hits = self._hits(camera, x, y)
        missed = hits["primID"] < 0
        linear = np.empty((len(x), 3), dtype=np.float32)
        linear[missed] = backdrop(self.scene.sky, directions[missed, 2])
        for number, each in enumerate(self.parts):
            rows = np.flatnonzero((hits["geomID"] == number) & ~missed)
            if len(rows):
                where = (hits[key][rows] for key in ("primID", "u", "v"))
                linear[rows] = self._surface(each, directions[rows], *where)
        return np.column_stack([shown(self.scene.sky, linear), ~missed]).astype(np.float32)

    def _hits(self, camera: Camera, x: Singles, y: Singles) -> tuple[Singles, dict[str, Any]]:
        directions = _directions(camera, x, y, self.size)
        origins = np.tile(camera.eye.astype(np.float32), (len(x), 1))
        return directions, self.traced.run(origins, directions, output=True)

    def _mixed(self, each: Singly, prims: Ints, u: Singles, v: Singles) -> Singles:
        """Return place, normal, colour and light (Q, 12) between the corners of the triangles that were hit."""
        corners = each.part.faces[prims]
        shares = ((1.0 - u - v)[:, None], u[:, None], v[:, None])
        return np.asarray(sum(each.values[corners[:, k]] * shares[k] for k in range(3)))

    def _surface(self, each: Singly, directions: Singles, prims: Ints, u: Singles, v: Singles) -> Singles:
        mixed = self._mixed(each, prims, u, v)
        place, normal, base, light = (mixed[:, k : k + 3] for k in (0, 3, 6, 9))
        base = self._based(each, place, base)
        normal = normal / np.maximum(np.sqrt(np.einsum("ij,ij->i", normal, normal)), 1e-12)[:, None]
        colours = shaded(self.scene.sky, base, normal, -directions, light, each.part.finish)
        return self._melted(each, place, colours)

    def _based(self, each: Singly, places: Singles, colours: Singles) -> Singles:
        """Return the colours (Q, 3) of a part at places (Q, 3) mm, the ground's by its slabs."""
        if each.part.name != "ground" or not self.scene.paved or self.camera is None:
            return colours
        wide = _covered(self.camera, places, self.size[1])
        return np.asarray(colours * paved(places[:, :2].astype(np.float64), wide)[:, None], dtype=np.float32)

    def _melted(self, each: Singly, place: Singles, colours: Singles) -> Singles:
        """Return the colours (Q, 3), the ground's melting into the horizon."""
        if each.part.name == "ground":
            near, far = self.scene.fade
            share = np.clip((np.hypot(place[:, 0], place[:, 1]) - near) / (far - near), 0.0, 1.0)
            melt = (share * share * (3.0 - 2.0 * share))[:, None]
            colours = colours + melt * (self.scene.sky.horizon - colours)
        return colours


def traced(parts: Iterable[Part]) -> Any:
    """Return the triangles of some parts, numbered in their order, for rays to meet."""
    from embreex.mesh_construction import TriangleMesh
    from embreex.rtcore_scene import EmbreeScene

    meant = EmbreeScene()
    for each in parts:
        TriangleMesh(meant, np.ascontiguousarray(each.vertices[each.faces], dtype=np.float32))
    return meant


def _directions(camera: Camera, x: Singles, y: Singles, size: tuple[int, int]) -> Singles:
    scale = 2.0 * np.tan(np.radians(camera.field) / 2.0) / size[1]
    right, up, back = camera.axes
    directions = (x - size[0] / 2.0)[:, None] * scale * right - (y - size[1] / 2.0)[:, None] * scale * up - back
    return np.asarray(directions / np.sqrt(np.einsum("ij,ij->i", directions, directions))[:, None], dtype=np.float32)


def _covered(camera: Camera, places: Singles, high: int) -> Singles:
    """Return how much of level ground, mm along x and y (Q, 2), a pixel covers at places (Q, 3)."""
    off = places - camera.eye
    level, away = np.hypot(off[:, 0], off[:, 1]), np.linalg.norm(off, axis=1)
    pixel = 2.0 * np.tan(np.radians(camera.field) / 2.0) / high * away
    along = off[:, :2] / np.maximum(level, 1e-6)[:, None]
    # Looked at aslant, a pixel reaches far along the view and little across it.
    slant = (pixel * away / np.maximum(np.abs(off[:, 2]), 1e-6))[:, None]
    return np.asarray(np.abs(along) * slant + np.abs(along[:, ::-1]) * pixel[:, None])


def _stepped(colours: Singles) -> NDArray[np.uint8]:
    """Return colours (H, W, 4) in bytes, grained as the graphics library's are, so that a clear sky shows no bands."""
    row, column = np.mgrid[0 : colours.shape[0], 0 : colours.shape[1]]
    grain = (52.9829189 * ((0.06711056 * column + 0.00583715 * row) % 1.0)) % 1.0 - 0.5
    scaled = colours * np.float32(255.0)
    scaled[..., :3] += grain[..., None].astype(np.float32)
    return np.clip(np.round(scaled), 0.0, 255.0).astype(np.uint8)


def _edges(colours: Singles) -> NDArray[np.bool_]:
    """Return the pixels (H, W) that differ from a neighbour, and their neighbours."""
    marked = np.zeros(colours.shape[:2], dtype=bool)
    down = np.abs(np.diff(colours, axis=0)).max(axis=2) > _STEP
    right = np.abs(np.diff(colours, axis=1)).max(axis=2) > _STEP
    marked[1:] |= down
    marked[:-1] |= down
    marked[:, 1:] |= right
    marked[:, :-1] |= right
    return marked
