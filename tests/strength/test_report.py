"""The report: assumptions first, cautions always, every figure with unit and clause, the same bytes each time."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from armature.files.strength import record, rounded
from armature.papers.strength.report import page
from armature.strength import assessed
from tests.strength.made import american, commission, european, leafy_gallows
from tests.trees import random_tree


@pytest.fixture(scope="module", params=["american", "european", "calm"])
def said(request: pytest.FixtureRequest) -> dict[str, object]:
    site = {"american": american(), "european": european(), "calm": commission("")}[request.param]
    return record(assessed(random_tree(20), site))


def test_the_record_is_plain_json(said: dict[str, object]) -> None:
    assert json.loads(json.dumps(said, allow_nan=False)) == said


def test_the_caution_opens_and_closes_the_page_and_assumptions_come_before_figures(said: dict[str, object]) -> None:
    text = page(said)
    caution = "A design aid, not a certificate: local codes rule, and a licensed engineer has to check and sign"
    assert text.index(caution) < 60
    assert text.rindex(caution) > len(text) - 200
    assert text.index("## Assumed") < text.index("## Verdict") < text.index("## Checks")


def test_every_check_has_clause_value_limit_unit_ratio_and_member(said: dict[str, object]) -> None:
    rows = said["checks"]
    assert isinstance(rows, list)
    for row in rows:
        assert row["clause"]
        assert row["member"]
        assert row["ratio"] >= 0.0
        # The base's safety is the one check whose limit is a floor.
        if row["unit"] != "safety" and row["ratio"] > 0.0:
            assert row["value"] / row["limit"] == pytest.approx(row["ratio"], rel=1e-4)


def test_every_member_has_its_ratio_for_the_picture(said: dict[str, object]) -> None:
    rows = said["members"]
    assert isinstance(rows, list)
    assert [row["tag"] for row in rows] == random_tree(20).tags.tolist()


def test_earthquake_and_snow_are_named_as_not_covered(said: dict[str, object]) -> None:
    text = page(said)
    assert "earthquake" in text
    assert "snow" in text
    assert "Lightning" in text
    assert "2.1 m" in text


def test_missing_wind_is_said_in_bold_and_never_passes() -> None:
    text = page(record(assessed(leafy_gallows(), commission(""))))
    assert "**not checked for wind: site.wind_speed is missing" in text
    assert "Verdict: passes" not in text


def test_both_bounds_of_the_leaves_are_shown() -> None:
    said = record(assessed(random_tree(20), american()))
    names = [each["title"] for each in said["governing"]]
    assert "1.2D + 1.0W, leaves as plates" in names
    assert "1.2D + 1.0W, leaves streaming" in names


def keys(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield key
            yield from keys(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from keys(inner)


def test_every_key_is_an_identifier_and_sentences_stand_beside_as_titles() -> None:
    said = record(assessed(random_tree(20), american()))
    assert [key for key in keys(said) if not re.fullmatch("[a-z][a-z0-9_]*", key)] == []
    assert said["version"] == 2


def test_the_chance_of_the_design_wind_is_that_of_the_years() -> None:
    """1 - (1 - 1/700)^100 = 13.3 %; EN's 50-year wind in a hundred years 86.7 %."""
    assert record(assessed(leafy_gallows(), american()))["site"]["chance_of_design_wind"]["chance"] == pytest.approx(
        0.1332, abs=1e-4
    )
    found = record(assessed(leafy_gallows(), european()))["site"]["chance_of_design_wind"]
    assert found["chance"] == pytest.approx(1.0 - 0.98**100, rel=1e-5)
    assert found["speed_factor_for_the_years"] > 1.0


def test_the_same_tree_gives_the_same_bytes() -> None:
    one, other = (json.dumps(record(assessed(random_tree(20), american()))) for _ in range(2))
    assert one == other


def test_rounding_keeps_six_figures_and_no_infinity() -> None:
    assert rounded({"a": [np.float64(1.23456789), float("inf"), -0.0, np.int64(3), "x", True]}) == {
        "a": [1.23457, None, 0.0, 3, "x", True]
    }
