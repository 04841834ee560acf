"""The two sweeps against general 3-D frame solvers, and against closed forms of the text-books.

Frame solver: PyNiteFEA (Euler-Bernoulli beams, as here: no shear movement). Sparse: the same elements by scipy.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from armature.strength.forces import Loads, Movement, forces, movement
from armature.strength.frame import Frame, frame
from armature.strength.rounds import rounds
from armature.strength.stiffness import stiffness
from armature.strength.ties import solved
from armature.tree import Floats, Tree, chain
from tests.strength.made import cantilever, prismatic_tree, random_loads
from tests.trees import random_tree

YOUNG, SHEAR = 200_000.0, 77_200.0


def swept(cut: Frame, loads: Loads) -> tuple[Floats, Movement]:
    found = forces(cut, loads)
    stiff = stiffness(cut, YOUNG, SHEAR)
    return found.within[0], movement(cut, stiff.steps(cut, found, loads))


def in_pynite(cut: Frame, loads: Loads) -> tuple[Floats, Floats, Floats]:
    """Return the reaction's opposite (6,), the shifts (N, 3) and the forces (N, 6) at each element's start."""
    from Pynite import FEModel3D

    model = FEModel3D()
    model.add_material("steel", YOUNG, SHEAR, 0.3, 0.0)
    # A child starts in its parent's node: one node for both.
    name = np.arange(len(cut))
    starts = cut.offsets[:-1]
    for row in range(1, len(cut.tree)):
        name[starts[row]] = name[cut.parent_nodes[row]]
    for node in np.unique(name):
        model.add_node(f"N{node}", *cut.points[node])
    assert loads.lines is not None
    for node in np.flatnonzero(~cut.is_last):
        section = rounds(cut.diameters[node])
        label = f"S{cut.members[node]}"
        if label not in model.sections:
            model.add_section(label, section.area, section.inertia, section.inertia, section.polar)
        model.add_member(f"E{node}", f"N{name[node]}", f"N{name[node + 1]}", "steel", label)
        for axis, push in zip("XYZ", loads.lines[node, 0, :, 0], strict=True):
            model.add_member_dist_load(f"E{node}", f"F{axis}", push, push)
    model.def_support("N0", *[True] * 6)
    for node in range(len(cut)):
        for axis, push in zip("XYZ", loads.points[node, :, 0], strict=True):
            model.add_node_load(f"N{name[node]}", f"F{axis}", push)
    model.analyze_linear(check_stability=False)
    case = "Combo 1"
    foot = model.nodes["N0"]
    reaction = [foot.RxnFX, foot.RxnFY, foot.RxnFZ, foot.RxnMX, foot.RxnMY, foot.RxnMZ]
    shifts = np.array([[getattr(model.nodes[f"N{name[n]}"], f"D{a}")[case] for a in "XYZ"] for n in range(len(cut))])
    ends = np.zeros((len(cut), 6))
    for node in np.flatnonzero(~cut.is_last):
        ends[node] = -np.asarray(model.members[f"E{node}"].F(case)).ravel()[:6]
    return -np.array([each[case] for each in reaction]), shifts, ends


@pytest.mark.parametrize(("members", "parts"), [(2, 2), (8, 3), (40, 5), (160, 5)])
def test_base_forces_and_tip_movement_are_those_of_a_general_frame_solver(members: int, parts: int) -> None:
    tree = prismatic_tree(members, members)
    cut = frame(tree, parts=parts)
    loads = random_loads(cut, 3)
    foot, moved = swept(cut, loads)
    reaction, shifts, ends = in_pynite(cut, loads)
    # 1e-6 of the largest: the frame solver's matrix spans many orders of magnitude between axial and bending terms,
    # and loses more where elements are short; none here is under 30 mm.
    np.testing.assert_allclose(foot[:3, 0], reaction[:3], atol=1e-6 * np.abs(reaction[:3]).max())
    np.testing.assert_allclose(foot[3:, 0], reaction[3:], atol=1e-6 * np.abs(reaction[3:]).max())
    np.testing.assert_allclose(moved.shifts[:, :, 0], shifts, atol=1e-6 * np.abs(shifts).max())
    beyond = forces(cut, loads).beyond[:, :, 0]
    for part in (slice(0, 3), slice(3, 6)):
        np.testing.assert_allclose(beyond[:, part], ends[:, part], atol=1e-6 * np.abs(ends[:, part]).max())


def _chords(cut: Frame) -> Floats:
    chords = np.zeros_like(cut.points)
    chords[:-1] = np.diff(cut.points, axis=0)
    return np.asarray(chords / np.maximum(np.linalg.norm(chords, axis=1), 1e-12)[:, None])


@settings(max_examples=15)
@given(seed=st.integers(0, 10_000), members=st.integers(2, 12))
def test_any_tree_moves_as_the_sparse_solve_of_the_same_elements_says(seed: int, members: int) -> None:
    cut = frame(prismatic_tree(members, seed), parts=2)
    loads = random_loads(cut, seed, cases=2)
    _, moved = swept(cut, loads)
    again = solved(cut, stiffness(cut, YOUNG, SHEAR), loads, None, YOUNG)
    # The sparse matrix loses digits as (span / length)^3 of its shortest element, at worst some 1e-5 here.
    np.testing.assert_allclose(moved.shifts, again.shifts, atol=1e-5 * np.abs(moved.shifts).max())
    np.testing.assert_allclose(moved.turns, again.turns, atol=1e-5 * np.abs(moved.turns).max())


@pytest.mark.parametrize("seed", range(3))
def test_bent_tapered_members_move_as_the_sparse_solve_of_the_same_elements_says(seed: int) -> None:
    cut = frame(random_tree(24, seed))
    loads = random_loads(cut, seed)
    _, moved = swept(cut, loads)
    again = solved(cut, stiffness(cut, YOUNG, SHEAR), loads, None, YOUNG)
    np.testing.assert_allclose(moved.shifts, again.shifts, atol=1e-5 * np.abs(moved.shifts).max())


def test_arcs_and_tapers_converge_on_a_frame_of_short_straight_pieces() -> None:
    """A chorded, stepped model comes near the bent, tapered one at the square of its element size."""
    tree = random_tree(6, 4, limbs=1)
    # What converges must be compared with what has converged.
    one = frame(tree, parts=64, arc_deg=4.0)
    load = np.zeros((len(one), 3, 1))
    load[one.offsets[1:] - 1, :, 0] = [3.0, -2.0, -5.0]
    exact = swept(one, Loads(load, np.zeros((len(one), 2, 3, 1))))[1].shifts[one.offsets[1:] - 1, :, 0]
    errors = []
    for parts, arc in ((8, 8.0), (16, 4.0), (32, 2.0)):
        chorded = _chorded(frame(tree, parts=parts, arc_deg=arc))
        errors.append(np.abs(chorded - exact).max() / np.abs(exact).max())
    assert errors[-1] < 1e-3
    # Counts of elements round up, so that one halving may fall short of a quarter; two together do not.
    assert np.log2(errors[0] / errors[2]) / 2.0 > 1.7


def _chorded(cut: Frame) -> Floats:
    """Return the tips' shifts under the same tip loads, each element as a straight bar of its middle diameter."""
    load = np.zeros((len(cut), 3, 1))
    load[cut.offsets[1:] - 1, :, 0] = [3.0, -2.0, -5.0]
    loads = Loads(load, np.zeros((len(cut), 2, 3, 1)))
    found = forces(cut, loads)
    chords = _chords(cut)
    steps = np.zeros((len(cut), 6, 1))
    for row in np.flatnonzero(~cut.is_last):
        reach = cut.points[row + 1] - cut.points[row]
        length = float(np.linalg.norm(reach))
        middle = rounds((cut.diameters[row] + cut.diameters[row + 1]) / 2.0)
        push, turn = found.within[row + 1, :3, 0], found.within[row + 1, 3:, 0]
        axis = chords[row]
        across = push - push @ axis * axis
        bend = turn - turn @ axis * axis
        stiff = YOUNG * middle.inertia
        steps[row + 1, :3, 0] = (
            across * length**3 / (3.0 * stiff)
            + np.cross(bend, axis) * length**2 / (2.0 * stiff)
            + push @ axis * axis * length / (YOUNG * middle.area)
        )
        steps[row + 1, 3:, 0] = (
            bend * length / stiff
            + np.cross(axis, across) * length**2 / (2.0 * stiff)
            + turn @ axis * axis * length / (SHEAR * middle.polar)
        )
    return movement(cut, steps).shifts[cut.offsets[1:] - 1, :, 0]


