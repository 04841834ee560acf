"""What shaping does to a leaf, against circles and arcs worked out by hand."""

from dataclasses import replace

import numpy as np
import pytest

from armature.leaves.naming.stamp_areas import Panel
from armature.leaves.shaping import TRUE, shaped, shaping_words
from tests.leaves.designs import family

LEAF = family()[0]
WIDE, LONG = float(LEAF.blade[1]), float(LEAF.length)


def test_a_hollow_is_as_deep_as_asked_and_the_former_of_its_radius_fits_its_middle() -> None:
    """The circle through three points of the section near its middle, R = (x^2 + y^2) / 2y, is the former's."""
    found = shaped(LEAF, 0.1, 0.0, None)
    assert np.ptp(found.section[:, 1]) == pytest.approx(0.1 * WIDE)
    assert np.ptp(found.section[:, 0]) == pytest.approx(WIDE)
    x, y = found.section[31]
    assert found.radius == pytest.approx((x**2 + y**2) / (2 * y), rel=2e-3)


def test_a_leaf_curled_through_a_right_angle_hangs_as_a_quarter_circle() -> None:
    """Length L is a quarter of a circle of radius 2 L / pi: so far it drops, and so far it comes forward."""
    found = shaped(LEAF, 0.0, 90.0, None)
    radius = 2 * LONG / np.pi
    assert found.profile[-1] == pytest.approx([radius, radius])
    assert found.shorter == pytest.approx(LONG - radius)
    assert found.deep == pytest.approx(radius)
    steps = np.sqrt((np.diff(found.profile, axis=0) ** 2).sum(axis=1))
    assert steps.sum() == pytest.approx(LONG, rel=1e-3)


def test_a_flat_leaf_stays_flat() -> None:
    found = shaped(LEAF, 0.0, 0.0, Panel(0.0, -30.0, 20.0, 5.0, 0.0))
    assert (found.deep, found.shorter, found.letters) == (0.0, 0.0, 0.0)
    assert np.isinf(found.radius)
    assert found.letters_first


def test_letters_bend_by_the_sagitta_of_their_line() -> None:
    """A line of 20 mm across a hollow of radius R: R - sqrt(R^2 - 10^2), the chord's height (Euclid III)."""
    found = shaped(LEAF, 0.12, 0.0, Panel(0.0, -30.0, 20.0, 5.0, 0.0))
    assert found.letters == pytest.approx(found.radius - np.sqrt(found.radius**2 - 100.0), rel=0.05)
    upright = shaped(LEAF, 0.12, 0.0, Panel(0.0, -30.0, 20.0, 5.0, 90.0))
    assert upright.letters == pytest.approx(0.0, abs=1e-9)


def test_a_deep_hollow_asks_for_letters_after_it() -> None:
    panel = Panel(0.0, -30.0, 0.6 * WIDE, 5.0, 0.0)
    shallow, deep = (shaped(LEAF, dish, 0.0, panel) for dish in (0.01, 0.3))
    assert shallow.letters_first
    assert not deep.letters_first
    assert shallow.letters < TRUE < deep.letters


def test_a_leaf_twice_as_large_bends_letters_of_the_same_length_half_as_much() -> None:
    panel = Panel(0.0, -30.0, 20.0, 5.0, 0.0)
    small = shaped(LEAF, 0.12, 0.0, panel)
    outline = replace(LEAF.outline, points=2 * LEAF.outline.points)
    large = shaped(replace(LEAF, outline=outline, blade=(2 * LEAF.blade[0], 2 * WIDE)), 0.12, 0.0, panel)
    assert large.letters == pytest.approx(small.letters / 2)


@pytest.mark.parametrize("metal", ["copper", "bronze", "brass", "steel", "weathering steel", "stainless steel"])
def test_each_metal_has_its_anneal_and_finishes(metal: str) -> None:
    anneal, again, finishes = shaping_words(metal)
    assert anneal
    assert again
    assert all(words.endswith(".") for words in finishes)
    assert finishes
