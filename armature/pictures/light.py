"""How much sky and sun reach every vertex, found by casting rays; the same light serves every picture of a scene.

Size letters: N vertices, K rays a vertex.
"""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from armature.pictures.parts import Part
from armature.tree import Floats, Ints

# Additive recurrence with the plastic number: points that cover a square evenly in any number
# (Roberts, "The unreasonable effectiveness of quasirandom sequences", 2018).
STEP = (0.7548776662466927, 0.5698402909980532)
# Half the angle that the sun fills, drawn four times as wide: a hazy sky softens edges.
DISC = np.radians(4 * 0.2665)
CLEAR = 1.2
# Points of a leaf from which the sky is looked at.
_A_LEAF = 6
# How far off a lamp's light is 1, mm, and what is taken for no light.
_LAMP, _DARK = 1500.0, 1e-3
Rays = NDArray[np.float32]


def baked(
    parts: list[Part], blockers: list[Part], sun: Floats, rays: int = 16, lamps: Floats | None = None
) -> list[Part]:
    """Return the parts with the light that the blockers leave them.

    sun: (3,) unit direction toward the sun. rays: cast toward the sky from each vertex; a quarter of it toward the sun.
    lamps: places (K, 3) mm of lamps that shine in the sun's stead.
    """
    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        cast = Caster([each for each in blockers if len(each.faces)], pool)
        lit = [_lit(each, cast, np.asarray(sun, dtype=np.float64), rays) for each in parts]
        if lamps is None:
            return lit
        return [each.lit(np.column_stack([each.light[:, :2], _lamplit(each, cast, lamps)])) for each in lit]


