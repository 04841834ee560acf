"""How large the print is: sizes read from the pages of the PDFs as they are stored."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import pytest
from fontTools.ttLib import TTFont

from armature.commission import changed
from armature.papers.shop import (
    erection_sheets,
    estimate_sheet,
    packet,
    setting_out,
    site_work,
    stations,
    tags,
    tapes,
    templates,
)
from armature.shop import ShopPlan, shop_plan
from armature.typefaces import font_file
from tests.papers.printed import printed
from tests.shop.commissions import commission
from tests.trees import random_tree

PAPERS = (packet, stations, tags, erection_sheets, estimate_sheet, setting_out, site_work, tapes, templates)
LEAST, FIGURE_MM = 9.0, 7.5


@pytest.fixture(scope="module", params=["mm", "inch"])
def plan(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> ShopPlan:
    asked = commission(tmp_path_factory.mktemp("job"), units=request.param)
    return shop_plan(random_tree(24), changed(asked, {"shop.anvil.copies": 0, "shop.transport.length": "900 mm"}))


@pytest.mark.parametrize("paper", PAPERS)
def test_no_print_is_under_nine_points(plan: ShopPlan, paper: Callable[[ShopPlan], bytes]) -> None:
    # Sizes are stored in hundredths of a point.
    small = {
        (text, size)
        for page in printed(paper(plan))
        for line in page
        for text, size in line.parts
        if text.strip() and size < LEAST - 0.005
    }
    assert not small


def test_what_the_hand_takes_from_a_card_stands_in_figures_of_7_5_mm(plan: ShopPlan) -> None:
    file = font_file("fontpkg_atkinson_hyperlegible", "files/*-Bold.ttf")
    assert file is not None
    with TTFont(file) as font:
        box = font["glyf"][font.getBestCmap()[ord("1")]]
        high = (box.yMax - box.yMin) / font["head"].unitsPerEm
    asked = 0
    # The first page explains the cards.
    for page in printed(packet(plan))[1:]:
        for label, figure in pairwise(page):
            if label.text in ("CUT", "DRAW TO", "AT"):
                assert figure.parts[0][1] * high * 25.4 / 72.0 >= FIGURE_MM
                asked += 1
    assert asked == 3 * len(plan.tree) - 1
