"""Natural frequencies against closed forms and an eigenvalue solve of the same elements."""

from __future__ import annotations

import numpy as np
import pytest

from armature.strength.frame import frame
from armature.strength.loads import Foliage, masses
from armature.strength.modes import member_modes, modes
from armature.strength.stiffness import stiffness
from armature.strength.ties import system
from armature.tree import Tree
from tests.strength.made import cantilever, leafy_gallows
from tests.trees import random_tree

NONE = Foliage(np.zeros(0), np.zeros(0))


def lowest(tree: Tree, parts: int, foliage: Foliage = NONE) -> float:
    cut = frame(tree, parts=parts)
    return float(modes(cut, stiffness(cut, 200e3, 77.2e3), masses(cut, 7850.0, foliage)).frequencies[0])


def test_a_uniform_cantilever_rings_as_in_the_book() -> None:
    """1.875104^2 / (2 pi) sqrt(EI / (rho A L^4)), Blevins: the 6.35 mm bar of half a metre: 17.94 Hz."""
    per_metre = np.pi / 4.0 * 6.35e-3**2 * 7850.0
    exact = 1.875104**2 / (2 * np.pi) * np.sqrt(200e9 * np.pi / 64 * 6.35e-3**4 / (per_metre * 0.5**4))
    assert exact == pytest.approx(17.94, abs=5e-3)
    errors = [abs(lowest(cantilever(500.0, 6.35, 6.35), parts) / exact - 1.0) for parts in (8, 16, 32)]
    # Mass lumped at nodes: the error falls with the square of the element.
    assert np.all(np.log2(np.array(errors[:-1]) / np.array(errors[1:])) > 1.8)
    assert errors[-1] < 1e-3


def test_a_weight_on_a_light_stem_rings_as_a_spring() -> None:
    """sqrt(3 E I / m L^3) / 2 pi: 10 kg on a metre of 10 mm bar, whose own 0.62 kg adds 33/140 of itself."""
    tree = cantilever(1000.0, 10.0, 10.0)
    cut = frame(tree, parts=16)
    lumps = masses(cut, 7850.0, NONE)
    moving = 10.0 + 33.0 / 140.0 * lumps.sum()
    lumps[-1] += 10.0
    found = modes(cut, stiffness(cut, 200e3, 77.2e3), lumps).frequencies[0]
    exact = np.sqrt(3 * 200e9 * np.pi / 64 * 0.01**4 / (moving * 1.0**3)) / (2 * np.pi)
    # 33/140 of the bar's mass is Rayleigh's own approximation.
    assert found == pytest.approx(exact, rel=1e-3)


def test_modes_are_those_of_an_eigenvalue_solve() -> None:
    from scipy.sparse import diags_array
    from scipy.sparse.linalg import eigsh

    tree = random_tree(8, 3)
    cut = frame(tree, parts=2)
    stiff = stiffness(cut, 200e3, 77.2e3)
    lumps = masses(cut, 7850.0, Foliage(np.full(len(tree.leaves), 0.02), np.full(len(tree.leaves), 2000.0)))
    found = modes(cut, stiff, lumps)
    free = np.setdiff1d(np.arange(len(cut)), cut.offsets[:-1])
    # A member's start rides on its parent: its lump, too small to matter here, is left out on both sides.
    bare = np.where(np.isin(np.arange(len(cut)), free), lumps, 0.0)
    found = modes(cut, stiff, bare)
    mass = np.zeros((len(free), 6))
    mass[:, :3] = bare[free, None] * 1e-3
    matrix = system(cut, stiff)
    weights = diags_array(mass.ravel() + 1e-15)
    squares = eigsh(matrix, k=3, M=weights.tocsc(), sigma=0.0, return_eigenvectors=False)
    np.testing.assert_allclose(found.frequencies, np.sqrt(np.sort(squares)) / (2 * np.pi), rtol=1e-4)


def test_each_member_rings_as_if_its_weld_were_clamped() -> None:
    """Rayleigh's quotient on the sag of a uniform bar lies above the exact frequency by under a percent."""
    cut = frame(cantilever(500.0, 6.35, 6.35), parts=32)
    first = member_modes(cut, stiffness(cut, 200e3, 77.2e3), masses(cut, 7850.0, NONE))
    assert 17.94 < first.frequencies[0] < 17.94 * 1.01
    # The sag's shape moves a quarter of the mass at the tip (104/405 = 0.257, its integral).
    assert first.moving[0] == pytest.approx(104.0 / 405.0 * 0.1243, rel=5e-3)
    # Moment of the mode's inertia over tip movement: 3.600 E I / L^2 by the sag's shape, 3.516 by the exact one.
    assert first.roots[0] == pytest.approx(3.600 * 200e3 * np.pi / 64 * 6.35**4 / 500.0**2, rel=5e-3)
    # 104/405 of the bar's mass over the same share of its length: the mass of a metre, whatever the shape.
    assert first.even_masses[0] == pytest.approx(np.pi / 4 * 6.35e-3**2 * 7850.0, rel=2e-3)


def test_leaves_slow_a_tree_down() -> None:
    light = Foliage(np.array([0.001]), np.array([1.0]))
    heavy = Foliage(np.array([0.5]), np.array([1.0]))
    assert lowest(leafy_gallows(), 4, heavy) < 0.9 * lowest(leafy_gallows(), 4, light)
