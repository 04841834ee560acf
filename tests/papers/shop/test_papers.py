"""What is printed: read back as text, measured, scanned and audited."""

from __future__ import annotations

import csv
import io
import json
import re
import subprocess
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import zxingcpp
from ezdxf import units
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.filemanagement import read as read_drawing
from ezdxf.recover import read as recovered
from fpdf.fonts import TTFFont
from PIL import Image
from pypdf import PdfReader

from armature.commission import changed
from armature.edge import format_length
from armature.files.shop_lists import bars_csv, checks_csv, offsets_csv, plan_json, welding_csv
from armature.papers.sheet import PAGES, Sheet
from armature.papers.shop.batches import batches
from armature.papers.shop.erection import erection_sheets
from armature.papers.shop.estimate import estimate_sheet
from armature.papers.shop.packet import packet
from armature.papers.shop.station_sheets import stations
from armature.papers.shop.tags import tags
from armature.papers.shop.template_drawing import templates_dxf
from armature.papers.shop.templates import templates
from armature.shop import ShopPlan, shop_plan
from tests.shop.commissions import commission
from tests.trees import random_tree

MM = 72.0 / 25.4
# Tests only read what is printed: each plan's cards are printed once.
packet_of = cache(packet)


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> ShopPlan:
    more = "shop.anvil.copies = 8\nshop.buying.steel_price = 2.0\nshop.crew.hour_price = 40.0\n"
    return shop_plan(random_tree(24), commission(tmp_path_factory.mktemp("job"), more=more))


@pytest.fixture(scope="module")
def inches(tmp_path_factory: pytest.TempPathFactory) -> ShopPlan:
    return shop_plan(random_tree(24), commission(tmp_path_factory.mktemp("job"), units="inch"))


@cache
def pages(data: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(io.BytesIO(data)).pages]


def picture(folder: Path, data: bytes, page: int, dots: int = 150) -> Image.Image:
    (folder / "sheet.pdf").write_bytes(data)
    command = [
        "pdftoppm",
        "-r",
        str(dots),
        "-png",
        "-f",
        str(page),
        "-l",
        str(page),
        "-singlefile",
        "sheet.pdf",
        "page",
    ]
    subprocess.run(command, cwd=folder, check=True)
    return Image.open(folder / "page.png")


def test_every_member_has_a_card_with_its_cut_and_bends(plan: ShopPlan) -> None:
    text = "\n".join(pages(packet_of(plan)))
    for row, tag in enumerate(plan.tree.tags.tolist()):
        assert tag in text
        assert f"{np.ceil(plan.cut[row]):.0f} mm" in text
        assert f"{plan.draw_to[row]:.0f} mm" in text
    for angle in plan.written.angles:
        assert f"{angle:.0f}°" in text


def test_cards_come_in_batches_of_one_bar_and_parent(plan: ShopPlan) -> None:
    found = batches(plan)
    assert sorted(row for batch in found for row in batch.rows) == list(range(len(plan.tree)))
    for batch in found:
        rows = list(batch.rows)
        assert len(set(plan.tree.stock_diameters[rows])) == len(set(plan.tree.parents[rows])) == 1


def test_contents_name_the_page_on_which_each_batch_begins(plan: ShopPlan) -> None:
    text = pages(packet(plan))
    listed = re.findall(r"^(\d+) .* (\d+) (\d+)$", text[1], re.MULTILINE)
    found = batches(plan)
    assert [(int(number), int(count)) for number, count, _ in listed] == [(b.number, len(b.rows)) for b in found]
    for number, count, page in listed:
        assert f"batch {number}, 1 of {count};" in text[int(page) - 1]
        assert text[int(page) - 1].rstrip().endswith(f"page {page}")


@pytest.mark.parametrize(("units", "page"), [("mm", "A4"), ("inch", "Letter")])
def test_pages_are_of_the_size_that_the_shop_prints_on(tmp_path: Path, units: str, page: str) -> None:
    made = shop_plan(random_tree(8), commission(tmp_path, units=units, more="shop.anvil.copies = 0\n"))
    for data in (packet_of(made), tags(made), stations(made)):
        box = PdfReader(io.BytesIO(data)).pages[0].mediabox
        # A hundredth of a point is under the precision that the file keeps.
        assert (float(box.width), float(box.height)) == pytest.approx([side * MM for side in PAGES[page]], abs=0.01)


