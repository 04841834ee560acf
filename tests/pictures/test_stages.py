"""Pictures of the scene: what is on them, and that both ways to draw agree."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from armature.edge import CommissionError
from armature.pictures.cameras import Camera, projected, toward
from armature.pictures.probe import RAYS, way, window_class
from armature.pictures.raster import GraphicsStage
from armature.pictures.rays import RayStage
from armature.pictures.scene import Scene, staged
from armature.pictures.stages import Stage, stage
from armature.pictures.viewpoints import camera
from armature.tree import Tree
from tests.pictures.scenes import box, shadow, small

SIZE = (300, 360)
WAYS = [RAYS] + ([] if way() == RAYS else [way()])


def _set_up(scene: Scene, name: str, size: tuple[int, int] = SIZE) -> Stage:
    return RayStage(scene, size) if name == RAYS else GraphicsStage(scene, size, window_class(name))


@pytest.fixture(scope="module")
def tree() -> Tree:
    return small()[1]


@pytest.fixture(scope="module")
def scene(tree: Tree) -> Scene:
    return staged(tree, rays=8, paved=True)


@pytest.fixture(params=WAYS)
def drawn(request: pytest.FixtureRequest, scene: Scene, tree: Tree) -> Iterator[tuple[Stage, Camera]]:
    made = _set_up(scene, request.param)
    yield made, camera(scene, tree, "front", SIZE)
    made.close()


@pytest.mark.parametrize("name", WAYS)
@pytest.mark.parametrize("view", ["front", "side", "quarter", "visitor"])
def test_the_silhouette_is_that_of_the_trees_own_projection(tree: Tree, name: str, view: str) -> None:
    bars = staged(tree, leaves=False, rays=2).without("ground", "plate", "figure")
    size = (600, 720)
    made, at = _set_up(bars, name, size), camera(bars, tree, view, size)
    seen = made.draw(at, clear=True)[..., 3] > 0
    made.close()
    expected = shadow(tree, at, size)
    # The trunk spreads at its foot by 0.35 of its radius, toward the eye too.
    spread = 0.35 * float(tree.start_diameters[0]) / 2.0 * toward(-66.0, 0.0)
    foot = projected(at, np.stack([tree.starts[0], tree.starts[0] + spread]), size)
    assert np.abs(box(seen) - box(expected)).max() <= 3 + np.ceil(np.abs(np.diff(foot, axis=0)).max())
    # The trunk spreads at its foot, and a stroke ends square: a few pixels each.
    assert (seen & ~_grown(expected, 4)).sum() == 0
    assert (expected & ~_grown(seen, 3)).sum() == 0


def _grown(mask: np.ndarray, by: int) -> np.ndarray:
    found = mask.copy()
    for _ in range(by):
        padded = np.pad(found, 1)
        found = padded[1:-1, 1:-1] | padded[:-2, 1:-1] | padded[2:, 1:-1] | padded[1:-1, :-2] | padded[1:-1, 2:]
    return found


def test_a_front_picture_shows_tree_copper_sky_and_ground(drawn: tuple[Stage, Camera]) -> None:
    seen = drawn[0].draw(drawn[1]).astype(int)
    red, green, blue = seen[..., 0], seen[..., 1], seen[..., 2]
    copper = (red > green + 25) & (green > blue)
    steel = seen.max(axis=2) < 75
    assert 0.01 < copper.mean() < 0.4
    assert 0.01 < steel.mean() < 0.3
    # Sky at the top is bluer than the ground at the bottom, and neither is black, white or a single colour.
    assert (blue - red)[:12].mean() > (blue - red)[-12:].mean() + 5
    assert seen[:12].mean() > 120
    assert 60 < seen[-12:].mean() < 245


def test_nothing_is_cut_off_and_a_see_through_background_is_empty_around_the_tree(
    scene: Scene, tree: Tree, drawn: tuple[Stage, Camera]
) -> None:
    name = RAYS if isinstance(drawn[0], RayStage) else way()
    made = _set_up(scene.without("ground"), name)
    seen = made.draw(drawn[1], clear=True)
    made.close()
    assert seen.shape == (*SIZE[::-1], 4)
    rim = np.concatenate(
        [seen[:4, :, 3].ravel(), seen[-4:, :, 3].ravel(), seen[:, :4, 3].ravel(), seen[:, -4:, 3].ravel()]
    )
    assert (rim == 0).all()
    assert 0.04 < (seen[..., 3] > 0).mean() < 0.7


@pytest.fixture(scope="module")
def both(scene: Scene) -> Iterator[list[Stage]]:
    stages = [_set_up(scene, name) for name in WAYS]
    yield stages
    for each in stages:
        each.close()


@pytest.mark.skipif(len(WAYS) == 1, reason="only one way to draw on this machine")
@pytest.mark.parametrize("view", ["front", "quarter", "above", "crotch", "twig"])
def test_both_ways_draw_the_same_picture(scene: Scene, tree: Tree, both: list[Stage], view: str) -> None:
    pictures = [each.draw(camera(scene, tree, view, SIZE)).astype(int) for each in both]
    apart = np.abs(pictures[0] - pictures[1]).max(axis=2)
    # Edges fall on other sub-pixels; surfaces agree.
    assert np.median(apart) <= 1
    assert (apart > 60).mean() < 0.03


def test_the_ground_is_darker_where_the_tree_shades_it(scene: Scene) -> None:
    ground = next(each for each in scene.parts if each.name == "ground")
    near = np.hypot(ground.vertices[:, 0], ground.vertices[:, 1]) < 3000.0
    assert ground.light[near, 2].min() < 0.2
    assert ground.light[~near, 2].mean() > 0.9
    # The shadow falls away from the sun.
    dark = ground.vertices[ground.light[:, 2] < 0.5]
    assert dark.mean(axis=0)[:2] @ scene.sky.sun[:2] < 0.0


@pytest.mark.parametrize("size", [(0, 300), (300, -1), (100_000, 100_000), (15, 300)])
def test_a_size_that_cannot_be_is_refused_in_one_line(scene: Scene, size: tuple[int, int]) -> None:
    with pytest.raises(CommissionError, match=r"pictures\.size: each side must be from 16 to 8192 px"):
        stage(scene, size)


def test_a_view_that_is_not_there_is_refused(scene: Scene, tree: Tree) -> None:
    with pytest.raises(CommissionError, match="must be one of front"):
        camera(scene, tree, "inside", SIZE)
