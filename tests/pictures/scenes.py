"""Small commissions, trees and projections of their own for the tests of pictures."""

from __future__ import annotations

from functools import cache

import numpy as np
from PIL import Image, ImageDraw

from armature.commission import Commission, read
from armature.grow import grow
from armature.pictures.cameras import Camera
from armature.tree import Tree, sampled

SMALL = """
title = "Test alder"
seed = 7
[canopy]
height = "2.4 m"
[growth]
limbs = 3
branches = 9
twigs = 40
[pictures]
width = 240
height = 300
turntable = 6
turntable_side = 96
"""


@cache
def small() -> tuple[Commission, Tree]:
    """Return a commission of an invented small tree, and that tree."""
    commission = read(SMALL)
    return commission, grow(commission)


def shadow(tree: Tree, camera: Camera, size: tuple[int, int]) -> np.ndarray:
    """Return which pixels (H, W) the bars touch, by a pinhole projection of our own, in thick strokes.

    Independent of the camera's matrices: angles from eye to point, compared with the angle of the field of view.
    """
    grown = 4
    image = Image.new("1", (size[0] * grown, size[1] * grown))
    draw = ImageDraw.Draw(image)
    run = sampled(tree.chains, chord_error=1.0, step=30.0)
    owner = np.repeat(np.arange(len(tree)), np.diff(run.offsets))
    look = camera.target - camera.eye
    look = look / np.linalg.norm(look)
    right = np.cross(look, camera.up)
    right = right / np.linalg.norm(right)
    above = np.cross(right, look)
    away = (run.points - camera.eye) @ look
    focal = 0.5 * size[1] * grown / np.tan(np.radians(camera.field / 2.0))
    x = 0.5 * size[0] * grown + focal * ((run.points - camera.eye) @ right) / away
    y = 0.5 * size[1] * grown - focal * ((run.points - camera.eye) @ above) / away
    wide = tree.diameters_at(owner, run.stations) / away * focal
    for row in range(len(tree)):
        for k in range(run.offsets[row], run.offsets[row + 1] - 1):
            draw.line([(x[k], y[k]), (x[k + 1], y[k + 1])], fill=1, width=max(round(wide[k]), 1))
    touched: np.ndarray = np.asarray(np.asarray(image).reshape(size[1], grown, size[0], grown).any(axis=(1, 3)))
    return touched


def box(mask: np.ndarray) -> np.ndarray:
    """Return first and last row and column that a mask touches."""
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    return np.array([rows[0], rows[-1], columns[0], columns[-1]])
