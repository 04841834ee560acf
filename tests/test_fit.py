"""What fits, up front: figures by hand, and ways out that are grown and hung as they are told."""

from pathlib import Path

import numpy as np
import pytest

from armature.commission import Commission, read
from armature.fit import fit_of, ways_out
from armature.leaves.outline.designs import draw_designs

TEXT = """title = "Hazel"
seed = 5
units = "inch"
canopy = {height = "8 ft"}
growth = {limbs = 2, branches = 3, twigs = 12}
[leaves]
count = 35
designs = 8
length = "5 in"
sheet = "24 oz"
spacing = "1 in"
"""


def commission(folder: Path, text: str = TEXT) -> Commission:
    (folder / "tree.toml").write_text(text, encoding="utf-8")
    return read(folder / "tree.toml")


def test_metal_is_counted_leaf_by_leaf_and_twigs_by_their_foot(tmp_path: Path) -> None:
    """Sheet of 24 oz is a pound and a half a square foot (ASTM B370: ounces name the weight of a square foot)."""
    asked = commission(tmp_path)
    found = fit_of(asked)
    areas = np.array([d.area for d in draw_designs(asked)])
    ounces = found.metal_kg / 0.45359237 * 16.0
    feet = 35 * np.array([areas.min(), areas.max()]) / 304.8**2
    assert 24.0 * feet[0] * 0.99 <= ounces <= 24.0 * feet[1] * 1.01
    assert sum(found.twigs.values()) == 12
    assert found.sheet_kg > found.metal_kg
    assert found.share == pytest.approx(found.striking / 35)


def test_ways_out_of_a_crowded_crown_are_told_with_their_figures(tmp_path: Path) -> None:
    fewer = TEXT.replace("twigs = 12", "twigs = 6").replace("designs = 8", "designs = 2")
    asked = commission(tmp_path, fewer.replace("count = 35", "count = 60"))
    crowded = fit_of(asked)
    assert crowded.share > 0.02
    ways = dict(ways_out(asked))
    assert set(ways) == {"taller", "more twigs", "smaller leaves", "fewer leaves"}
    assert min(fit.share for fit in ways.values()) < crowded.share
    assert ways["smaller leaves"].metal_kg < crowded.metal_kg
    assert ways["fewer leaves"].leaves < 60
    assert sum(ways["more twigs"].twigs.values()) > 6


def test_hand_sized_leaves_come_eight_to_a_square_foot_and_a_thousand_weigh_hundreds_of_pounds(tmp_path: Path) -> None:
    """Eight unlike ones to a square foot, 7.5 to 9; 1,050 of them: 1,050 / 8 x 1.5 lb = 197 lb of 24 oz sheet (common
    practice, no source; the sheet's weight by ASTM B370). Our usual forms are narrow: five and a half inches long."""
    found = fit_of(commission(tmp_path, TEXT.replace("5 in", "5 1/2 in").replace("count = 35", "count = 12")))
    assert 7.5 <= found.per_foot <= 9.0
    assert 1050 / found.per_foot * 24.0 / 16.0 == pytest.approx(197.0, rel=0.08)
