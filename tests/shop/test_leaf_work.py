"""What leaves cost: the sheet that is bought and the table's time on it."""

from pathlib import Path

import pytest

from armature.shop import shop_plan
from armature.shop.labour import LeafWork, read_rates
from tests.shop.commissions import commission
from tests.trees import random_tree

WORK = LeafWork(sheet_kg=36.0, blanks=110, cut_m=26.4, pierces=220)


def test_leaves_are_charged_by_pierces_and_metres_of_cut(tmp_path: Path) -> None:
    rate = read_rates()["cut_leaves"]
    plan = shop_plan(random_tree(8), commission(tmp_path), leaf_work=WORK)
    (cut,) = [work for work in plan.labour.works if work.operation == "cut_leaves"]
    assert cut.count == 110
    assert cut.hours == pytest.approx(220 * rate.each + 26.4 * rate.per_m)
    assert rate.each > 0.0
    assert rate.per_m > 0.0


def test_the_sheet_is_charged_as_bought(tmp_path: Path) -> None:
    plan = shop_plan(random_tree(8), commission(tmp_path, more="shop.buying.leaf_price = 20.0\n"), leaf_work=WORK)
    (line,) = [one for one in plan.estimate.lines if one.what == "leaf metal"]
    assert line.quantity == 36.0
    assert line.total == pytest.approx(720.0)