@pytest.mark.parametrize("kind", ["packet", "tags"])
def test_codes_scan_to_their_tags(tmp_path: Path, plan: ShopPlan, kind: str) -> None:
    data = packet_of(plan) if kind == "packet" else tags(plan)
    (tmp_path / "sheet.pdf").write_bytes(data)
    command = ["pdftoppm", "-r", "110", "-gray", "sheet.pdf", "page"]
    subprocess.run(command, cwd=tmp_path, check=True, timeout=240)
    pages = [Image.open(path) for path in sorted(tmp_path.glob("page*"))]
    seen = {code.text for page in pages for code in zxingcpp.read_barcodes(page)}
    assert set(plan.tree.tags.tolist()) <= seen


@pytest.mark.parametrize(("side", "units"), [(25.0, "mm"), (25.4, "inch")])
def test_the_calibration_square_is_true(tmp_path: Path, side: float, units: str) -> None:
    made = shop_plan(random_tree(8), commission(tmp_path, units=units, more="shop.anvil.copies = 0\n"))
    data = templates(made)
    dots = 300
    image = np.asarray(picture(tmp_path, data, 2, dots).convert("L")) < 128
    foot = image[-round(32.0 / 25.4 * dots) :, : round(38.0 / 25.4 * dots)]
    lines = np.flatnonzero(foot.sum(axis=0) > 0.9 * side / 25.4 * dots)
    rows = np.flatnonzero(foot.sum(axis=1) > 0.9 * side / 25.4 * dots)
    for edges in (lines, rows):
        # A dot is 0.085 mm, and a line two or three of them.
        assert (edges.max() - edges.min()) / dots * 25.4 == pytest.approx(side, abs=0.3)


def test_templates_are_full_size(plan: ShopPlan) -> None:
    drawing, auditor = recovered(io.BytesIO(templates_dxf(plan).encode()))
    assert not auditor.errors
    lines = drawing.modelspace().query("LWPOLYLINE[layer=='CENTRELINE']")
    assert len(lines) == len(plan.tree)
    spans = [np.ptp([point[0] for point in line]) for line in lines if isinstance(line, LWPolyline)]
    assert max(spans) == pytest.approx(plan.checks.chords.max(), abs=0.01)
    assert drawing.units == units.MM


def test_the_drawing_is_audited_clean(plan: ShopPlan) -> None:
    drawing = read_drawing(io.StringIO(templates_dxf(plan)))
    assert not drawing.audit().errors


@pytest.mark.parametrize("paper", [packet, tags, stations, templates, erection_sheets, estimate_sheet])
def test_the_same_plan_prints_the_same_bytes(inches: ShopPlan, paper) -> None:  # type: ignore[no-untyped-def]
    assert paper(inches) == paper(inches)


def test_the_same_plan_draws_the_same_bytes(plan: ShopPlan) -> None:
    assert templates_dxf(plan) == templates_dxf(plan)


def test_titles_in_any_script_are_drawn_with_signs_of_a_font(plan: ShopPlan) -> None:
    title = "桜 Ольха شجرة वृक्ष ต้นไม้ ألدر"
    sheet = Sheet("A4", title)
    sheet.add_page()
    sheet.words(20.0, 40.0, title, 20)
    used = {font.name for font in sheet.fonts.values()}
    assert len(used) >= 4
    signs = {sign for sign in title if not sign.isspace()}
    drawable = {chr(code) for font in sheet.fonts.values() if isinstance(font, TTFFont) for code in font.cmap}
    assert signs <= drawable
    assert packet(replace(plan, commission=changed(plan.commission, {"title": title})))


def test_the_bar_list_holds_every_member_once_and_adds_up(plan: ShopPlan) -> None:
    rows = list(csv.DictReader(io.StringIO(bars_csv(plan))))
    assert sorted(tag for row in rows for tag in row["pieces"].split()) == sorted(plan.tree.tags.tolist())
    # A round of 40 mm weighs 9.865 kg a metre (0.0061654 d^2 by hand).
    for row in rows:
        by_hand = 0.0061654 * float(row["stock_mm"]) ** 2 * float(row["length_mm"]) / 1000.0
        assert float(row["mass_kg"]) == pytest.approx(by_hand, rel=1e-4)
    for row in rows:
        lengths = [float(length) for length in row["lengths_mm"].split()]
        total = sum(lengths) + 3.0 * len(lengths) + float(row["trim_mm"]) + float(row["rest_mm"])
        assert float(row["length_mm"]) <= total <= float(row["length_mm"]) + 3.0 + 1e-3