def _lit(each: Part, cast: Caster, sun: Floats, rays: int) -> Part:
    if each.name == "ground":
        return replace(each, light=_ground_light(each, cast, sun, rays))
    sampled, at = _samples(each)
    front = _sky(sampled, cast, 1.0, rays)
    back = _sky(sampled, cast, -1.0, rays) if each.finish.both_sides else np.ones(len(front))
    front, back = _averaged(front, sampled.keys, at), _averaged(back, sampled.keys, at)
    toward = np.where(each.normals @ sun >= 0.0, 1.0, -1.0) if each.finish.both_sides else np.ones(len(front))
    return replace(each, light=np.stack([front, back, _sunlit(each, cast, sun, toward, max(rays // 4, 2))], axis=1))


def _samples(each: Part) -> tuple[Part, Ints | None]:
    """Return the part's points from which the sky is looked at, and the key of each vertex where points stand for all
    of a key.

    A leaf or a loop is so small that one share of the sky serves the whole of it; bars and the rest are looked at
    point by point.
    """
    if each.name not in ("leaves", "loops") or len(each.vertices) == 0:
        return each, None
    order = np.argsort(each.keys, kind="stable")
    first = np.searchsorted(each.keys[order], each.keys[order])
    count = np.bincount(each.keys)[each.keys[order]]
    place = np.arange(len(order)) - first
    kept = np.sort(order[place % np.maximum(count // _A_LEAF, 1) == 0])
    return replace(each, vertices=each.vertices[kept], normals=each.normals[kept], keys=each.keys[kept]), each.keys


def _averaged(values: Floats, keys: Ints, at: Ints | None) -> Floats:
    """Return the mean of the values (S,) of each key, for every vertex at (N,); the values themselves where there is
    no `at`.
    """
    if at is None:
        return values
    total = np.bincount(keys, values, minlength=int(at.max()) + 1)
    return np.asarray((total / np.maximum(np.bincount(keys, minlength=len(total)), 1))[at])


def _ground_light(each: Part, cast: Caster, sun: Floats, rays: int) -> Floats:
    """Return the light on the ground's grid; the sky's share has no edges there, so neighbours are averaged."""
    level = np.ones(len(each.vertices))
    side = int(np.sqrt(len(level)))
    sky = _sky(each, cast, 1.0, max(rays // 3, 4)).reshape(side, side)
    for _ in range(3):
        for axis in (0, 1):
            middle = np.pad(sky, [(1, 1) if k == axis else (0, 0) for k in (0, 1)], mode="edge")
            low, high = np.take(middle, range(side), axis), np.take(middle, range(2, side + 2), axis)
            sky = 0.5 * sky + 0.25 * (low + high)
    return np.stack([sky.ravel(), level, _sunlit(each, cast, sun, level, max(rays // 4, 2))], axis=1)


def _lamplit(each: Part, cast: Caster, lamps: Floats) -> Floats:
    """Return the light (N,) that falls on each vertex from the lamps, 1 at most."""
    if each.name == "lamps":
        return np.ones(len(each.vertices))
    total = np.zeros(len(each.vertices))
    for lamp in lamps:
        beam = beam_of(lamp, each.vertices, each.normals, each.finish.both_sides)
        some = np.flatnonzero(beam > _DARK)
        off = (lamp - each.vertices[some]).astype(np.float32)
        side = np.where(np.einsum("ij,ij->i", off, each.normals[some]) >= 0.0, 1.0, -1.0)[:, None]
        starts = (each.vertices[some] + side * each.normals[some] * CLEAR).astype(np.float32)
        total[some] += beam[some] * cast.open(starts, off)
    return np.minimum(total, 1.0)


def beam_of(lamp: Floats, places: Floats, normals: Floats, both_sides: bool) -> Floats:
    """Return the light (N,) that a lamp throws on places (N, 3) with unit normals if nothing stands between: 1 where
    it falls straight on a face 1.5 m off, and less with the square of the distance.

    The lamp is shaded below: it throws its light up and toward the tree's axis, fading from 35 to 65 degrees off.
    """
    off = places - lamp
    away = np.maximum(np.linalg.norm(off, axis=1), 1.0)
    aim = np.array([0.0, 0.0, 1.0]) - 0.25 * lamp / max(float(np.linalg.norm(lamp)), 1.0)
    along = off @ (aim / np.linalg.norm(aim)) / away
    low, high = np.cos(np.radians(65.0)), np.cos(np.radians(35.0))
    share = np.clip((along - low) / (high - low), 0.0, 1.0)
    falls = -np.einsum("ij,ij->i", off, normals) / away
    falls = np.abs(falls) if both_sides else np.maximum(falls, 0.0)
    return np.asarray(np.minimum(share * share * (3.0 - 2.0 * share) * falls * (_LAMP / away) ** 2, 1.0))


class Caster:
    """Casts rays against a fixed set of triangles."""

    def __init__(self, blockers: list[Part], pool: ThreadPoolExecutor) -> None:
        from embreex.mesh_construction import TriangleMesh
        from embreex.rtcore_scene import EmbreeScene

        self.scene = EmbreeScene()
        self.pool = pool
        for each in blockers:
            TriangleMesh(self.scene, np.ascontiguousarray(each.vertices[each.faces], dtype=np.float32))

    def open(self, origins: Rays, directions: Rays) -> NDArray[np.bool_]:
        """Return whether each ray (Q,) leaves freely."""
        parts = np.array_split(np.arange(len(origins)), os.cpu_count() or 1)
        blocked = self.pool.map(lambda at: self.scene.run(origins[at], directions[at], query="OCCLUDED") != 0, parts)
        return np.concatenate(list(blocked))


def _sky(each: Part, cast: Caster, side: float, rays: int) -> Floats:
    """Return the cosine-weighted share of rays from each vertex that leave freely: (N,)."""
    normals = (side * each.normals).astype(np.float32)
    starts = (each.vertices + side * each.normals * CLEAR).astype(np.float32)
    total = np.zeros(len(normals))
    for number in range(rays):
        # All directions at once would take more memory than the scene.
        total += cast.open(starts, normals + _ball(number * len(normals), len(normals)))
    return total / rays


def _ball(first: int, count: int) -> Rays:
    """Return directions, from the first one wanted on, that cover the sphere evenly: (count, 3); a normal plus one of
    them falls off with the cosine.
    """
    place = first + np.arange(count)
    height = (1.0 - 2.0 * ((place * STEP[0]) % 1.0)).astype(np.float32)
    around = (2.0 * np.pi * ((place * STEP[1]) % 1.0)).astype(np.float32)
    wide = np.sqrt(1.0 - height**2) * np.float32(0.999)
    return np.stack([wide * np.cos(around), wide * np.sin(around), height * np.float32(0.999)], axis=1)


def _sunlit(each: Part, cast: Caster, sun: Floats, side: Floats, rays: int) -> Floats:
    """Return the share of the sun's disc seen from each vertex: (N,)."""
    count = len(each.vertices)
    helper = np.array([1.0, 0.0, 0.0]) if abs(sun[0]) < 0.9 else np.array([0.0, 1.0, 0.0])
    across = np.cross(sun, helper)
    across /= np.linalg.norm(across)
    aside = np.cross(sun, across)
    starts = (each.vertices + (side[:, None] * each.normals) * CLEAR).astype(np.float32)
    total = np.zeros(count)
    for number in range(rays):
        place = np.arange(count) + number * count
        wide = DISC * np.sqrt((place * STEP[0]) % 1.0)[:, None]
        around = 2.0 * np.pi * ((place * STEP[1]) % 1.0)[:, None]
        total += cast.open(starts, (sun + wide * (np.cos(around) * across + np.sin(around) * aside)).astype(np.float32))
    return total / rays
