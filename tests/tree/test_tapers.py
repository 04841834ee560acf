"""Diameters along bars: places, volumes, and that cones are what they were."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from armature.commission import changed
from armature.files import load
from armature.files.design import design_json
from armature.files.skin import skin
from armature.files.sound import flaw
from armature.strength import assessed
from armature.strength.findings import gaps
from armature.strength.frame import frame
from armature.strength.loads import GRAVITY, steel_weight
from armature.tree import Tapers, Tree, chain, cones, joined, joints, tubes
from tests.files.commissions import gate_rowan
from tests.trees import gallows, post, random_tree

# A foot that swells, a shoulder, a long run at one size, and a whip.
STEPS = Tapers(
    np.array([0, 6]),
    np.array([0.0, 30.0, 60.0, 500.0, 520.0, 800.0]),
    np.array([52.0, 44.0, 40.0, 40.0, 30.0, 30.0]),
    np.array([8.0]),
    np.array([60.0]),
)


def stepped() -> Tree:
    """Return a post of 1000 mm with a swelling, a shoulder and a whip."""
    return replace(post(1000.0, 40.0), tapers=STEPS)


def frustum(wide: float, narrow: float, length: float) -> float:
    return float(np.pi / 12.0 * length * (wide * wide + wide * narrow + narrow * narrow))


def steel_by_hand() -> float:
    return (
        frustum(52, 44, 30) + frustum(44, 40, 30) + frustum(40, 40, 440)
        + frustum(40, 30, 20) + frustum(30, 30, 280) + frustum(30, 8, 200)
    )  # fmt: skip


def test_volume_is_that_of_the_frustums() -> None:
    assert stepped().volumes[0] == pytest.approx(steel_by_hand(), rel=1e-12)


def test_the_tree_is_sound_and_reads_off_its_sizes() -> None:
    tree = stepped()
    assert flaw(tree) == ""
    assert (tree.start_diameters[0], tree.tapers.bars[0], tree.end_diameters[0]) == (52.0, 40.0, 8.0)
    assert tree.taper_starts[0] == 500.0
    assert tree.diameters_at([0] * 6, [0.0, 15.0, 60.0, 510.0, 900.0, 2000.0]).tolist() == [52, 48, 40, 35, 19, 8]


def test_meshes_for_pictures_and_files_hold_the_same_steel() -> None:
    # 64 corners of equal area on a straight bar: only the ends of pieces are flat, so the volume is exact but for
    # rounding; a file's dome takes under 0.05 % (its own bound).
    mesh = tubes(stepped(), 64)
    drawn = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
    assert drawn.is_watertight
    assert drawn.volume == pytest.approx(steel_by_hand(), rel=1e-9)
    outside = skin(stepped(), rooted=False)
    assert trimesh.Trimesh(*outside.member(0), process=False).volume == pytest.approx(steel_by_hand(), rel=1e-3)


def test_the_frame_weighs_what_the_bar_weighs() -> None:
    cut = frame(stepped())
    assert set(STEPS.stations.tolist()) <= set(cut.stations.tolist())
    # Two-point Gauss integration is exact for the square of a straight diameter.
    whole = steel_weight(cut, 7850.0).lines
    assert whole is not None
    lines = whole[:, :, 2, 0].mean(axis=1) * cut.spans
    assert -lines.sum() == pytest.approx(steel_by_hand() * 7850e-9 * GRAVITY, rel=1e-9)


def test_a_pipe_drawn_in_closes_where_twice_its_wall_is_left() -> None:
    pipe = replace(stepped(), walls=np.array([5.0]))
    # 30 to 8 over 200 mm: 10 mm are left after 20 of 22 parts.
    closes = 800.0 + 200.0 * 20.0 / 22.0
    bore = (
        frustum(42, 34, 30) + frustum(34, 30, 30) + frustum(30, 30, 440)
        + frustum(30, 20, 20) + frustum(20, 20, 280) + frustum(20, 0, closes - 800.0)
    )  # fmt: skip
    assert pipe.volumes[0] == pytest.approx(steel_by_hand() - bore, rel=1e-12)
    assert pipe.tapers.thinner(pipe.lengths, [0], [10.0])[0] == pytest.approx(closes)
    beyond = pipe.tapers.beyond(pipe.lengths, np.array([0]), np.array([closes]))
    assert np.pi / 4.0 * beyond[0] == pytest.approx(frustum(10, 8, 1000.0 - closes), rel=1e-12)


@st.composite
def bars(draw: st.DrawFn) -> tuple[Tapers, np.ndarray]:
    """Return a few bars of falling diameters at rising stations, some with a swelling, and their lengths."""
    parts, lengths = [], []
    for _ in range(draw(st.integers(1, 4))):
        count = draw(st.integers(1, 5))
        runs = draw(st.lists(st.floats(1.0, 400.0), min_size=count, max_size=count))
        drops = draw(st.lists(st.floats(0.0, 6.0), min_size=count, max_size=count))
        stations = np.concatenate([[0.0], np.cumsum(runs)])
        diameters = 40.0 - np.concatenate([[0.0], np.cumsum(drops)])
        swell = stations[1] if count > 1 and draw(st.booleans()) else 0.0
        if swell:
            diameters[0] = diameters[1] + draw(st.floats(-8.0, 15.0))
        parts.append((stations[:-1], diameters[:-1], diameters[-1], swell))
        lengths.append(stations[-1])
    offsets = np.concatenate([[0], np.cumsum([len(part[0]) for part in parts])])
    tapers = Tapers(
        offsets,
        np.concatenate([part[0] for part in parts]),
        np.concatenate([part[1] for part in parts]),
        np.array([part[2] for part in parts]),
        np.array([part[3] for part in parts]),
    )
    return tapers, np.array(lengths)


@settings(max_examples=60, deadline=None)
@given(bars(), st.integers(0, 2**31))
def test_diameters_anywhere_are_those_of_plain_interpolation(some: tuple[Tapers, np.ndarray], seed: int) -> None:
    tapers, lengths = some
    rng = np.random.default_rng(seed)
    rows = rng.integers(0, len(tapers), 40)
    stations = rng.uniform(-0.1, 1.1, 40) * lengths[rows]
    for row, station, diameter in zip(rows, stations, tapers.at(lengths, rows, stations), strict=True):
        own = slice(tapers.offsets[row], tapers.offsets[row + 1])
        places = np.append(tapers.stations[own], lengths[row])
        sizes = np.append(tapers.diameters[own], tapers.tips[row])
        assert diameter == pytest.approx(np.interp(station, places, sizes), abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(bars(), st.one_of(st.just(0.0), st.floats(0.5, 6.0)))
def test_volume_is_the_integral_of_the_cross_section(some: tuple[Tapers, np.ndarray], wall: float) -> None:
    tapers, lengths = some
    row = len(tapers) - 1
    edges = np.linspace(0.0, lengths[row], 20_001)
    middle = (edges[1:] + edges[:-1]) / 2.0
    outside = tapers.at(lengths, np.full(len(middle), row), middle)
    bore = np.maximum(outside - 2.0 * wall, 0.0) if wall > 0.0 else 0.0
    numeric = np.pi / 4.0 * np.sum(outside**2 - bore**2) * edges[1]
    # The midpoint rule with 20,000 steps on pieces of one to four hundred millimetres. A wall under a half millimetre
    # would be the small difference of two like figures.
    assert tapers.volumes(lengths, np.full(len(tapers), wall))[row] == pytest.approx(numeric, rel=1e-5)


@settings(max_examples=60, deadline=None)
@given(bars(), st.floats(5.0, 45.0))
def test_where_a_bar_gets_thinner_it_has_just_that_diameter(some: tuple[Tapers, np.ndarray], size: float) -> None:
    tapers, lengths = some
    rows = np.flatnonzero(tapers.swells == 0.0)
    stations = tapers.thinner(lengths, rows, np.full(len(rows), size))
    there = tapers.at(lengths, rows, stations)
    inside = (stations > 0.0) & (stations < lengths[rows])
    np.testing.assert_allclose(there[inside], size, atol=1e-6)
    assert (tapers.tips[rows[stations == lengths[rows]]] >= size - 1e-9).all()
    assert (tapers.starts[rows[stations == 0.0]] <= size + 1e-9).all()


@settings(max_examples=60, deadline=None)
@given(bars(), st.integers(0, 2**31))
def test_filling_makes_a_bar_as_thick_as_needed_and_nothing_thinner(some: tuple[Tapers, np.ndarray], seed: int) -> None:
    tapers, lengths = some
    rows = np.flatnonzero(tapers.swells == 0.0)
    stations = np.random.default_rng(seed).uniform(0.05, 0.95, len(rows)) * lengths[rows]
    needed = 0.5 * (tapers.starts[rows] + tapers.tips[rows])
    full = tapers.filled(lengths, rows, stations, needed)
    assert (full.at(lengths, rows, stations) >= needed - 1e-6).all()
    assert (full.diameters >= tapers.diameters).all()
    assert (full.tips >= tapers.tips).all()
    assert (full.nexts <= full.diameters + 1e-9)[np.isin(full.members, rows)].all()


@settings(max_examples=40, deadline=None)
@given(bars())
def test_rounding_keeps_a_tree_sound_and_is_done_once(some: tuple[Tapers, np.ndarray]) -> None:
    tapers, lengths = some
    one = replace(post(float(lengths[0]), 60.0), tapers=tapers.taken([0])).rounded()
    assert flaw(one) == ""
    assert one.rounded().same_as(one)
    assert np.abs(one.volumes - tapers.volumes(lengths, np.zeros(len(lengths)))[0]).max() < 1e-3


def test_cones_taken_joined_and_stretched_keep_their_rows() -> None:
    three = cones([30.0, 20.0, 10.0], [15.0, 10.0, 5.0], [0.0, 100.0, 50.0])
    assert three.offsets.tolist() == [0, 1, 3, 5]
    assert three.falls.tolist() == [0.0, 100.0, 50.0]
    assert three.taken([2, 0]).falls.tolist() == [50.0, 0.0]
    assert three.stretched(np.array([1.0, 2.0, 1.0])).falls.tolist() == [0.0, 200.0, 50.0]
    even = cones([12.0], [12.0], [100.0])
    assert even.falls.tolist() == [100.0]


def two_stems() -> Tree:
    """Return the gallows with a second stem 300 mm beside it, leaning 10 deg, that bears nothing."""
    lean = np.radians(10.0)
    stem = replace(
        post(800.0, 16.0),
        tags=np.array(["T2"]),
        chains=chain([[300, 40, 0], [300 + 800 * np.sin(lean), 40, 800 * np.cos(lean)]], [0, 0]),
    )
    return gallows().grafted(stem)


def test_a_second_stem_stands_at_its_own_point() -> None:
    tree = two_stems()
    assert flaw(tree) == ""
    assert tree.bases.tolist() == [[0, 0, 0], [0, 0, 0], [300, 40, 0]]
    listed = joints(tree)
    assert (listed.leans[2], listed.clocks[2]) == (pytest.approx(10.0), pytest.approx(0.0))
    assert listed.parent_diameters[2] == 0.0


def test_whatever_is_told_of_a_bar_comes_back_from_a_design(tmp_path_factory: pytest.TempPathFactory) -> None:
    path = tmp_path_factory.mktemp("tapers") / "design.json"
    tree = replace(two_stems(), departures=np.array([0.0, 0.0, 120.0]))
    for each in (tree, stepped(), random_tree(24).rounded()):
        path.write_text(design_json(each, gate_rowan()), "utf-8")
        assert load(path)[0].same_as(each)


def test_a_bar_with_many_places_bends_as_any_other() -> None:
    corners = chain([[0, 0, 0], [0, 0, 600], [300, 0, 900]], [0, 120, 0])
    tree = replace(stepped(), chains=joined([corners]))
    mesh = tubes(tree, 48, 0.01)
    drawn = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
    # Between two rings of a bend the mesh cuts the corner by at most the hundredth of a millimetre asked for.
    assert drawn.volume == pytest.approx(float(tree.volumes[0]), rel=1e-3)


def test_strength_does_not_speak_for_the_feet_of_further_stems() -> None:
    asked = changed(gate_rowan(), {"site.ice": "0 mm", "site.snow": "0 kPa"})
    found = assessed(two_stems(), asked)
    assert any("further stems" in gap for gap in gaps(found))
    assert not any("further stems" in gap for gap in gaps(assessed(gallows(), asked)))