def tip(tree: Tree, force: float, parts: int = 4) -> float:
    cut = frame(tree, parts=parts)
    points = np.zeros((len(cut), 3, 1))
    points[-1, 0, 0] = force
    return float(swept(cut, Loads(points, np.zeros((len(cut), 2, 3, 1))))[1].shifts[-1, 0, 0])


def test_a_tip_load_moves_a_uniform_cantilever_by_pl3_over_3ei() -> None:
    """Roark's Formulas, table 8.1, case 1a (from memory): 6.35 mm, 0.5 m, 10 N: 26.10 mm."""
    assert tip(cantilever(500.0, 6.35, 6.35), 10.0) == pytest.approx(26.1032127, rel=1e-7)


def test_own_weight_sags_a_level_cantilever_by_wl4_over_8ei() -> None:
    """Roark's Formulas, table 8.1, case 2a (from memory): the bar above at 0.2486 kg/m: 1.193 mm."""
    cut = frame(cantilever(500.0, 6.35, 6.35, (1.0, 0.0, 0.0)), parts=3)
    lines = np.zeros((len(cut), 2, 3, 1))
    lines[cut.spans > 0.0, :, 2] = -0.2486e-3 * 9.80665
    sag = swept(cut, Loads(np.zeros((len(cut), 3, 1)), lines))[1].shifts[-1, 2, 0]
    assert sag == pytest.approx(-0.2486e-3 * 9.80665 * 500.0**4 / (8.0 * YOUNG * np.pi / 64.0 * 6.35**4), rel=1e-9)
    assert sag == pytest.approx(-1.193, abs=5e-4)


