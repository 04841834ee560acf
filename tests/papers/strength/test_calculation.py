"""The calculation can be followed: from the PDF's own text a member's ratio comes out again."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import numpy as np
import pytest
from pypdf import PdfReader

from armature.papers.strength import calculation_pdf
from armature.strength import Assessment, assessed, checks, followed, whole_sums
from tests.strength.made import american, european
from tests.trees import random_tree

_NUMBER = r"(-?\d+(?:\.\d+)?(?:e[+-]?\d+)?)"


@pytest.fixture(scope="module", params=["american", "european"])
def found(request: pytest.FixtureRequest) -> Assessment:
    return assessed(random_tree(10), {"american": american, "european": european}[request.param]())


@pytest.fixture(scope="module")
def text(found: Assessment) -> str:
    pdf = calculation_pdf(found, "Test tree")
    return " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages).replace("\n", " ")


def read(text: str, what: str, unit: str) -> float:
    """Return the number that follows words on the paper, with its unit."""
    match = re.search(re.escape(what) + r".{0,160}?" + _NUMBER + r" ?" + re.escape(unit) + r"(?![\w])", text)
    assert match, what
    return float(match[1])


def test_a_member_is_computed_again_from_the_words_on_the_paper(found: Assessment, text: str) -> None:
    """The trunk's foot: wind moment by gust and factors, section, resistance and ratio, by own arithmetic here."""
    one = followed(found)[0]
    part = text[text.index(f"{one.tag}, {one.rank}, at its foot") :]
    part = part[: part.index(", at its foot", 40)]
    american_side = found.conditions.is_american
    gust, dead = read(part, "gust factor", ""), (1.2 if american_side else 1.35)
    wind = 1.0 if american_side else 1.5
    raised = read(part, "second order 1 / (1 - share), no share over a half", "")
    moment = []
    for axis in "xyz":
        weight = read(part, f"moment of the weight about the foot, {axis}", "N m")
        blown = read(part, f"moment of the wind before gusts, {axis}", "N m")
        moment.append(raised * (dead * weight + wind * gust * blown))
    along = np.array([read(part, f"direction of the bar, {axis}", "") for axis in "xyz"])
    torsion = abs(float(np.dot(moment, along)))
    bending = float(np.sqrt(np.dot(moment, moment) - torsion**2))
    d, fy = read(part, "diameter at the foot", "mm"), read(part, "yield strength Fy", "MPa")
    plastic, elastic = d**3 / 6.0, np.pi * d**3 / 32.0
    resists = 0.9 * min(fy * plastic, 1.6 * fy * elastic) if american_side else fy * plastic
    twisted = 0.9 * 0.6 * fy * 2.0 * elastic if american_side else fy / np.sqrt(3.0) * 2.0 * elastic
    m, t = bending * 1e3 / resists, torsion * 1e3 / twisted
    assert m == pytest.approx(read(part, "share of bending resistance", ""), rel=2e-3)
    assert t == pytest.approx(read(part, "share of torsion resistance", ""), rel=2e-2, abs=1e-4)
    slender = 2.0 * read(part, "length L of the bar beyond", "mm") / (d / 4.0)
    assert slender == pytest.approx(read(part, "a quarter of a bar's d", ""), rel=1e-4)
    if american_side:
        euler = np.pi**2 * 200e3 / slender**2
        stress = 0.877 * euler if fy > 2.25 * euler else 0.658 ** (fy / euler) * fy
        held = 0.9 * stress * np.pi / 4.0 * d**2
        assert held == pytest.approx(one.steps[-6].value, rel=1e-3)
    n, v = read(part, "share of axial resistance", ""), read(part, "share of shear resistance", "")
    if american_side:
        whole = n / 2.0 + m if n < 0.2 else n + 8.0 / 9.0 * m
        whole = max(float(np.hypot(whole, t)), float(np.hypot(n, v + t)))
    else:
        whole = float(np.hypot(n + m, v + t))
    assert whole == pytest.approx(one.steps[-1].value, rel=2e-3)


def test_the_push_on_the_leaves_is_faces_times_pressure(found: Assessment, text: str) -> None:
    sums = {step.what: step.value for step in whole_sums(found)}
    assert sums["faces of all leaves"] * sums["mean peak pressure on them"] == pytest.approx(
        sums["push on them at drag 1, toward +x"], rel=1e-9
    )
    assert sums["weight in all"] == pytest.approx(sums["down at the base"], rel=1e-9)
    assert f"{sums['weight in all']:.6g} N" in text


def test_the_followed_ratio_is_what_the_checks_found(found: Assessment) -> None:
    """At the foot, of this combination over all directions: never more than the worst that was kept there."""
    for each in followed(found):
        row = found.tree.rows[each.tag]
        assert each.steps[-1].value <= found.worst.ratio["combined"][row] * (1.0 + 1e-9)
        assert each.steps[-1].value > 0.0


def test_assumptions_come_first_and_all_members_and_the_caution_are_there(found: Assessment, text: str) -> None:
    assert text.index("Assumed") < text.index("Checks, worst first") < text.index("at its foot")
    assert text.count("A design aid, not a certificate") >= 4
    for tag in found.tree.tags.tolist():
        assert f"{tag} " in text
    assert "Coupons from the forge" in text
    assert all(row.clause.split(",")[0].split(" ")[0] in text for row in checks(found))


def test_the_same_tree_gives_the_same_bytes_and_a_metric_shop_a4(found: Assessment) -> None:
    assert calculation_pdf(found, "x") == calculation_pdf(found, "x")
    page = PdfReader(
        io.BytesIO(calculation_pdf(replace(found, conditions=replace(found.conditions, units="mm")), "x"))
    ).pages[0]
    assert float(page.mediabox.width) == pytest.approx(595.28, abs=1.0)
