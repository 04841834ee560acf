from pathlib import Path

import numpy as np
import pytest
import shapely
from ezdxf import units
from ezdxf.filemanagement import new
from shapely import affinity

from armature.edge import ArmatureError, CommissionError
from armature.leaves.outline.arcs import line, polygon
from armature.leaves.outline.artist import artist_design
from armature.leaves.outline.svg_path import path_points

SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">{}</svg>'
LEAF = '<path d="M50 5 C90 30 80 70 50 95 C20 70 10 30 50 5 Z"/>'


def svg(folder: Path, body: str) -> Path:
    file = folder / "leaf.svg"
    file.write_text(SVG.format(body), encoding="utf-8")
    return file


def dxf(folder: Path, points: list[tuple[float, float]], close: bool = True, unit: int = units.MM) -> Path:
    document = new("R2010", units=unit)
    document.modelspace().add_lwpolyline(points, close=close)
    file = folder / "leaf.dxf"
    document.saveas(file)
    return file


def test_svg_leaf_has_its_eye_where_it_is_drawn_and_its_veins(tmp_path: Path) -> None:
    body = LEAF + '<circle cx="50" cy="22" r="2"/><g id="veins"><path d="M50 30 L50 88"/></g>'
    design = artist_design(svg(tmp_path, body), 3, 5.0, 2.0, 1.0)
    assert design.number == 3
    assert design.eye == pytest.approx(4.0, rel=1e-3)
    low, high = polygon(design.outline).bounds[1], polygon(design.outline).bounds[3]
    assert (low, high) == pytest.approx((22.0 - 95.0, 22.0 - 5.0), abs=0.1)
    assert line(design.veins[0]).length == pytest.approx(58.0, abs=0.01)
    assert design.hangs == "tip down"


def test_area_of_a_bezier_leaf_is_that_of_the_closed_form(tmp_path: Path) -> None:
    """Green's theorem on one cubic: a leaf of two mirrored arcs has twice the area beside its axis."""
    p = np.array([[50.0, 5], [90, 30], [80, 70], [50, 95]])
    t = np.linspace(0, 1, 200001)[:, None]
    curve = (1 - t) ** 3 * p[0] + 3 * t * (1 - t) ** 2 * p[1] + 3 * t**2 * (1 - t) * p[2] + t**3 * p[3]
    exact = 2 * np.trapezoid(curve[:, 0] - 50.0, curve[:, 1])
    design = artist_design(svg(tmp_path, LEAF), 1, 4.0, 2.0, 1.0)
    # Arcs within 0.05 mm of the curve, on a length of some 220 mm.
    assert polygon(design.outline).area == pytest.approx(exact, abs=0.05 * 220)


def test_leaf_without_an_eye_gets_one_at_its_top_with_room_around(tmp_path: Path) -> None:
    design = artist_design(svg(tmp_path, LEAF), 1, 4.0, 2.0, 1.0)
    edge = polygon(design.outline, 0.01).exterior
    assert edge.distance(shapely.Point(0, 0)) == pytest.approx(8.0, abs=0.1)
    assert polygon(design.outline).bounds[1] < -60.0, "the leaf hangs below its eye"


def test_units_of_a_dxf_are_read(tmp_path: Path) -> None:
    small = [(0.0, 0.0), (2.0, 0.0), (2.0, 4.0), (0.0, 4.0)]
    design = artist_design(dxf(tmp_path, small, unit=units.IN), 1, 4.0, 2.0, 1.0)
    assert polygon(design.outline).area == pytest.approx(8 * 25.4**2, rel=1e-6)


def test_arcs_of_a_dxf_stay_arcs(tmp_path: Path) -> None:
    document = new("R2010", units=units.MM)
    document.modelspace().add_circle((0, 0), 30.0)
    file = tmp_path / "round.dxf"
    document.saveas(file)
    design = artist_design(file, 1, 4.0, 2.0, 1.0)
    assert len(design.outline.points) <= 16
    assert polygon(design.outline, 0.001).area == pytest.approx(np.pi * 900.0, abs=0.05 * np.pi * 60)


