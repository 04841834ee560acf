"""Years: losses, coats, wasting sections; unlike metals and wear."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from armature.edge import CommissionError
from armature.strength import assessed
from armature.strength.advice import inspection_plan
from armature.strength.conditions import conditions, life_factor
from armature.strength.contact import contact, contacts, isolation, loop_wear, run_off, wear_life
from armature.strength.findings import checks, verdict, wasting
from armature.strength.lifetime import (
    coat_years,
    first_year_loss,
    loss,
    spare_depth,
    upper_exponent,
    wasted_depths,
    wasted_ratio,
    years_to,
)
from tests.strength.made import WINDY, commission
from tests.trees import post, random_tree


@given(years=st.floats(0.01, 2000.0), exponent=st.floats(0.4, 0.95))
def test_years_to_a_loss_are_the_inverse_of_the_loss(years: float, exponent: float) -> None:
    assert float(years_to(loss(0.05, years, exponent), 0.05, exponent)) == pytest.approx(years, rel=1e-9)


def test_the_curve_has_no_step_and_no_kink_at_twenty_years() -> None:
    before, at, after = loss(50.0, [20.0 - 1e-6, 20.0, 20.0 + 1e-6], 0.575)
    assert at - before == pytest.approx(after - at, rel=1e-3)


def test_the_design_exponent_is_the_upper_one() -> None:
    """ISO 9224:2012 table 2: 0.575 for steel, over the mean 0.523 of it."""
    assert upper_exponent("steel") == 0.575
    assert float(loss(50.0, 100.0, upper_exponent("steel"))) > float(loss(50.0, 100.0, 0.523))


def test_coats_put_rust_off_and_worse_air_shortens_them() -> None:
    assert coat_years("bare", "C3") == 0.0
    assert coat_years("painted", "C3") == 15.0
    zinc = coat_years("galvanised", "C3")
    # 70 um at 2.1 um the first year and t^0.873: over 50 years, past the knee at 20.
    assert float(loss(2.1, zinc, 0.873)) == pytest.approx(70.0)
    assert coat_years("galvanised", "C5") < zinc < coat_years("galvanised", "C2")
    assert coat_years("galvanised and painted", "C3") > zinc + 15.0


def test_a_bar_fails_in_the_year_its_ratio_reaches_one() -> None:
    found = assessed(post(2000.0, 80.0), commission())
    depth = spare_depth(found.cross_sections, found.worst, found.yields, found.conditions)
    ratio = wasted_ratio(found.cross_sections, found.worst, found.yields, found.conditions, depth)
    # Halving to a part in ten million of the bar.
    assert ratio.max() == pytest.approx(1.0, abs=1e-4)
    life = found.lifetime
    first = first_year_loss("steel", "C3")
    assert float(loss(first, life.years["bare"][0], 0.575)) == pytest.approx(life.spare[0], rel=1e-9)
    assert life.years["galvanised"][0] - life.years["bare"][0] == pytest.approx(coat_years("galvanised", "C3"))


def test_a_tree_that_rusts_through_before_its_years_says_so_beside_its_verdict() -> None:
    """The sturdy post passes; thinned until it just passes, bare in C5, it wastes within the asked hundred years."""
    site = WINDY + 'corrosivity = "C5"\nice = "0 mm"\nsnow = "0 kPa"\n'
    found = assessed(post(2000.0, 52.0), commission(site))
    judged = verdict(found, checks(found))
    assert judged.word == "passes new"
    assert judged.ratios["new"] <= 1.0 < judged.ratios["at_years"]
    said, years = wasting(found), found.lifetime.years["bare"][0]
    assert years < 100.0
    assert f"fails in {years:.0f} years" in said
    assert "left bare" in said
    kept = assessed(post(500.0, 100.0), commission(site))
    assert kept.lifetime.years["bare"][0] > 100.0
    assert wasting(kept) == ""
    assert verdict(kept, checks(kept)).word == "passes at 100 years"


def test_a_bare_twig_in_c5_for_200_years_is_told_to_be_wasted_through() -> None:
    """Upper loss of C5: 200 (20^0.575 + 0.575 20^-0.425 180) um = 6.9 mm a side, more than a quarter-inch bar is."""
    site = WINDY + 'corrosivity = "C5"\nyears = 200\nice = "0 mm"\nsnow = "0 kPa"\n'
    found = assessed(post(300.0, 6.35), commission(site + 'pull = "0 N"\n'))
    assert found.lifetime.end_depth == pytest.approx(6.91, abs=0.02)
    judged = verdict(found, checks(found))
    assert judged.word == "passes new"
    assert np.isinf(judged.ratios["at_years"])
    assert "is wasted through" in wasting(found)


def test_a_coat_renewed_in_time_loses_nothing_and_one_renewed_late_loses_at_the_first_years_rate() -> None:
    """Paint keeps 10 years in C4: renewed every 10 nothing goes; every 15, 80 um x 5^0.575 each time, thrice in 45."""
    paint = WINDY + 'corrosivity = "C4"\ncoat = "painted"\nyears = 45\n'
    timely = conditions(commission(paint + "renew_every = 10\n"))
    assert wasted_depths(timely) == (0.0, 0.0)
    late = wasted_depths(conditions(commission(paint + "renew_every = 15\n")))
    each = 0.080 * 5.0**0.575
    assert late == pytest.approx((each, 3.0 * each))
    allowed = wasted_depths(conditions(commission(paint + 'renew_every = 15\nallowance = "1 mm"\n')))
    assert allowed[0] == 1.0
    with pytest.raises(CommissionError, match="needs a coat"):
        commission(WINDY + "renew_every = 10\n")


def test_the_wind_of_the_asked_years_keeps_its_chance() -> None:
    """ASCE 7-16 C26.5.1: (0.36 + 0.1 ln(12 x 2800)) / (0.36 + 0.1 ln(12 x 700)) = 1.109; EN eq. 4.2 at 200 years."""
    assert life_factor(200, True, "II") == pytest.approx(1.1096, abs=1e-3)
    assert life_factor(200, False, "II") == pytest.approx(1.0754, abs=1e-3)
    site = '[site]\nwind_speed = "50 m/s"\nexposure = "C"\nyears = 200\nwind_for_years = true\n'
    assert conditions(commission(site)).wind_speed == pytest.approx(50.0 * life_factor(200, True, "II"))


def test_what_fails_new_has_no_years_left() -> None:
    found = assessed(random_tree(5), commission())
    failing = found.ratios > 1.0
    assert failing.any()
    assert np.all(found.lifetime.years["bare"][failing] == 0.0)
    assert np.all(found.lifetime.spare[failing] == 0.0)


def test_copper_on_steel_outdoors_is_a_battery() -> None:
    """Anodic index, guides after MIL-STD-889: 0.35 and 0.85 V: 0.50 apart, 0.15 allowed outdoors, 0.50 indoors."""
    pair = contact("loop", "copper", "steel")
    assert pair.difference_v == pytest.approx(0.50)
    assert not pair.is_safe
    assert pair.wastes == "steel"
    assert contact("loop", "copper", "steel", "controlled room").is_safe
    assert contact("loop", "copper", "brass").is_safe


def test_copper_over_zinc_is_warned_of_and_steel_leaves_are_not() -> None:
    pairs = contacts("copper", "galvanised")
    assert [pair.second for pair in pairs] == ["steel", "zinc"]
    text = " ".join(isolation(pairs))
    assert "strips zinc" in text
    assert "Coat both metals" in text
    assert isolation(contacts("steel", "bare")) == []


def test_a_heavier_leaf_wears_its_loop_in_proportion() -> None:
    light, heavy = loop_wear(0.02, 100.0), loop_wear(0.04, 100.0)
    assert heavy.depth_mm == pytest.approx(2.0 * light.depth_mm)
    assert wear_life(heavy) == pytest.approx(wear_life(light) / 2.0)
    # Archard: V = k W s / H, by hand.
    volume = 1e-4 * 0.02 * 9.80665 * 3.15e6 * 100.0 * 2.0 / 800.0
    assert light.depth_mm == pytest.approx(volume / 18.0)


def test_worse_air_is_inspected_more_often() -> None:
    mild = inspection_plan(conditions(commission('[site]\ncorrosivity = "C2"\n')))
    harsh = inspection_plan(conditions(commission('[site]\ncorrosivity = "C5"\ncoat = "painted"\n')))
    assert any(each["when"] == "every 5 years" for each in mild)
    assert any(each["when"] == "every 1 years" for each in harsh)
    assert any("renew the coat" in each["what"] for each in harsh)


def test_loops_are_renewed_before_they_are_half_worn_and_copper_is_weighed() -> None:
    """Garden's leaf of 21 g on 3 mm wire: V = 1e-4 x 0.206 N x 6300 m a year / 800 MPa = 0.162 mm3, a notch of 18 mm2:
    1.5 mm in 166 years; four fifths of that is 133. Faces of 3 m2, both sides, 0.6 to 1.7 g/m2: 3.6 to 10.2 g a year.
    """
    wear = loop_wear(0.021, 200.0)
    assert wear_life(wear) == pytest.approx(166.0, rel=0.01)
    plan = inspection_plan(conditions(commission("[site]\nyears = 200\n")), wear_life(wear))
    assert any(each["when"] == "about every 133 years" and "bush" in each["what"] for each in plan)
    assert not any("bush" in each["what"] for each in inspection_plan(conditions(commission()), 900.0))
    assert "4 to 10 g" in run_off("copper", 3.0, "paving")
    assert "pale stone" in run_off("copper", 3.0, "paving")
    assert run_off("steel", 3.0, "paving") == ""
