"""How far a tree reaches, and the plate that it stands on."""

from __future__ import annotations

import numpy as np
import pytest

from armature.metals import base_plate, stock_plate
from armature.tree import extent, tubes
from tests.trees import gallows, random_tree


def test_the_extent_is_that_of_the_skins() -> None:
    assert extent(gallows()).round(6).tolist() == [[-10.0, -10.0, 0.0], [510.0, 10.0, 1000.0]]


def test_the_extent_is_that_of_the_solid() -> None:
    tree = random_tree(30)
    solid = tubes(tree, 48).vertices
    # Facets of equal area stand a little outside and inside of the round; half a millimetre on 60 mm bar.
    np.testing.assert_allclose(extent(tree), [solid.min(axis=0), solid.max(axis=0)], atol=0.6)


@pytest.mark.parametrize(
    ("given", "needed", "side"), [(600.0, (388.0, 31.2), 600.0), (None, (388.0, 31.2), 390.0), (None, None, 510.0)]
)
def test_the_plate_is_what_is_given_else_what_is_needed(
    given: float | None, needed: tuple[float, float] | None, side: float
) -> None:
    assert base_plate(101.6, "mm", given, needed).side_mm == side


def test_a_plate_is_stocked_and_never_thinner_than_needed() -> None:
    for units in ("mm", "inch"):
        for needed in np.linspace(4.0, 140.0, 60):
            assert stock_plate(float(needed), units) >= needed - 1e-6
    assert stock_plate(31.2, "inch") == pytest.approx(31.75)