def test_every_bar_loses_its_ends_and_spares_are_listed(tmp_path: Path) -> None:
    more = 'shop.anvil.copies = 0\nshop.buying.end_trim = "20 mm"\nshop.buying.spare_bars = 1\n'
    made = shop_plan(random_tree(24), commission(tmp_path, more=more))
    rows = list(csv.DictReader(io.StringIO(bars_csv(made))))
    assert {row["trim_mm"] for row in rows if row["from"] == "buy"} == {"20.0"}
    spares = [row for row in rows if row["from"] == "spare"]
    assert len(spares) == len(made.bars.sizes)
    assert all(not row["pieces"] and row["rest_mm"] == row["length_mm"] for row in spares)
    assert all(size.bought >= size.bound for size in made.bars.sizes)


def _text_boxes(folder: Path, data: bytes, page: int) -> list[tuple[str, float, float, float, float]]:
    (folder / "words.pdf").write_bytes(data)
    command = ["pdftotext", "-bbox", "-f", str(page), "-l", str(page), "words.pdf", "words.html"]
    subprocess.run(command, cwd=folder, check=True)
    found = re.findall(
        r'xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">(.*?)<', (folder / "words.html").read_text()
    )
    return [(word, float(a), float(b), float(c), float(d)) for a, b, c, d, word in found]


@pytest.mark.parametrize("twigs", [24, 160])
def test_no_word_of_the_erection_sheet_lies_on_another(tmp_path: Path, twigs: int) -> None:
    small = '"900 mm"'
    more = f"shop.anvil.copies = 0\nshop.transport.width = {small}\nshop.transport.height = {small}\n"
    more += 'shop.transport.least_splice = "6 mm"\n'
    data = erection_sheets(shop_plan(random_tree(twigs), commission(tmp_path, units="inch", more=more)))
    for page in range(1, len(PdfReader(io.BytesIO(data)).pages) + 1):
        words = _text_boxes(tmp_path, data, page)
        for number, (word, left, top, right, bottom) in enumerate(words):
            for other, a, b, c, d in words[number + 1 :]:
                across, over = min(right, c) - max(left, a), min(bottom, d) - max(top, b)
                # Boxes hold room above and below their signs, and the slash of a fraction leans over its numbers.
                overlap = across > 2.5 and over > 0.4 * min(bottom - top, d - b)
                assert not overlap, (page, word, other)


def test_the_erection_sheet_says_hooks_forces_and_joints(plan: ShopPlan, inches: ShopPlan) -> None:
    text = "\n".join(pages(erection_sheets(inches)))
    assert "lbf" in text
    assert "N m," not in text
    assert "Nobody stands" in text
    made = json.loads(plan_json(plan))
    for section in made["sections"]:
        lift = section["lift"]
        assert lift["hooks"] or lift["fault"]
        assert lift["use"] <= 1.0 or lift["fault"]
        if section["splice"] is not None:
            assert section["splice"]["designed_by"] == "to be designed by the engineer"
            assert section["splice"]["bending_kn_m"] > 0.0


def test_the_hours_of_the_estimate_add_up(plan: ShopPlan) -> None:
    text = "\n".join(pages(estimate_sheet(plan)))
    work = sum(each.hours for each in plan.labour.works)
    assert f"labour, all operations: {work:.0f} h" in text
    for hours in (work, plan.labour.hours - work, plan.labour.hours):
        assert f"{hours:.1f}" in text


def test_an_estimate_in_pounds_is_for_a_shop_in_inches(inches: ShopPlan) -> None:
    bought = sum(size.mass_kg for size in inches.bars.sizes)
    assert f"{bought / 0.45359237:.0f} lb ({bought:.0f} kg)" in "\n".join(pages(estimate_sheet(inches)))


def test_pieces_are_sawn_no_shorter_than_their_cut(plan: ShopPlan) -> None:
    lengths = dict(pair for bar in plan.bars.bars for pair in zip(bar.tags, bar.pieces_mm, strict=True))
    for tag, cut in zip(plan.tree.tags.tolist(), plan.cut.tolist(), strict=True):
        assert cut - 1e-6 <= lengths[tag] < cut + 1.0


