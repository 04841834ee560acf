"""The base plate: holes, edges and mass by hand; it is lifted, travels, is paid for and drawn."""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader

from armature.files.shop_lists import bars_csv, plan_json
from armature.metals import BasePlate
from armature.papers.shop import estimate_sheet, setting_out, tile_size
from armature.shop import ShopPlan, shop_plan
from armature.shop.footing import base
from armature.tree import Demands, Rods
from tests.papers.printed import printed, texts
from tests.shop.commissions import commission
from tests.trees import random_tree

TREE = random_tree(8)
RODS = Rods(4, 24.0, 300.0, 400.0, 28.0)


def asked(rods: Rods | None) -> Demands:
    none = np.zeros(len(TREE))
    return Demands(none, none > 0.0, none, np.zeros(0, dtype=np.int64), np.zeros(0), np.zeros(0), rods)


@pytest.fixture(scope="module")
def plans(tmp_path_factory: pytest.TempPathFactory) -> tuple[ShopPlan, ShopPlan]:
    more = "shop.anvil.copies = 0\nshop.buying.steel_price = 2.0\n"
    job = commission(tmp_path_factory.mktemp("job"), more=more)
    return shop_plan(TREE, job, asked(None)), shop_plan(TREE, job, asked(RODS))


def test_four_holes_stand_at_the_corners_and_six_begin_in_the_north() -> None:
    four = base(BasePlate(400.0, 30.0), RODS, 7850.0, "mm")
    assert four.holes.round(2).tolist() == [[106.07, 106.07], [106.07, -106.07], [-106.07, -106.07], [-106.07, 106.07]]
    six = base(BasePlate(400.0, 30.0), replace(RODS, count=6), 7850.0, "mm")
    assert six.holes[0].round(6).tolist() == [0.0, 150.0]
    assert np.hypot(*six.holes.T) == pytest.approx(150.0)


def test_holes_keep_their_distance_from_the_edge() -> None:
    # AISC 360-16 table J3.4 (from memory): 1 in of edge for a 3/4 in rod, 1 1/4 for 1 in, 2 1/4 for 1 3/4.
    for rod, edge in ((19.05, 25.4), (25.4, 31.75), (44.45, 57.15)):
        assert base(BasePlate(900.0, 30.0), replace(RODS, diameter_mm=rod), 7850.0, "inch").least_edge_mm >= edge


def test_holes_leave_the_room_of_the_table() -> None:
    # AISC Manual table 14-2 (from memory), in: rod, hole.
    for rod, hole in ((0.75, 1.3125), (0.875, 1.5625), (1.0, 1.8125), (1.25, 2.0625), (1.5, 2.3125), (2.0, 3.25)):
        made = base(BasePlate(900.0, 30.0), replace(RODS, diameter_mm=25.4 * rod), 7850.0, "inch")
        assert made.hole_mm == pytest.approx(25.4 * hole)


def test_the_plate_is_weighed_with_the_first_section_and_priced(plans: tuple[ShopPlan, ShopPlan]) -> None:
    without, made = plans
    side, thick = made.foot.side_mm, made.foot.thickness_mm
    plate = side * side * thick * 7.85e-6
    assert made.sections.sections[0].mass == pytest.approx(without.sections.sections[0].mass + plate, rel=1e-6)
    lines = {line.what: line for line in made.estimate.lines}
    assert lines["steel plate, the base"].total == pytest.approx(2.0 * plate)
    assert "steel plate, the base" not in {line.what for line in without.estimate.lines}
    hours = {work.operation: work for work in made.labour.works}
    assert hours["plate"].count == 4
    told = json.loads(plan_json(made))["base_plate"]
    assert told["anchors"] == 4
    assert len(told["holes_mm"]) == 4


def test_the_plate_is_the_last_row_of_the_list_of_bars_and_on_the_page_of_what_to_buy(
    plans: tuple[ShopPlan, ShopPlan],
) -> None:
    without, made = plans
    *bars, plate = csv.DictReader(io.StringIO(bars_csv(made)))
    side, thick = made.foot.side_mm, made.foot.thickness_mm
    assert (plate["kind"], plate["pieces"], plate["from"]) == ("plate", "plate", "buy")
    assert (float(plate["stock_mm"]), float(plate["length_mm"]), float(plate["width_mm"])) == (thick, side, side)
    assert float(plate["mass_kg"]) == pytest.approx(side * side * thick * 7.85e-6)
    assert {row["kind"] for row in bars} == {"round"}
    assert all(row["kind"] != "plate" for row in csv.DictReader(io.StringIO(bars_csv(without))))
    text = "\n".join(texts(estimate_sheet(made)))
    assert f"Base plate {side:.0f} mm square, {thick:.0f} mm thick" in text
    assert "Anchors: 4 rods of 24 mm" in text
    assert "12 nuts; 8 plate washers" in text
    bought = sum(size.mass_kg - size.used_kg for size in made.bars.sizes)
    assert re.search(rf"in all\n?.* {bought:.0f} kg\b", text)


def test_holes_on_the_full_size_template_stand_as_far_apart_as_on_the_plate(
    plans: tuple[ShopPlan, ShopPlan], tmp_path: Path
) -> None:
    made = plans[1]
    pages = printed(setting_out(made))
    index = next(n for n, page in enumerate(pages) if any(line.text == "Base plate, full size" for line in page))
    named = {int(line.text.removeprefix("page ")) for line in pages[index] if re.fullmatch(r"page \d+", line.text)}
    assert named == set(range(index + 2, len(pages) + 1))
    # A plate of 400 mm lies on four sheets; the words beside a hole stand as far apart as the holes do.
    wide, high = (each * 72.0 / 25.4 for each in tile_size(made))
    places: dict[int, set[tuple[float, float]]] = {}
    for page in pages[index + 1 :]:
        where = re.search(r"column (\d+), line (\d+)", "\n".join(line.text for line in page))
        assert where
        for line in page:
            if found := re.match(r"(\d): drill", line.text):
                column, row = int(where[1]), int(where[2])
                places.setdefault(int(found[1]), set()).add((column * wide + line.x, line.y - row * high))
    assert sorted(places) == [1, 2, 3, 4]
    middles = np.array([min(places[n]) for n in (1, 2, 3, 4)]) * 25.4 / 72.0
    apart = np.linalg.norm(middles[:, None] - middles, axis=2)
    wanted = np.linalg.norm(made.base.holes[:, None] - made.base.holes, axis=2)
    np.testing.assert_allclose(apart, wanted, atol=0.8)


def test_the_setting_out_sheet_says_north_the_east_mark_and_where_the_chalk_faces(
    plans: tuple[ShopPlan, ShopPlan], tmp_path: Path
) -> None:
    text = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(setting_out(plans[1]))).pages)
    flat = " ".join(text.split())
    for words in ("pin N", "pin E", "east mark", "chalk of T", "HOLE CIRCLE 300 mm", "HOLES, drilled 44 mm"):
        assert words in flat
    assert f"faces {round(plans[1].written.chalk_bearing(0)) % 360:03d}°" in flat