@pytest.mark.parametrize(
    ("points", "close", "word"),
    [
        ([(0, 0), (40, 60), (40, 0), (0, 60)], True, "cross itself"),
        ([(0, 0), (40, 0), (40, 60), (0, 60)], False, "must close"),
        ([(0, 0), (40, 0), (40, 30), (20.2, 30), (20.2, 40), (40, 40), (40, 70), (0, 70), (0, 40), (19.8, 40),
          (19.8, 30), (0, 30)], True, "thinner"),
        ([(0, 0), (9, 0), (9, 60), (0, 60)], True, "no room for an eye"),
    ],
    ids=["crossing", "open", "thin neck", "narrow"],
)  # fmt: skip
def test_outline_that_cannot_be_cut_is_refused_in_one_line(
    tmp_path: Path, points: list[tuple[float, float]], close: bool, word: str
) -> None:
    with pytest.raises(CommissionError, match=word) as caught:
        artist_design(dxf(tmp_path, points, close), 1, 4.0, 2.0, 2.0)
    assert "\n" not in str(caught.value)
    assert "leaf.dxf" in str(caught.value)


def test_eye_too_near_the_edge_is_refused(tmp_path: Path) -> None:
    with pytest.raises(CommissionError, match="hole diameters"):
        artist_design(svg(tmp_path, LEAF + '<circle cx="50" cy="9" r="2"/>'), 1, 4.0, 2.0, 1.0)


@pytest.mark.parametrize(
    ("body", "says"),
    [
        ('<polygon points="1 2 3"/>', "points of a polygon come in pairs (got 3)"),
        ('<path d="M0 0 L1e400 5 L3 3 Z"/>', "must lie within 20 m of the origin"),
        ('<path d="M0 0 L1e200 5 L3 3e200 Z"/>', "must lie within 20 m of the origin"),
        ('<path d="M0 0 L50 0 L100 0 Z"/>', "a closed curve must have an area"),
        (LEAF + '<circle cx="50" cy="22" r="0"/>', "a closed curve must have an area"),
        (LEAF + LEAF, "one outline to a file and one eye in it"),
        (LEAF + '<circle cx="50" cy="22" r="0.5"/>', "the eye must be at least 2.4 mm wide"),
        (LEAF + '<circle cx="50" cy="22" r="2"/><circle cx="50" cy="40" r="2"/>', "one eye to a leaf (got 2)"),
        ('<g transform="rotate(a)">' + LEAF + "</g>", "unknown transform"),
        ('<rect x="0" y="0" width="9" height="70"/>', "on an outline so large (got '9.0 x 70.0 mm')"),
    ],
)
def test_a_drawing_that_is_no_leaf_says_what_is_wrong(tmp_path: Path, body: str, says: str) -> None:
    with pytest.raises(CommissionError) as caught:
        artist_design(svg(tmp_path, body), 1, 4.0, 2.0, 1.0, hole=2.4)
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_vein_that_runs_beyond_the_outline_is_cut_back_to_it(tmp_path: Path) -> None:
    design = artist_design(svg(tmp_path, LEAF + '<g id="veins"><path d="M50 30 L50 300"/></g>'), 1, 4.0, 2.0, 1.0)
    # From 30 to the tip at 95 mm.
    assert line(design.veins[0]).length == pytest.approx(65.0, abs=0.05)


def test_a_vein_that_ends_where_it_began_is_kept(tmp_path: Path) -> None:
    body = LEAF + '<g id="veins"><path d="M50 30 C60 40 60 50 50 30"/></g>'
    assert len(artist_design(svg(tmp_path, body), 1, 4.0, 2.0, 1.0).veins) == 1