def test_station_sheets_hold_every_member_at_saw_bend_and_weld(plan: ShopPlan) -> None:
    text = pages(stations(plan))
    for station in ("SAW", "PUNCH AND BEND", "WELD"):
        own = "\n".join(page for page in text if page.startswith(station) or f"\n{station}" in page)
        members = plan.tree.tags.tolist()[1 if station == "WELD" else 0 :]
        assert all(tag in own for tag in members)


def test_lists_and_findings_can_be_read(plan: ShopPlan) -> None:
    found = json.loads(plan_json(plan))
    assert found["estimate"]["total"] > 0
    assert all(bar["proof"] in ("bound met", "searched") for bar in found["bars"])
    assert len(list(csv.DictReader(io.StringIO(welding_csv(plan))))) == len(plan.tree)
    assert len(list(csv.DictReader(io.StringIO(checks_csv(plan))))) == len(plan.tree)
    for row in csv.DictReader(io.StringIO(offsets_csv(plan))):
        # A chord c and a rise h belong to one circle: R = c^2 / 8h + h / 2.
        chord, rise = float(row["chord_mm"]), float(row["rise_mm"])
        at = (plan.tree.tags[plan.bends.members] == row["tag"]) & (plan.bends.numbers == int(row["bend"]))
        assert chord**2 / (8.0 * rise) + rise / 2.0 == pytest.approx(plan.bends.radii[at][0], rel=1e-4)


@pytest.mark.parametrize(("kind", "word"), [("collar", "strap"), ("rivet", "tenon"), ("forge weld", "forge weld")])
def test_other_joints_than_welds_are_said_on_the_card(tmp_path: Path, kind: str, word: str) -> None:
    more = f'shop.anvil.copies = 0\nshop.joining.twig = "{kind}"\n'
    made = shop_plan(random_tree(8), commission(tmp_path, more=more))
    plain = shop_plan(random_tree(8), commission(tmp_path, more="shop.anvil.copies = 0\n"))
    assert word in "\n".join(pages(packet_of(made)))
    longer = made.cut - plain.cut
    assert (longer[made.tree.ranks == 4] > 0.0).all() == (kind != "collar")
    assert not longer[made.tree.ranks < 4].any()


def test_marks_to_punch_run_up_the_bar(tmp_path: Path) -> None:
    tree = random_tree(60, limbs=1)
    made = shop_plan(tree, commission(tmp_path, more="shop.anvil.copies = 0\n"))
    row = int(np.argmax(np.bincount(tree.parents[1:], minlength=len(tree))))
    own = made.children(row)
    kept, bends = made.written, made.bend_rows(row)
    marks = np.concatenate([kept.feet[own], kept.begins[bends], kept.ends[bends]])
    wanted = [f"{round(float(mark))}" for mark in np.sort(marks)]
    page = next(text for text in pages(packet_of(made))[1:] if text.startswith(f"{tree.tags[row]} "))
    told = [line.split()[0] for line in page[page.index("PUNCH THESE") :].split("\n")[1:] if line[:1].isdigit()]
    assert len(own) > 5
    assert told == wanted


def test_no_words_on_a_card_run_over_the_next_cell(tmp_path: Path) -> None:
    tree = random_tree(8)
    pipe = replace(tree, stock_diameters=np.full(len(tree), 168.5), walls=np.full(len(tree), 12.5))
    made = shop_plan(pipe, commission(tmp_path, more="shop.anvil.copies = 0\n"))
    (tmp_path / "card.pdf").write_bytes(packet_of(made))
    page = str(next(n for n, text in enumerate(pages(packet_of(made)), start=1) if text.startswith("T trunk")))
    command = ["pdftotext", "-bbox", "-f", page, "-l", page, "card.pdf", "-"]
    told = subprocess.run(command, cwd=tmp_path, check=True, capture_output=True).stdout.decode()
    found = re.findall(r'xMin="([\d.]+)" yMin="[\d.]+" xMax="([\d.]+)" yMax="([\d.]+)">([^<]+)<', told)
    level = next(float(y) for _, _, y, word in found if word == "168.5")
    line = sorted((float(left), float(right), word) for left, right, y, word in found if abs(float(y) - level) < 2.0)
    cut, draw = (format_length(float(each[0]), "mm").split()[0] for each in (made.sawn_to, made.draw_to))
    assert [word for *_, word in line if word in ("168.5", cut, draw)] == ["168.5", cut, draw]
    assert all(right <= left + 0.5 for (_, right, _), (left, _, _) in pairwise(line))


