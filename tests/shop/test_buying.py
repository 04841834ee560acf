"""Bars by size: other lengths, sawn to length by the dealer, what is bought, used and wasted."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from armature.commission import read
from armature.shop import shop_plan
from armature.shop.bars import Pieces, SizeOnSale, Yard, bar_plan
from tests.shop.commissions import commission
from tests.trees import random_tree

PIECES = Pieces(
    np.array(["A", "B", "C", "D"]),
    np.array([12.0, 12.0, 50.0, 50.0]),
    np.zeros(4),
    np.array([2900.0, 2900.0, 1500.0, 700.0]),
)


def test_a_size_with_lengths_of_its_own_is_bought_in_them() -> None:
    plan = bar_plan(PIECES, Yard((6000.0,), sizes=(SizeOnSale(50.0, (3000.0,)),)))
    assert [(size.diameter_mm, size.length_mm, size.bought) for size in plan.sizes] == [
        (12.0, 6000.0, 1),
        (50.0, 3000.0, 1),
    ]


def test_what_is_sawn_to_length_by_the_dealer_leaves_nothing_over() -> None:
    plan = bar_plan(PIECES, Yard((6000.0,), end_trim_mm=10.0, sizes=(SizeOnSale(50.0, (6000.0,), to_length=True),)))
    thick = plan.sizes[1]
    # 50 mm round weighs 15.413 kg a metre by hand (0.0061654 d^2).
    assert thick.mass_kg == pytest.approx(2.2 * 15.413, rel=1e-3)
    assert thick.wasted_kg == pytest.approx(0.0, abs=1e-9)
    assert [(bar.tags, bar.length_mm, bar.rest_mm) for bar in plan.bars[1:]] == [
        (("C",), 1500.0, 0.0),
        (("D",), 700.0, 0.0),
    ]


def test_bought_is_used_kept_and_wasted() -> None:
    (thin, thick) = bar_plan(PIECES, Yard((6000.0,), kerf_mm=3.0, least_rest_mm=300.0)).sizes
    per_m = {12.0: 0.8878, 50.0: 15.413}
    assert thin.used_kg == pytest.approx(5.8 * per_m[12.0], rel=1e-3)
    assert thin.kept_kg == 0.0
    assert thin.wasted_kg == pytest.approx(0.2 * per_m[12.0], rel=1e-2)
    assert thick.kept_kg == pytest.approx((6.0 - 2.2 - 0.006) * per_m[50.0], rel=1e-3)
    for size in (thin, thick):
        assert size.used_kg + size.kept_kg + size.wasted_kg == pytest.approx(size.mass_kg)


def test_a_commission_says_how_a_size_is_sold(tmp_path: Path) -> None:
    more = 'shop.anvil.copies = 0\n[[shop.buying.sizes]]\nbar = "60 mm"\ncut_to_length = true\n'
    made = shop_plan(random_tree(8), commission(tmp_path, more=more))
    sold = {size.diameter_mm: size for size in made.bars.sizes}
    assert sold[60.0].length_mm == 0.0
    assert all(size.length_mm == 6000.0 for bar, size in sold.items() if bar != 60.0)


def test_a_job_in_millimetres_buys_metric_stock_and_one_in_inches_does_not() -> None:
    text = 'title = "Alder"\nunits = "{}"\ncanopy.height = "3 m"\ngrowth = {{limbs = 3, branches = 6, twigs = 24}}\n'
    metric, inch = (read(text.format(units)) for units in ("mm", "inch"))
    assert (metric.steel.grade, inch.steel.grade) == ("S235", "A36")
    assert (metric.shop.bar_length, inch.shop.bar_length) == (6000.0, 6096.0)
    assert all(float(bar).is_integer() for bar in metric.steel.bars)
    assert metric.leaves.plates.sizes == ((1000.0, 2000.0),)
    assert metric.leaves.thickness == 0.8
    assert (metric.leaves.lettering.stamps, inch.leaves.lettering.stamps) == ("mm", "inch")
