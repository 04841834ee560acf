"""Pictures drawn by casting rays, for machines without any graphics library: the same scene, light and shading.

Size letters: Q rays, H x W pixels.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from armature.centreline import Floats, Ints
from armature.pictures.cameras import Camera
from armature.pictures.parts import Part
from armature.pictures.scene import Scene
from armature.pictures.shade import backdrop, shaded, shown

_CHUNK = 400_000
_SMALL = 250_000
# A step in colour, of 1, between neighbours above which a pixel is drawn again from more rays.
_STEP = 0.035


class RayStage:
    """A scene set up once, to be drawn from any number of cameras, without OpenGL."""

    def __init__(self, scene: Scene, size: tuple[int, int], fineness: int = 3) -> None:
        from embreex.mesh_construction import TriangleMesh
        from embreex.rtcore_scene import EmbreeScene

        self.scene, self.size, self.fineness = scene, size, fineness
        self.traced = EmbreeScene()
        for each in scene.parts:
            TriangleMesh(self.traced, np.ascontiguousarray(each.vertices[each.faces], dtype=np.float32))

    def draw(self, camera: Camera, clear: bool = False) -> NDArray[np.uint8]:
        """Return the picture (H, W, 3), or (H, W, 4) with a see-through background."""
        wide, high = self.size
        rows, columns = (each.ravel() for each in np.mgrid[0:high, 0:wide])
        # One ray a pixel would miss twigs thinner than a pixel, as they are in small pictures.
        first = self._averaged if wide * high <= _SMALL else self._middle
        colours = first(camera, columns, rows)
        if wide * high > _SMALL:
            edges = np.flatnonzero(_edges(colours.reshape(high, wide, 4)).ravel())
            colours[edges] = self._averaged(camera, columns[edges], rows[edges])
        found = np.round(colours.reshape(high, wide, 4) * 255.0).astype(np.uint8)
        if clear:
            return found
        return np.ascontiguousarray(found[..., :3])

    def close(self) -> None:
        """Give the triangles back."""
        del self.traced

    def _middle(self, camera: Camera, columns: Ints, rows: Ints) -> Floats:
        return self._seen(camera, columns + 0.5, rows + 0.5)

    def _averaged(self, camera: Camera, columns: Ints, rows: Ints) -> Floats:
        total = np.zeros((len(columns), 4))
        each = (np.arange(self.fineness) + 0.5) / self.fineness
        for right in each:
            for down in each:
                total += self._seen(camera, columns + right, rows + down)
        return total / self.fineness**2

    def _seen(self, camera: Camera, x: Floats, y: Floats) -> Floats:
        """Return screen colours and coverage (Q, 4) at places (Q,) px of the picture."""
        found = np.empty((len(x), 4))
        for start in range(0, len(x), _CHUNK):
            part = slice(start, start + _CHUNK)
            found[part] = self._cast(camera, x[part], y[part])
        return found

    def _cast(self, camera: Camera, x: Floats, y: Floats) -> Floats:
        directions = _directions(camera, x, y, self.size)
        origins = np.broadcast_to(camera.eye.astype(np.float32), directions.shape)
        hits = self.traced.run(np.ascontiguousarray(origins), directions.astype(np.float32), output=True)
        colours = backdrop(self.scene.sky, directions[:, 2])
        for number, each in enumerate(self.scene.parts):
            rows = np.flatnonzero((hits["geomID"] == number) & (hits["primID"] >= 0))
            if len(rows):
                colours[rows] = self._surface(
                    each, directions[rows], *(hits[key][rows] for key in ("primID", "u", "v"))
                )
        return np.column_stack([shown(self.scene.sky, colours), hits["primID"] >= 0])

    def _surface(self, each: Part, directions: Floats, prims: Ints, u: Floats, v: Floats) -> Floats:
        corners = each.faces[prims]
        shares = np.stack([1.0 - u - v, u, v], axis=1)[:, :, None]
        place, normal, base, light = (
            (values[corners] * shares).sum(axis=1) for values in (each.vertices, each.normals, each.colours, each.light)
        )
        normal = normal / np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-12)
        colours = shaded(self.scene.sky, base, normal, -directions, light, each.finish)
        if each.name == "ground":
            near, far = self.scene.fade
            share = np.clip((np.hypot(place[:, 0], place[:, 1]) - near) / (far - near), 0.0, 1.0)
            melt = (share * share * (3.0 - 2.0 * share))[:, None]
            colours = colours + melt * (self.scene.sky.horizon - colours)
        return colours


def _directions(camera: Camera, x: Floats, y: Floats, size: tuple[int, int]) -> Floats:
    scale = 2.0 * np.tan(np.radians(camera.field) / 2.0) / size[1]
    right, up, back = camera.axes
    found = (x - size[0] / 2.0)[:, None] * scale * right - (y - size[1] / 2.0)[:, None] * scale * up - back
    return np.asarray(found / np.linalg.norm(found, axis=1, keepdims=True))


def _edges(colours: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Return the pixels (H, W) that differ from a neighbour, and their neighbours."""
    marked = np.zeros(colours.shape[:2], dtype=bool)
    down = np.abs(np.diff(colours, axis=0)).max(axis=2) > _STEP
    right = np.abs(np.diff(colours, axis=1)).max(axis=2) > _STEP
    marked[1:] |= down
    marked[:-1] |= down
    marked[:, 1:] |= right
    marked[:, :-1] |= right
    return marked
