"""Light per pixel: shadows where geometry puts them, and against the same picture from many more rays."""

from __future__ import annotations

import numpy as np
import pytest

from armature.pictures import fine
from armature.pictures.cameras import Camera, fitted, projected, toward
from armature.pictures.fine import FineStage
from armature.pictures.rays import RayStage
from armature.pictures.scene import Scene, staged
from tests.pictures.scenes import small
from tests.trees import post

SIZE = (160, 200)


@pytest.fixture(scope="module")
def scene() -> Scene:
    return staged(small()[1], rays=16)


def _front(scene: Scene) -> Camera:
    return fitted(scene.subject, toward(-90.0, 4.0), SIZE)


def _drawn(stage: RayStage, camera: Camera) -> np.ndarray:
    seen = stage.draw(camera).astype(int)
    stage.close()
    return seen


def test_it_looks_as_it_does_from_many_more_rays(scene: Scene, monkeypatch: pytest.MonkeyPatch) -> None:
    seen = _drawn(FineStage(scene, SIZE), _front(scene))
    monkeypatch.setattr(fine, "_MIDDLE", (256, 64))
    monkeypatch.setattr(fine, "_AGAIN", (64, 16))
    slow = _drawn(FineStage(scene, SIZE), _front(scene))
    apart = np.abs(seen - slow).max(axis=2)
    # A byte of grain each, and the noise of few rays where light is broken up.
    assert np.median(apart) <= 2
    assert apart.mean() < 4.0
    assert (apart > 40).mean() < 0.01


def test_draft_and_fine_look_like_one_place(scene: Scene) -> None:
    camera = _front(scene)
    one, other = _drawn(FineStage(scene, SIZE), camera), _drawn(RayStage(scene, SIZE), camera)
    assert np.abs(one.mean(axis=(0, 1)) - other.mean(axis=(0, 1))).max() < 4.0
    assert np.median(np.abs(one - other)) <= 3


def test_the_shadow_of_a_post_falls_where_the_sun_says() -> None:
    height = 2000.0
    scene = staged(post(height=height, diameter=80.0), leaves=False, rays=0, scale_figure=False)
    camera = Camera(np.array([0.0, -1.0, 9000.0]), np.zeros(3), np.array([0.0, 1.0, 0.0]), 50.0)
    seen = _drawn(FineStage(scene, (300, 300)), camera).mean(axis=2)
    sun = scene.sky.sun
    # By similar triangles the point at height z throws its shadow z / tan(elevation) away from the sun.
    for share in (0.4, 0.7, 0.9):
        at = -sun[:2] / sun[2] * share * height
        aside = np.array([sun[1], -sun[0]]) / np.hypot(*sun[:2]) * 400.0
        spots = projected(camera, np.array([[*at, 0.0], [*(at + aside), 0.0], [*(at - aside), 0.0]]), (300, 300))
        column, row = spots[0].astype(int)
        dark = seen[row - 1 : row + 2, column - 1 : column + 2].min()
        lit = [seen[int(y), int(x)] for x, y in spots[1:]]
        assert dark < 0.85 * min(lit)
    beyond = projected(camera, np.array([[*(-sun[:2] / sun[2] * 1.15 * height), 0.0]]), (300, 300))[0].astype(int)
    assert seen[beyond[1], beyond[0]] > 0.95 * min(lit)
