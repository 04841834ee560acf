"""Vortex lock-in against EN 1991-1-4 annex E worked by hand; its values from memory."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from armature.strength.conditions import conditions
from armature.strength.frame import frame
from armature.strength.loads import Foliage, masses
from armature.strength.lock_in import LockIn, correlation_length, cycles, lift, lock_in
from armature.strength.modes import member_modes
from armature.strength.rounds import rounds
from armature.strength.stiffness import stiffness
from armature.strength.weariness import mean_wind
from armature.tree import Tree
from tests.strength.made import american, cantilever, european

NONE = Foliage(np.zeros(0), np.zeros(0))


def sung(tree: Tree, wind: float = 25.0, damping: float = 0.002, years: float = 1.0) -> LockIn:
    """Return the lock-in of a tree in an even wind of so many m/s."""
    cut = frame(tree, parts=32)
    first = member_modes(cut, stiffness(cut, 210e3, 81e3), masses(cut, 7850.0, NONE))
    moduli = np.asarray(rounds(tree.start_diameters).elastic)
    return lock_in(cut, first, moduli, damping, lambda heights: np.full_like(heights, wind), years)


def test_an_even_bar_is_the_standards_cantilever() -> None:
    """20 mm, 600 mm, steel: n = 0.5596 sqrt(EI/m)/L^2 = 40.2 Hz, v = n b / 0.18 = 4.47 m/s, Sc = 124.

    K K_W is the mode's integral over the outer six diameters, over 4 pi times that of its square (E.8, E.9): with the
    beam's own shape 0.0549. Table E.5 with (s / l)^2 has 0.13 x 3 x 0.2 (1 - 0.2 + 0.2^2 / 3) = 0.0634, a seventh more.
    """
    bar = cantilever(600.0, 20.0, 20.0)
    found = sung(bar)
    rate = 3.516 / (2.0 * np.pi) * np.sqrt(210e9 * 0.02**2 / 16.0 / 7850.0) / 0.6**2
    assert rate == pytest.approx(40.2, abs=0.1)
    assert found.speed[0] == pytest.approx(rate * 0.02 / 0.18, rel=1e-2)
    assert found.scruton[0] == pytest.approx(124.0, rel=1e-2)
    s, beta = np.linspace(0.0, 1.0, 1001), 1.875104
    shape = np.cosh(beta * s) - np.cos(beta * s) - 0.734096 * (np.sinh(beta * s) - np.sin(beta * s))
    shape /= shape[-1]
    share = np.trapezoid(shape[800:], s[800:]) / (4.0 * np.pi * np.trapezoid(shape**2, s))
    assert share == pytest.approx(0.0549, abs=1e-4)
    assert found.swing[0] == pytest.approx(
        20.0 * share * 0.7 / (0.18**2 * 124.0), rel=0.03
    )  # the shape is that of its sag
    table = 0.13 * 3.0 * 0.2 * (1.0 - 0.2 + 0.2**2 / 3.0)
    assert 0.8 < found.swing[0] / (20.0 * table * 0.7 / (0.18**2 * 124.0)) < 1.0
    # Root stress E d / 2 x 3.516 / L^2 for each mm at the tip, there and back.
    assert found.ranges[0] == pytest.approx(2.0 * 210e3 * 10.0 * 3.516 / 600.0**2 * found.swing[0], rel=0.03)
    # N = 2 T n 0.3 (v / v0)^2 exp(-(v / v0)^2), v0 = 25 / 5.
    square = (found.speed[0] / 5.0) ** 2
    assert found.cycles[0] == pytest.approx(2 * 3.2e7 * rate * 0.3 * square * np.exp(-square), rel=0.03)


def test_a_solid_steel_bar_hardly_swings() -> None:
    """Sc over 100, as of any solid steel bar: y / b under 1.5 %, a tenth of what a stack of Sc 10 does."""
    for size in (6.0, 12.0, 25.0):
        bar = cantilever(20.0 * size, size, size)
        assert sung(bar, wind=60.0).swing[0] < 0.015 * size
    light = sung(cantilever(400.0, 20.0, 20.0), damping=0.002 * 10.0 / 124.0, wind=60.0)
    assert light.swing[0] > 0.1 * 20.0


def test_a_taper_sheds_at_many_rates_and_so_sings_less() -> None:
    even, drawn = sung(cantilever(400.0, 12.0, 12.0)), sung(cantilever(400.0, 12.0, 5.0))
    assert drawn.swing[0] / 5.0 < even.swing[0] / 12.0
    assert drawn.ranges[0] < 0.5 * even.ranges[0]


def test_a_cell_stays_within_five_per_cent_of_one_size() -> None:
    """12 to 2 mm in 150 mm: from a top of 4 mm down to 4 x 1.05 / 0.95 is 6.3 mm of bar, far under six diameters."""
    from armature.strength.lock_in import _places

    tree = cantilever(150.0, 12.0, 2.0)
    cut = frame(tree, parts=32)
    first = member_modes(cut, stiffness(cut, 210e3, 81e3), masses(cut, 7850.0, NONE))
    places = _places(cut, first)
    within = places.tops - places.uneven
    taper = 10.0 / 150.0
    expected = np.minimum(places.diameters * (1.05 / 0.95 - 1.0) / taper, places.tops)
    np.testing.assert_allclose(within, expected, atol=1e-9)


def test_what_the_annex_lets_go_is_let_go() -> None:
    """E.1.2: no look at bars of six diameters or less, nor where the wind's mean stays under 0.8 of the critical."""
    assert sung(cantilever(100.0, 20.0, 20.0), wind=1e3).ranges[0] == 0.0
    bar = cantilever(600.0, 20.0, 20.0)
    speed = sung(bar).speed[0]
    assert sung(bar, wind=speed / 1.26).ranges[0] == 0.0
    assert sung(bar, wind=speed / 1.26).cycles[0] == 0.0
    assert 0.0 < sung(bar, wind=speed / 1.1).ranges[0] < sung(bar, wind=speed / 0.8).ranges[0]


