"""How much sky and sun reach every vertex, found by casting rays; the same light serves every picture of a scene.

Size letters: N vertices, K rays a vertex.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from armature.centreline import Floats, row_norms
from armature.pictures.parts import Part

# Additive recurrence with the plastic number: points that cover a square evenly in any number
# (Roberts, "The unreasonable effectiveness of quasirandom sequences", 2018).
_STEP = (0.7548776662466927, 0.5698402909980532)
# Half the angle that the sun fills, drawn four times as wide: a hazy sky softens edges.
_DISC = np.radians(4 * 0.2665)
_CLEAR = 1.2


def baked(parts: list[Part], blockers: list[Part], sun: Floats, rays: int = 24) -> list[Part]:
    """Return the parts with the light that the blockers leave them.

    sun: (3,) unit direction toward the sun. rays: cast toward the sky from each vertex; a quarter of it toward the sun.
    """
    cast = _caster(blockers)
    return [_lit(each, cast, np.asarray(sun, dtype=np.float64), rays) for each in parts]


def _lit(each: Part, cast: Caster, sun: Floats, rays: int) -> Part:
    share = 3 * rays if each.name == "ground" else rays
    front = _sky(each, cast, 1.0, share)
    back = _sky(each, cast, -1.0, share) if each.finish.both_sides else np.ones(len(front))
    toward = np.where(each.normals @ sun >= 0.0, 1.0, -1.0) if each.finish.both_sides else np.ones(len(front))
    return replace(each, light=np.stack([front, back, _sunlit(each, cast, sun, toward, max(share // 4, 2))], axis=1))


class Caster:
    """Casts rays against a fixed set of triangles."""

    def __init__(self, blockers: list[Part]) -> None:
        from embreex.mesh_construction import TriangleMesh
        from embreex.rtcore_scene import EmbreeScene

        self.scene = EmbreeScene()
        for each in blockers:
            TriangleMesh(self.scene, np.ascontiguousarray(each.vertices[each.faces], dtype=np.float32))

    def open(self, origins: Floats, directions: Floats) -> Floats:
        """Return 1 for each ray (Q,) that leaves freely and 0 for each that is blocked."""
        hit = self.scene.run(
            np.ascontiguousarray(origins, dtype=np.float32),
            np.ascontiguousarray(directions, dtype=np.float32),
            query="OCCLUDED",
        )
        return np.asarray(hit != 0, dtype=np.float64)


def _caster(blockers: list[Part]) -> Caster:
    return Caster([each for each in blockers if len(each.faces)])


def _sky(each: Part, cast: Caster, side: float, rays: int) -> Floats:
    """Return the cosine-weighted share of rays from each vertex that leave freely: (N,)."""
    normals, count = side * each.normals, len(each.vertices)
    starts = each.vertices + normals * _CLEAR
    total = np.zeros(count)
    for number in range(rays):
        place = np.arange(count) * rays + number
        first, second = (place * _STEP[0]) % 1.0, (place * _STEP[1]) % 1.0
        height, around = 1.0 - 2.0 * first, 2.0 * np.pi * second
        wide = np.sqrt(np.maximum(1.0 - height**2, 0.0))
        direction = normals + 0.999 * np.stack([wide * np.cos(around), wide * np.sin(around), height], axis=1)
        total += cast.open(starts, direction / row_norms(direction)[:, None])
    return total / rays


def _sunlit(each: Part, cast: Caster, sun: Floats, side: Floats, rays: int) -> Floats:
    """Return the share of the sun's disc seen from each vertex: (N,)."""
    count = len(each.vertices)
    helper = np.array([1.0, 0.0, 0.0]) if abs(sun[0]) < 0.9 else np.array([0.0, 1.0, 0.0])
    across = np.cross(sun, helper)
    across /= np.linalg.norm(across)
    aside = np.cross(sun, across)
    starts = each.vertices + (side[:, None] * each.normals) * _CLEAR
    total = np.zeros(count)
    for number in range(rays):
        place = np.arange(count) * rays + number
        wide, around = _DISC * np.sqrt((place * _STEP[0]) % 1.0), 2.0 * np.pi * ((place * _STEP[1]) % 1.0)
        direction = sun + wide[:, None] * (np.cos(around)[:, None] * across + np.sin(around)[:, None] * aside)
        total += cast.open(starts, direction)
    return total / rays
