import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from armature.edge import StockError
from armature.grow.sizes import bars_for
from armature.metals import bar_masses, grade, sheet, usual_bars


@pytest.mark.parametrize(
    ("diameter", "printed"),
    [(6, 0.222), (8, 0.395), (10, 0.617), (12, 0.888), (16, 1.58), (20, 2.47), (25, 3.85)],
)
def test_metric_bar_masses_are_those_of_the_handbook(diameter: float, printed: float) -> None:
    # EN 10060 and handbook tables for 7850 kg/m3, from memory; half of the last printed digit.
    assert float(bar_masses(diameter)) == pytest.approx(printed, abs=0.005 if printed > 1 else 0.0005)


@pytest.mark.parametrize("inches", [0.25, 0.5, 1.0, 2.0, 4.0])
def test_inch_bar_weights_follow_the_rule_of_the_trade(inches: float) -> None:
    # 2.67 d^2 pounds a foot, AISC Manual, from memory; the rule itself is good to its third figure.
    pounds_a_foot = float(bar_masses(inches * 25.4)) * 0.3048 / 0.45359237
    assert pounds_a_foot == pytest.approx(2.67 * inches**2, rel=0.002)


@pytest.mark.parametrize("gauge", ["16 oz", "20 oz", "24 oz", "32 oz", "48 oz"])
def test_copper_gauges_weigh_their_ounces(gauge: str) -> None:
    # An ounce a square foot is 0.305152 kg/m2. ASTM B370 rounds thickness to 0.0001 in, and 8940 is one of the
    # densities in use (8890 to 8960): within one percent.
    assert sheet("copper", gauge).mass_kg_m2 == pytest.approx(int(gauge.split()[0]) * 0.305152, rel=0.01)


def test_twenty_four_ounce_copper_is_as_tabled() -> None:
    found = sheet("Copper", "24oz")
    assert found.thickness_mm == pytest.approx(0.0323 * 25.4, rel=1e-12)
    assert found.mass_kg_m2 == pytest.approx(7.33, abs=0.01)
    assert (found.metal, found.gauge) == ("copper", "24 oz")


@pytest.mark.parametrize("number", [16, 18, 20, 22, 24])
def test_brass_gauges_follow_their_series(number: int) -> None:
    # Brown and Sharpe: 0.005 x 92^((36 - n)/39) in, ASTM B258; printed to 0.0001 in.
    inches = sheet("brass", f"{number} ga").thickness_mm / 25.4
    assert inches == pytest.approx(0.005 * 92 ** ((36 - number) / 39), abs=0.0001)


def test_a_sheet_can_be_named_by_its_thickness() -> None:
    assert sheet("weathering steel", "1.5 mm").thickness_mm == 1.5
    assert sheet("brass", "1/32 in").thickness_mm == pytest.approx(0.79375, rel=1e-12)


@pytest.mark.parametrize(
    ("metal", "gauge", "says"),
    [
        ("coper", "24 oz", "did you mean 'copper'"),
        ("tin", "24 oz", "known: copper, brass"),
        ("copper", "25 oz", "did you mean '[0-9]+ oz'"),
        ("copper", "thick", "or give a thickness such as '0.8 mm'"),
        ("copper", "30 mm", "0.1 to 10 mm thick"),
        ("copper", "0 mm", "0.1 to 10 mm thick"),
        ("copper", "-1 mm", "0.1 to 10 mm thick"),
    ],
)
def test_unknown_sheets_are_refused_with_the_nearest(metal: str, gauge: str, says: str) -> None:
    with pytest.raises(StockError, match=says) as refusal:
        sheet(metal, gauge)
    assert "\n" not in str(refusal.value)


def test_unknown_grades_are_refused_with_the_nearest() -> None:
    with pytest.raises(StockError, match="did you mean 'A36'"):
        grade("A63")
    with pytest.raises(StockError, match="known: A36, "):
        grade("pewter")


def test_grades_carry_their_standards_figures() -> None:
    # 36 and 58 ksi at 6.894757 MPa (ASTM A36, from memory), rounded down to whole MPa or to the usual 400.
    steel = grade("A36")
    assert steel.yield_mpa(25.4) == pytest.approx(36 * 6.894757, abs=0.5)
    assert steel.tensile_mpa == pytest.approx(58 * 6.894757, abs=0.5)
    for name in ("A36", "A572-50", "A588", "A53B", "S235", "S275", "S355", "S355W", "304", "316L"):
        found = grade(name)
        limits, values = np.array(found.yields).T
        assert np.all(np.diff(limits) > 0)
        assert np.all(np.diff(values) < 0)
        assert values[0] < found.tensile_mpa
        poisson = found.young_gpa / (2 * found.shear_gpa) - 1
        assert poisson == pytest.approx(0.3, abs=0.01)  # 200/77.2, 210/81 and 193/74.2 as the standards round them


def test_thick_bars_yield_earlier() -> None:
    assert grade("S355").yield_mpa([16.0, 16.4, 17.0, 100.0]).tolist() == [355, 355, 345, 315]
    assert grade("A36").yield_mpa(8 * 25.4) == 248
    with pytest.raises(StockError, match="tabled to 203 mm"):
        grade("A36").yield_mpa([25.4, 300.0])


@given(st.lists(st.floats(1, 120), min_size=1, max_size=15), st.lists(st.floats(0.5, 120), min_size=1, max_size=40))
def test_the_bar_picked_is_the_thinnest_that_is_thick_enough(bars: list[float], wanted: list[float]) -> None:
    wanted = [min(d, max(bars)) for d in wanted]
    for diameter, picked in zip(wanted, bars_for(wanted, bars), strict=True):
        assert picked == min(bar for bar in bars if bar >= diameter - 1e-6)


def test_a_diameter_over_the_thickest_bar_says_what_would_help() -> None:
    with pytest.raises(
        StockError,
        match=r"steel\.bars: 60.0 mm is asked for the trunk, the largest bar on hand is 50.8 mm: add a larger",
    ):
        bars_for([10.0, 60.0], [25.4, 50.8], "trunk")


def test_the_usual_rack_runs_from_quarter_inch_to_four() -> None:
    rack = usual_bars()
    assert (len(rack), rack[0], rack[-1]) == (13, 6.35, 101.6)
    assert list(rack) == sorted(rack)