def test_a_tapered_cantilever_moves_as_its_integral_says() -> None:
    """64 P L^3 / (3 pi E d0 d1^3): 100 N, 1 m, 12 to 6 mm: 327.48 mm, the integral of (P x^2 / E I)."""
    assert tip(cantilever(1000.0, 12.0, 6.0), 100.0, parts=16) == pytest.approx(327.48, abs=0.005)


def test_the_taper_converges_fast_enough_for_four_elements() -> None:
    exact = 64.0 * 100.0 * 1000.0**3 / (3.0 * np.pi * YOUNG * 6.0 * 12.0**3)
    errors = [abs(tip(cantilever(1000.0, 12.0, 6.0), 100.0, parts) - exact) / exact for parts in (1, 2, 4)]
    assert np.all(np.log2(np.array(errors[:-1]) / np.array(errors[1:])) > 4.0)
    # Three-point Gauss: at the house's four parts a 2 to 1 taper is right to a part in 100,000.
    assert errors[2] < 1e-5


def test_stress_in_a_taper_peaks_where_it_is_half_as_thick_again_as_its_tip() -> None:
    """d = 1.5 d0 by calculus: 2 to 1 in over 60 in, 100 lb, 29e6 psi: 9.054 ksi there, 7.639 at the root, 0.6322 in."""
    inch, pound, psi = 25.4, 4.4482216, 6.8947573e-3
    tree = cantilever(60.0 * inch, 2.0 * inch, 1.0 * inch)
    cut = frame(tree, parts=100)
    points = np.zeros((len(cut), 3, 1))
    points[-1, 0, 0] = 100.0 * pound
    loads = Loads(points, np.zeros((len(cut), 2, 3, 1)))
    found = forces(cut, loads)
    stress = np.abs(found.beyond[:, 4, 0]) / rounds(cut.diameters).elastic / psi / 1000.0
    assert stress.max() == pytest.approx(9.054, abs=1e-3)
    assert stress[0] == pytest.approx(7.639, abs=1e-3)
    assert cut.diameters[stress.argmax()] == pytest.approx(1.5 * inch, rel=0.01)
    stiff = stiffness(cut, 29e6 * psi, 11.2e6 * psi)
    assert movement(cut, stiff.steps(cut, found, loads)).shifts[-1, 0, 0] / inch == pytest.approx(0.6322, abs=1e-4)


def test_a_quarter_ring_moves_as_castigliano_says() -> None:
    """A quarter ring clamped at its foot, pushed at its tip along the tangent there: F R^3 (3 pi / 4 - 2) / EI.

    The moment at angle a from the foot is F R (1 - sin a); its square over EI, integrated.
    """
    radius, size, push = 400.0, 10.0, 5.0
    arc = chain(np.array([[0.0, 0.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 1.0]]) * radius, [0.0, radius * (1 - 1e-9), 0.0])
    tree = replace(cantilever(1.0, size, size), chains=arc)
    cut = frame(tree, parts=8)
    points = np.zeros((len(cut), 3, 1))
    points[-1, 0, 0] = push
    moved = swept(cut, Loads(points, np.zeros((len(cut), 2, 3, 1))))[1].shifts[-1, 0, 0]
    bending = push * radius**3 * (0.75 * np.pi - 2.0) / (YOUNG * np.pi / 64.0 * size**4)
    # Stretch, which the text-book leaves out, adds (pi / 4) (d / 4 R)^2 / (3 pi / 4 - 2), 1e-4 of it.
    assert moved == pytest.approx(bending, rel=2e-4)
