"""Light that reaches a surface, against closed forms."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from armature.pictures.dusk import dimmed
from armature.pictures.light import baked
from armature.pictures.parts import Finish, Part, grid_faces, part
from armature.tree import Floats

_UP = np.array([0.0, 0.0, 1.0])
_MATT = Finish(1.0, 0.0)
Bake = Callable[[list[Part], list[Part], Floats], list[Part]]


def _spot(place: list[float], normal: Floats = _UP) -> Part:
    return part("spot", np.array([place], float), normal[None], np.zeros((0, 3), int), np.ones(3), _MATT)


def _plate(half: float, height: float) -> Part:
    """Return a level square of faces of some twenty millimetres a side: sheets of a tree are small, too."""
    line = np.linspace(-half, half, max(int(half / 10.0), 2))
    x, y = (each.ravel() for each in np.meshgrid(line, line, indexing="ij"))
    corners = np.stack([x, y, np.full(len(x), height)], axis=1)
    return part("plate", corners, np.tile(_UP, (len(x), 1)), grid_faces(len(line), len(line)), np.ones(3), _MATT)


def _cast(parts: list[Part], blockers: list[Part], sun: Floats) -> list[Part]:
    return baked(parts, blockers, sun, rays=2000)


def test_an_open_place_sees_the_whole_sky_and_the_whole_sun() -> None:
    lit = _cast([_spot([5000.0, 0.0, 0.0])], [_plate(10.0, 10.0)], _UP)[0].light[0]
    np.testing.assert_allclose(lit, [1.0, 1.0, 1.0])


@pytest.mark.parametrize("height", [300.0, 1000.0, 3000.0])
def test_a_square_roof_hides_the_share_of_the_sky_that_its_view_factor_says(height: float) -> None:
    # View factor from a small level element to a parallel square of side 2a centred above it at c: four times that of a
    # corner, F = 1/(2 pi) [x/sqrt(1+x2) atan(y/sqrt(1+x2)) + y/sqrt(1+y2) atan(x/sqrt(1+y2))], x = y = a/c
    # (Howell, A Catalog of Radiation Configuration Factors, B-3, from memory).
    x = 1000.0 / height
    hidden = 4.0 / (2.0 * np.pi) * 2.0 * x / np.sqrt(1 + x * x) * np.arctan(x / np.sqrt(1 + x * x))
    lit = _cast([_spot([0.0, 0.0, 0.0])], [_plate(1000.0, height)], _UP)[0].light[0]
    # 2,000 rays of an even sequence: within a hundredth.
    assert lit[0] == pytest.approx(1.0 - hidden, abs=0.01)
    assert lit[2] == 0.0


@pytest.mark.parametrize("bake", [_cast, dimmed])
def test_what_stands_toward_the_sun_shades_and_what_stands_behind_does_not(bake: Bake) -> None:
    above, below = (bake([_spot([0.0, 0.0, 0.0])], [_plate(500.0, z)], _UP)[0].light[0] for z in (400.0, -400.0))
    # The quick light treats sheet as a cloud of its area: exp(-1/2) for one face that counts half, give or take a face.
    assert above[2] <= np.exp(-0.5) + 0.08
    assert below[2] == pytest.approx(1.0)
    assert above[0] < below[0]


def test_the_same_parts_get_the_same_light_to_the_last_bit() -> None:
    first, second = (_cast([_spot([300.0, 0.0, 0.0])], [_plate(400.0, 300.0)], _UP)[0].light for _ in range(2))
    assert (first == second).all()


def test_a_lamp_lights_with_the_square_of_the_distance_and_what_stands_between_takes_it() -> None:
    """A face straight above a lamp on the axis, 2 and 4 m off: (1.5 / 2)^2 and (1.5 / 4)^2, by hand."""
    lamp = np.array([[0.0, 0.0, 100.0]])
    down = np.array([0.0, 0.0, -1.0])
    spots = [_spot([0.0, 0.0, 100.0 + away], down) for away in (2000.0, 4000.0)]
    near, far = (each.light[0, 2] for each in baked(spots, [_plate(10.0, 9000.0)], _UP, 16, lamp))
    assert near == pytest.approx(0.5625, abs=1e-6)
    assert far == pytest.approx(0.140625, abs=1e-6)
    shaded = baked(spots, [_plate(200.0, 1000.0)], _UP, 16, lamp)
    assert [each.light[0, 2] for each in shaded] == [0.0, 0.0]
    aside = baked([_spot([9000.0, 0.0, 600.0], np.array([-1.0, 0.0, 0.0]))], [_plate(10.0, 9000.0)], _UP, 16, lamp)
    assert aside[0].light[0, 2] == 0.0, "its light goes up"
