"""Fine pictures: how much of sky and sun is seen is found by rays for every pixel, not for every corner of a mesh.

Size letters: Q rays, H x W pixels, K rays a pixel.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from armature.pictures.cameras import Camera
from armature.pictures.light import CLEAR, STEP, beam_of
from armature.pictures.rays import CHUNK, RayStage, Singles, traced
from armature.pictures.scene import Scene
from armature.pictures.shade import backdrop, shaded, shown
from armature.tree import Floats, Ints

# Rays toward the sky and toward the sun: for a pixel's middle, and for each of the places of one drawn again.
_MIDDLE, _AGAIN = (16, 4), (2, 2)
# Directions kept ready; half the angle that the sun fills in the sky, in a little haze.
_PATTERN, _SUN = 4096, np.radians(2 * 0.2665)
# Pixels whose sky is averaged stand on a square of this side, on one surface: normals this alike, and in one plane to
# this share of their distance from the eye.
_SQUARE, _ALIKE, _PLANE = 4, 0.9, 0.004


@dataclass(frozen=True, eq=False)
class _Hits:
    """What Q rays meet: the number of the part, -1 for the sky, and there place, normal toward the eye, colour, the
    direction of the ray, (Q, 3) each, the share of the sky and of the sun that is seen, (Q,)."""

    parts: NDArray[np.integer]
    places: Singles
    normals: Singles
    colours: Singles
    directions: Singles
    sky: Singles
    sun: Singles


class FineStage(RayStage):
    """A scene set up once, to be drawn from any number of cameras with light found for every pixel."""

    def __init__(self, scene: Scene, size: tuple[int, int], fineness: int = 3) -> None:
        super().__init__(scene, size, fineness)
        # The ground hides no light: what it throws back reaches a surface as the sky's light does.
        # Nor do lamps, whose light would else be shut in.
        self.blocking = traced(scene.without("ground", "lamps").parts)
        self.disc = _disc(scene.sky.sun)

    def close(self) -> None:
        """Give the triangles back."""
        super().close()
        del self.blocking

    def _middle(self, camera: Camera, columns: Ints, rows: Ints) -> Singles:
        wide, high = self.size
        pieces = [slice(start, start + CHUNK) for start in range(0, len(columns), CHUNK)]
        hits = list(self.pool.map(lambda at: self._met(camera, columns[at] + 0.5, rows[at] + 0.5, *_MIDDLE), pieces))
        whole = _Hits(*(np.concatenate([getattr(each, name) for each in hits]) for name in _Hits.__annotations__))
        del hits
        sky = _smoothed(whole, whole.sky, camera, (high, wide))
        edge = (whole.sun > 0.0) & (whole.sun < 1.0)
        whole.sun[edge] = _smoothed(whole, whole.sun, camera, (high, wide))[edge]
        return np.concatenate(list(self.pool.map(lambda at: self._coloured(_taken(whole, at), sky[at]), pieces)))

    def _cast(self, camera: Camera, x: Singles, y: Singles) -> Singles:
        hits = self._met(camera, x, y, *_AGAIN)
        return self._coloured(hits, hits.sky)

    def _met(self, camera: Camera, x: Singles, y: Singles, to_sky: int, to_sun: int) -> _Hits:
        directions, hits = self._hits(camera, x, y)
        parts = np.where(hits["primID"] < 0, -1, hits["geomID"]).astype(np.int8)
        blank = np.zeros((len(x), 3), dtype=np.float32)
        places, normals, colours = blank, blank.copy(), blank.copy()
        for number, each in enumerate(self.parts):
            rows = np.flatnonzero(parts == number)
            if len(rows):
                mixed = self._mixed(each, *(hits[key][rows] for key in ("primID", "u", "v")))
                places[rows], normals[rows], colours[rows] = mixed[:, :3], mixed[:, 3:6], mixed[:, 6:9]
        normals /= np.maximum(np.sqrt(np.einsum("ij,ij->i", normals, normals)), 1e-12)[:, None]
        away = np.einsum("ij,ij->i", normals, directions) > 0.0
        normals[away] *= np.float32(-1.0)
        met = np.flatnonzero(parts >= 0)
        own = _own(x[met], y[met])
        sky, sun = np.zeros(len(x), dtype=np.float32), np.zeros(len(x), dtype=np.float32)
        starts = places[met] + normals[met] * np.float32(CLEAR)
        sky[met] = self._sky_seen(starts, normals[met], own, to_sky)
        lamps = self.scene.sky.lamps
        if lamps is None:
            sun[met] = self._sun_seen(starts, own, to_sun)
        else:
            both = np.array([each.part.finish.both_sides for each in self.parts])[parts[met]]
            sun[met] = self._lamps_seen(lamps, starts, normals[met], both)
            sun[np.isin(parts, [k for k, each in enumerate(self.parts) if each.part.name == "lamps"])] = 1.0
        return _Hits(parts, places, normals, colours, directions, sky, sun)

    def _sky_seen(self, starts: Singles, normals: Singles, own: Ints, rays: int) -> Singles:
        """Return the cosine-weighted share (Q,) of rays that meet nothing of the tree."""
        total = np.zeros(len(starts), dtype=np.float32)
        for number in range(rays):
            total += self._free(starts, normals + _BALL[(own * rays + number) % len(_BALL)])
        return total / np.float32(rays)

    def _sun_seen(self, starts: Singles, own: Ints, rays: int) -> Singles:
        """Return the share (Q,) of the sun's disc that is seen."""
        total = np.zeros(len(starts), dtype=np.float32)
        for number in range(rays):
            total += self._free(starts, self.disc[(own * rays + number) % len(self.disc)])
        return total / np.float32(rays)

    def _lamps_seen(self, lamps: Floats, starts: Singles, normals: Singles, both: NDArray[np.bool_]) -> Singles:
        """Return the light (Q,) that falls from the lamps."""
        total = np.zeros(len(starts), dtype=np.float32)
        places, outward = starts.astype(np.float64), normals.astype(np.float64)
        for lamp in lamps:
            beam = np.where(both, *(beam_of(lamp, places, outward, sides) for sides in (True, False)))
            total += (beam * self._free(starts, (lamp - starts).astype(np.float32))).astype(np.float32)
        return np.minimum(total, np.float32(1.0))

    def _free(self, starts: Singles, directions: Singles) -> Singles:
        return np.asarray(self.blocking.run(starts, directions, query="OCCLUDED") != 0, dtype=np.float32)

    def _coloured(self, hits: _Hits, sky: Singles) -> Singles:
        linear = np.empty((len(sky), 3), dtype=np.float32)
        missed = hits.parts < 0
        linear[missed] = backdrop(self.scene.sky, hits.directions[missed, 2])
        for number, each in enumerate(self.parts):
            rows = np.flatnonzero(hits.parts == number)
            if len(rows):
                light = np.stack([sky[rows], sky[rows], hits.sun[rows]], axis=1)
                base = self._based(each, hits.places[rows], hits.colours[rows])
                seen = (base, hits.normals[rows], -hits.directions[rows], light)
                colours = shaded(self.scene.sky, *seen, each.part.finish)
                linear[rows] = self._melted(each, hits.places[rows], colours)
        return np.column_stack([shown(self.scene.sky, linear), ~missed]).astype(np.float32)