def test_the_annexs_factors_are_as_tabled() -> None:
    """Tables E.3 and E.4; the lift falls from 0.83 to 1.25, the correlation grows from a tenth to six tenths."""
    assert lift(np.array([0.5, 5.0 / 6.0, 1.0, 1.25, 2.0])).tolist() == pytest.approx([0.7, 0.7, 0.42, 0.0, 0.0])
    assert correlation_length(np.array([0.0, 0.1, 0.6, 2.0])).tolist() == pytest.approx([6.0, 6.0, 12.0, 12.0])
    # One a second at v0: 2 x 3.2e7 x 0.3 / e a year.
    assert float(cycles(np.array(1.0), np.array(5.0), np.array(25.0), 1.0)) == pytest.approx(2 * 3.2e7 * 0.3 / math.e)


def test_heavy_damping_or_a_heavy_crown_lessens_the_swing_in_proportion() -> None:
    bar = cantilever(600.0, 20.0, 20.0)
    assert sung(bar, damping=0.004).swing[0] == pytest.approx(sung(bar).swing[0] / 2.0, rel=1e-9)


def test_both_standards_mean_the_same_wind() -> None:
    """A place of 115 mph in exposure C has a ten-minute mean of some 27 m/s once in 50 years at 10 m.

    51.4 x 0.65 = 33.4 the hour's mean of the mapped wind, x 1.07 x sqrt 0.6 = 27.7; EN: 26 m/s in terrain II, 26.2.
    """
    top = np.array([10_000.0])
    assert mean_wind(conditions(american()), top)[0] == pytest.approx(27.7, abs=0.05)
    assert mean_wind(conditions(european()), top)[0] == pytest.approx(26.2, abs=0.05)


def test_a_twig_locks_in_at_a_breath_of_wind() -> None:
    """f d / St (EN 1991-1-4 eq. E.2): 17.9 Hz and 6.35 mm at 0.18: 0.63 m/s, with E = 200 GPa."""
    found = sung(replace(cantilever(500.0, 6.35, 6.35)))
    assert found.speed[0] == pytest.approx(17.94 * np.sqrt(1.05) * 6.35e-3 / 0.18, rel=1e-2)
    assert found.swing[0] < 0.01 * 6.35