def test_a_shop_that_bends_cold_reads_hot_on_no_card(tmp_path: Path) -> None:
    made = shop_plan(random_tree(8), commission(tmp_path, more='shop.anvil.copies = 0\nshop.bending = "cold"\n'))
    # The first page tells of hot work in general.
    cards = "\n".join(pages(packet_of(made))[1:])
    assert "hot" not in cards
    assert "cold, fork" in cards
    assert "cold, press" in cards
    assert "hot" not in offsets_csv(made)


def test_the_way_of_bending_reads_at_arms_length(plan: ShopPlan) -> None:
    sizes = []

    def seen(text: str, _cm: object, _tm: object, _font: object, size: float) -> None:
        if text.strip() in ("hot, fork", "cold, fork", "hot, horn", "hot, press"):
            sizes.append(size)

    for page in PdfReader(io.BytesIO(packet_of(plan))).pages[1:4]:
        page.extract_text(visitor_text=seen)
    assert sizes
    # Eleven points are read from an arm's length by most eyes (common practice, no source).
    assert min(sizes) >= 11.0


def test_the_rigger_is_told_that_no_joint_between_sections_is_checked(tmp_path: Path) -> None:
    more = 'shop.anvil.copies = 0\nshop.transport.legs = 2\nshop.transport.splice = "flange"\n'
    tight = 'shop.transport.length = "1500 mm"\nshop.transport.width = "900 mm"\nshop.transport.height = "900 mm"\n'
    made = shop_plan(
        random_tree(24), commission(tmp_path, more=more + tight + 'shop.transport.least_splice = "8 mm"\n')
    )
    text = " ".join(pages(erection_sheets(made))).replace("\n", " ")
    assert len(made.sections.sections) > 1
    assert "No joint between sections is checked here for strength" in text
    assert all(len(found.hooks) <= 2 for found in made.lifts)
    cut = sum(not section.splice.at_joint for section in made.sections.sections if section.splice is not None)
    assert sum(work.count for work in made.labour.works if work.operation == "flange") == cut


def test_a_bundled_trunk_is_bought_sawn_and_counted_rod_by_rod(tmp_path: Path) -> None:
    more = "shop.anvil.copies = 0\nshop.joining.trunk_rods = 7\n"
    short = 'shop.bar_length = "700 mm"\n'
    tree = random_tree(8)
    plain, made = (shop_plan(tree, commission(tmp_path, more=text)) for text in ("shop.anvil.copies = 0\n", more))
    rods = [tag for bar in made.bars.bars for tag in bar.tags if tag.startswith("T.")]
    assert len(rods) == 7
    finished = float(tree.lengths[0])
    assert made.cut[0] == pytest.approx(finished / 0.975)
    assert "BUNDLE OF 7 RODS" in "\n".join(pages(packet_of(made)))
    hours = {work.operation: work.hours for work in made.labour.works}
    # Rods side by side are held and stitched, not scarfed; only a rod in parts is.
    assert "scarf" not in hours
    assert hours["fit"] > next(work.hours for work in plain.labour.works if work.operation == "fit")
    parted = shop_plan(tree, commission(tmp_path, more=more + short))
    parts = int(parted.sawn.parts[0])
    assert parts > 1
    scarfs = next(work.count for work in parted.labour.works if work.operation == "scarf")
    assert scarfs == (parted.sawn.rods * (parted.sawn.parts - 1)).sum() >= 7 * (parts - 1)


def test_what_cannot_be_met_is_told_and_the_rest_is_printed(tmp_path: Path) -> None:
    more = 'shop.anvil.copies = 0\nshop.transport.length = "300 mm"\nshop.transport.width = "200 mm"\n'
    made = shop_plan(random_tree(8), commission(tmp_path, more=more + 'shop.transport.height = "200 mm"\n'))
    assert any("shop.transport" in fault for fault in made.faults)
    assert "To be settled first" in "".join(pages(packet_of(made))[:2])
    assert len(pages(packet_of(made))) > 5