def _own(x: Singles, y: Singles) -> Ints:
    """Return a number (Q,) for places in the picture, so that none looks the same way as those beside it."""
    column, row = np.floor(3.0 * x).astype(np.int64), np.floor(3.0 * y).astype(np.int64)
    # Three places to a pixel and side: a pixel's middle and its corners have numbers of their own too.
    return np.asarray((column // 3 % _SQUARE) * _SQUARE + row // 3 % _SQUARE + 16 * (column % 3 * 3 + row % 3))


def _spread(count: int) -> tuple[Singles, Singles]:
    """Return `count` points that cover a square evenly, x and y apart."""
    place = np.arange(count)
    return (place * STEP[0]) % 1.0, (place * STEP[1]) % 1.0


def _ball() -> Singles:
    """Return directions that cover the ball evenly; a normal plus one of them falls off with the cosine."""
    high, turn = _spread(_PATTERN)
    height = (1.0 - 2.0 * high) * 0.999
    around, wide = 2.0 * np.pi * turn, np.sqrt(1.0 - height**2)
    return np.stack([wide * np.cos(around), wide * np.sin(around), height], axis=1).astype(np.float32)


_BALL = _ball()


def _disc(sun: Floats) -> Singles:
    """Return directions that cover the sun's disc evenly."""
    helper = np.array([1.0, 0.0, 0.0]) if abs(sun[0]) < 0.9 else np.array([0.0, 1.0, 0.0])
    across = np.cross(sun, helper)
    across /= np.linalg.norm(across)
    out, turn = _spread(_PATTERN)
    wide, around = (_SUN * np.sqrt(out))[:, None], (2.0 * np.pi * turn)[:, None]
    aside = np.cos(around) * across + np.sin(around) * np.cross(sun, across)
    return np.asarray(sun + wide * aside, dtype=np.float32)


def _taken(hits: _Hits, at: slice) -> _Hits:
    return _Hits(*(getattr(hits, name)[at] for name in _Hits.__annotations__))


def _smoothed(hits: _Hits, shares: Singles, camera: Camera, shape: tuple[int, int]) -> Singles:
    """Return shares of light (Q,) as the mean over a square of pixels, of those on the same surface.

    Each pixel of such a square casts rays of its own, so that together they see more than any of them.
    """
    high, wide = shape
    parts, sky = hits.parts.reshape(shape), shares.reshape(shape)
    places, normals = hits.places.reshape(high, wide, 3), hits.normals.reshape(high, wide, 3)
    away = np.sqrt(((places - camera.eye.astype(np.float32)) ** 2).sum(axis=2)) * np.float32(_PLANE)
    total, count = sky.copy(), np.ones(shape, dtype=np.float32)
    low = -(_SQUARE // 2 - 1)
    for down in range(low, low + _SQUARE):
        for right in range(low, low + _SQUARE):
            if (down, right) == (0, 0):
                continue
            here, there = _shifted(high, down), _shifted(wide, right)
            a, b = (here[0], there[0]), (here[1], there[1])
            flat = np.abs(np.einsum("ijk,ijk->ij", normals[a], places[b] - places[a])) < away[a]
            alike = np.einsum("ijk,ijk->ij", normals[a], normals[b]) > _ALIKE
            same = (parts[a] == parts[b]) & flat & alike
            total[a] += np.where(same, sky[b], 0.0)
            count[a] += same
    return np.asarray((total / count).ravel())


def _shifted(length: int, by: int) -> tuple[slice, slice]:
    """Return the places that have a neighbour `by` further on, and those neighbours."""
    return (slice(max(-by, 0), length - max(by, 0)), slice(max(by, 0), length - max(-by, 0)))
