"""The tree turning once about its trunk, as a film that closes on itself."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path

import numpy as np

from armature.edge import CommissionError
from armature.pictures.cameras import Camera, fitted, toward
from armature.pictures.film import filmed
from armature.pictures.scene import Scene
from armature.pictures.stages import checked, stage
from armature.pictures.stills import Picture
from armature.tree import Floats

_SECONDS = 8
_GIF_SIDE, _GIF_EVERY = 360, 2
_RISE = 7.0


def turntable(
    scene: Scene,
    path: Path,
    side: int = 720,
    frames: int = 120,
    told: Callable[[float], None] = lambda _share: None,
    gif: bool = False,
) -> list[Path]:
    """Return the paths of the film written to `path` (mp4) and, where asked, of a small gif beside it.

    side: px, made even. frames: pictures in one turn. told: hears the share that is done.
    """
    checked((side, side))
    if not 2 <= frames <= 3600:
        raise CommissionError("pictures.turntable", "must be from 2 to 3600", frames)
    side += side % 2
    small: list[Picture] = []

    def told_each() -> Iterator[Picture]:
        for number, seen in enumerate(turned(scene, side, frames)):
            yield np.ascontiguousarray(seen)
            if gif and number % _GIF_EVERY == 0:
                small.append(seen)
            told((number + 1) / frames)

    filmed(told_each(), path, side, Fraction(frames) / _SECONDS)
    return [path, _gif(small, path.with_suffix(".gif"), frames)] if gif else [path]


def turned(scene: Scene, side: int, frames: int) -> Iterator[Picture]:
    """Yield the pictures (H, W, 3) of one turn; the camera goes round at one distance, so that nothing grows or
    shrinks.
    """
    set_up = stage(scene, (side, side))
    try:
        for camera in cameras(scene, side, frames):
            yield set_up.draw(camera)
    finally:
        set_up.close()


def cameras(scene: Scene, side: int, frames: int) -> list[Camera]:
    """Return the cameras of one turn, which starts at the front."""
    angles = -90.0 + 360.0 * np.arange(frames) / frames
    rounded = _rounded(scene.without("figure").subject)
    first = fitted(rounded, toward(-90.0, _RISE), (side, side))
    away = float(np.linalg.norm(first.eye - first.target))
    middle = np.array([0.0, 0.0, first.target[2]])
    return [Camera(middle + away * toward(float(angle), _RISE), middle, first.up, first.field) for angle in angles]


def _rounded(points: Floats) -> Floats:
    """Return the points that the tree sweeps as it turns: one ring a height."""
    reach = np.hypot(points[:, 0], points[:, 1])
    level = np.linspace(points[:, 2].min(), points[:, 2].max() + 1e-6, 24)
    place = np.clip(np.searchsorted(level, points[:, 2], side="right") - 1, 0, 22)
    widest = np.zeros(23)
    np.maximum.at(widest, place, reach)
    around = np.radians(np.arange(0.0, 360.0, 10.0))
    ring = np.stack([np.cos(around), np.sin(around)], axis=1)
    both = [
        np.column_stack([np.repeat(z, 36)[:, None], w * ring])
        for w, a, b in zip(widest, level, level[1:], strict=False)
        for z in (a, b)
    ]
    return np.concatenate(both)[:, [1, 2, 0]]


def _gif(seen: list[Picture], path: Path, frames: int) -> Path:
    from PIL import Image

    images = [Image.fromarray(each).resize((_GIF_SIDE, _GIF_SIDE), Image.Resampling.BOX) for each in seen]
    palette = images[0].quantize(128)
    flat = [image.quantize(palette=palette, dither=Image.Dither.FLOYDSTEINBERG) for image in images]
    frame_ms = round(1000.0 * _SECONDS * _GIF_EVERY / frames)
    flat[0].save(path, save_all=True, append_images=flat[1:], duration=frame_ms, loop=0, optimize=False)
    return path