def test_the_stated_chord_error_holds_for_own_outlines(tmp_path: Path) -> None:
    """Against the drawn cubic itself, sampled densely: coarse arcs are fewer, and no arc is farther off than said."""
    p = np.array([[50.0, 5], [90, 30], [80, 70], [50, 95]])
    t = np.linspace(0, 1, 2001)[:, None]
    curve = (1 - t) ** 3 * p[0] + 3 * t * (1 - t) ** 2 * p[1] + 3 * t**2 * (1 - t) * p[2] + t**3 * p[3]
    drawn = shapely.LinearRing(np.concatenate([curve, ([100.0, 0.0] + curve * [-1, 1])[-2:0:-1]]) * [1, -1])
    counts = []
    for error in (0.02, 0.5):
        design = artist_design(svg(tmp_path, LEAF + '<circle cx="50" cy="22" r="2"/>'), 1, 4.0, 2.0, 1.0, error)
        cut = affinity.translate(polygon(design.outline, 0.001).exterior, 50.0, -22.0)
        # The cubic is read in 64 steps of 1.7 mm: on its tightest bend, 30 mm, that is 0.012 mm off. 0.002 mm from
        # drawing the arcs for this check.
        assert cut.hausdorff_distance(drawn) < error + 0.012 + 0.002
        counts.append(len(design.outline.points))
    assert counts[0] > counts[1]


@pytest.mark.parametrize(
    ("name", "text"), [("leaf.svg", "<svg"), ("leaf.dxf", "no drawing"), ("leaf.png", ""), ("leaf.svg", SVG.format(""))]
)
def test_a_file_that_is_no_outline_is_refused(tmp_path: Path, name: str, text: str) -> None:
    (tmp_path / name).write_text(text, encoding="utf-8")
    with pytest.raises(ArmatureError):
        artist_design(tmp_path / name, 1, 4.0, 2.0, 1.0)


def test_a_binary_dxf_that_breaks_off_is_told_in_one_line(tmp_path: Path) -> None:
    new("R2010").saveas(tmp_path / "leaf.dxf", fmt="bin")
    # The mark by which the format is known, and nothing of the kind behind it.
    (tmp_path / "leaf.dxf").write_bytes((tmp_path / "leaf.dxf").read_bytes()[:22] + b"junk")
    with pytest.raises(
        ArmatureError, match=r"leaf\.dxf: must be a readable DXF file; text or binary DXF, this one is b"
    ):
        artist_design(tmp_path / "leaf.dxf", 1, 4.0, 2.0, 1.0)


@pytest.mark.parametrize("radius", [1e9, 1e300])
def test_a_drawing_of_no_leafs_size_is_refused_before_it_is_cut_into_points(tmp_path: Path, radius: float) -> None:
    drawing = new("R2010", units=4)
    drawing.modelspace().add_circle((0.0, 0.0), radius)
    drawing.saveas(tmp_path / "leaf.dxf")
    with pytest.raises(ArmatureError, match=r"a leaf lies within 100 m of the drawing's origin \(got 'CIRCLE'\)"):
        artist_design(tmp_path / "leaf.dxf", 1, 4.0, 2.0, 1.0)


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    with pytest.raises(ArmatureError, match="no such outline file"):
        artist_design(tmp_path / "none.dxf", 1, 4.0, 2.0, 1.0)


def test_svg_arcs_run_on_their_circle_by_every_flag() -> None:
    """SVG 2, appendix B.2.4: of the two circles of radius 5 through (0,0) and (6,0) each flag pair picks one arc."""
    for flags, middle in {"00": (3, 1), "01": (3, -1), "10": (3, 9), "11": (3, -9)}.items():
        (points,) = path_points(f"M0 0 A5 5 0 {flags[0]} {flags[1]} 6 0")
        assert np.min(np.hypot(*(points - middle).T)) < 0.2, flags
        assert points[-1] == pytest.approx([6, 0])


def test_svg_relative_and_smooth_commands_agree_with_absolute_ones() -> None:
    (one,) = path_points("M10 10 c0 -10 20 -10 20 0 s20 10 20 0 q5 5 10 0 t10 0")
    (two,) = path_points("M10 10 C10 0 30 0 30 10 C30 20 50 20 50 10 Q55 15 60 10 Q65 5 70 10")
    assert np.allclose(one, two)


@pytest.mark.parametrize("d", ["L5 5", "M0 0 X5", "M0 0 L5", "M0 0 C1 1 2 2"])
def test_broken_path_data_is_refused(d: str) -> None:
    with pytest.raises(CommissionError):
        path_points(d)
