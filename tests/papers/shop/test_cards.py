"""What cards and station sheets tell the crew: clocks, marks, sections, pipes, loops, wraps, and what is left out."""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader

from armature.files.shop_lists import plan_json, welding_csv
from armature.papers.shop.packet import packet
from armature.papers.shop.station_sheets import stations
from armature.papers.shop.strips import full_size, needs_template, strips
from armature.papers.shop.tags import tags
from armature.papers.shop.templates import templates, tile_size
from armature.papers.shop.travel import saw_cuts
from armature.shop import ShopPlan, shop_plan, solid_ends
from armature.shop.bending import chalk_clocks
from armature.shop.darts import DARTS, dart_width, seam_runs
from armature.shop.saddles import chalk_place
from armature.tree import TWIG, Tree, bend_list, bore_ends, chalk_lines, joints, locate, parent_frames
from tests.shop.commissions import commission
from tests.trees import random_tree

QUIET = "shop.anvil.copies = 0\n"
SMALL = "".join(
    f'shop.transport.{side} = "{mm} mm"\n' for side, mm in (("length", 1500), ("width", 700), ("height", 700))
)
TREE = random_tree(24)


def pages(data: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(io.BytesIO(data)).pages]


@cache
def cards(plan: ShopPlan) -> dict[str, str]:
    text = "\n".join(pages(packet(plan)))
    parts = re.split(r"(?m)^(\S+) (?=(?:trunk|limb|branch|branchlet|twig) on )", text)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def card_of(plan: ShopPlan, tag: str) -> str:
    return cards(plan)[tag]


def sheets(plan: ShopPlan, station: str) -> str:
    return "\n".join(page for page in pages(stations(plan)) if page.startswith(station))


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> ShopPlan:
    return shop_plan(TREE, commission(tmp_path_factory.mktemp("job"), more=QUIET))


@pytest.fixture(scope="module")
def parted(tmp_path_factory: pytest.TempPathFactory) -> ShopPlan:
    more = QUIET + SMALL + 'shop.transport.least_splice = "8 mm"\n'
    found = shop_plan(TREE, commission(tmp_path_factory.mktemp("job"), more=more))
    kinds = {joint.kind for joint in found.site_joints if joint is not None}
    assert kinds == {"weld", "flange"}
    return found


@pytest.fixture(scope="module")
def piped(tmp_path_factory: pytest.TempPathFactory) -> ShopPlan:
    text = QUIET + 'steel.bars = ["6 mm", "12 mm", "16 mm", "20 mm"]\n'
    return shop_plan(pipes(), commission(tmp_path_factory.mktemp("job"), more=text))


def pipes() -> Tree:
    """Return a tree whose trunk stays a pipe, 60 to 34 mm, and whose limbs, 30 to 6 mm, close at 15 mm."""
    walls = np.array([8.0, 7.5, 0.0, 0.0, 0.0])[TREE.ranks]
    ends = np.where(TREE.ranks == 1, 6.0, TREE.end_diameters)
    return replace(TREE.coned(ends=ends), walls=walls)


def test_the_clock_of_each_bend_is_measured_from_the_chalk_line_that_the_bar_carries(plan: ShopPlan) -> None:
    chains, bends = TREE.chains, plan.bends
    lines = chalk_lines(chains, plan.joints.chalks)
    for at, (row, number) in enumerate(zip(bends.members.tolist(), bends.numbers.tolist(), strict=True)):
        straight = int(chains.firsts[row]) + number - 1
        t, after, c = chains.directions[straight], chains.directions[straight + 1], lines[straight]
        # The bar bends toward what of the next direction lies across this one.
        inward = after - (after @ t) * t
        clock = np.degrees(np.arctan2(np.cross(t, c) @ inward, c @ inward))
        assert (plan.clocks[at] - clock + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=1e-6)


def test_clocks_begin_anew_on_every_bar() -> None:
    bends = bend_list(TREE.chains)
    clocks = chalk_clocks(bends)
    assert clocks[bends.numbers == 1] == pytest.approx(0.0, abs=1e-9)
    assert clocks[bends.numbers == 2] == pytest.approx(bends.turns[bends.numbers == 2], abs=1e-9)


def test_bends_are_on_the_punch_list_with_their_clock(plan: ShopPlan) -> None:
    text = card_of(plan, "A")
    listed = text[text.index("PUNCH THESE") :]
    for at in plan.bend_rows(TREE.rows["A"]).tolist():
        kept, number = plan.written, plan.bends.numbers[at]
        for place, name in ((kept.begins[at], "bend"), (kept.ends[at], "end")):
            clock = re.search(rf"{place:.0f} mm (?:([RL]) )?(\d+)° ?(?:0|[RL] \d+ mm) {name} {number}", listed)
            assert clock is not None
            assert int(clock[2]) == round(abs(kept.bend_clocks[at]))


def test_marks_to_punch_count_bends_and_members(plan: ShopPlan) -> None:
    text = sheets(plan, "PUNCH AND BEND")
    for row, tag in enumerate(TREE.tags.tolist()):
        bends, own = len(plan.bend_rows(row)), len(plan.children(row))
        told = re.search(rf"(?m)^{re.escape(tag)} \S+ mm (\d+) (\d+) (\d+)", text)
        assert told is not None
        assert [int(each) for each in told.groups()] == [bends, own, 2 * bends + own + 1]
    marks = next(work.count for work in plan.labour.works if work.operation == "mark")
    assert marks == 2 * len(plan.bends.marks) + len(TREE) - 1 + len(TREE)


def test_a_member_that_carries_others_has_their_marks_whatever_its_rank(tmp_path: Path) -> None:
    tree = replace(TREE, ranks=np.where(TREE.ranks == 2, 3, TREE.ranks))
    made = shop_plan(tree, commission(tmp_path, more=QUIET))
    assert "A01-1" in card_of(made, "A01").split("PUNCH THESE")[1]


def test_a_card_says_where_its_member_travels_and_what_is_welded_on_site(parted: ShopPlan) -> None:
    for number, section in enumerate(parted.sections.sections, start=1):
        if section.splice is None:
            continue
        tag, text = str(TREE.tags[section.splice.row]), card_of(parted, str(TREE.tags[section.splice.row]))
        assert re.search(rf"travels in (S\d+, |S\d+ and )*S{number}\b", text)
        assert ("welded on site" in text) == bool(parted.on_site[section.splice.row])
        if not section.splice.at_joint:
            joint = parted.site_joints[number - 1]
            assert joint is not None
            words = " ".join(text.split())
            assert (
                f"sawn {section.splice.station_mm:.0f} mm from the start into S{section.parent + 1} and S{number}"
                in words
            )
            # Its bars taper all along and are bent: no sleeve could be pushed on.
            assert f"flanges of {joint.outside_mm:.0f} mm, {joint.length_mm:.0f} mm thick" in words
            assert "(no sleeve of " in words
            assert "engineer to design" in words
            assert f"saw: S{number}" in text or TREE.ranks[TREE.rows[tag]] == TWIG


def test_a_tree_that_travels_whole_says_nothing_of_sections(tmp_path: Path) -> None:
    roomy = "".join(f'shop.transport.{side} = "9 m"\n' for side in ("length", "width", "height"))
    made = shop_plan(TREE, commission(tmp_path, more=QUIET + roomy))
    assert len(made.sections.sections) == 1
    text = "\n".join(pages(packet(made))[1:]) + sheets(made, "WELD")
    assert "travels" not in text
    assert "SITE" not in text
    assert "in the shop" not in text


def test_what_is_welded_on_site_comes_last_and_each_section_by_itself(parted: ShopPlan) -> None:
    rows = list(csv.DictReader(io.StringIO(welding_csv(parted))))
    assert sorted(row["tag"] for row in rows) == sorted(TREE.tags.tolist())
    where = [row["where"] for row in rows]
    assert where == sorted(where)
    shop = [row["section"] for row in rows if row["where"] == "shop"]
    # Each section is one run of the list.
    assert sum(a != b for a, b in pairwise(shop)) == len(set(shop)) - 1
    for place, row in enumerate(rows):
        assert parted.weld_numbers[TREE.rows[row["tag"]]] == place
    left_off = {str(TREE.tags[s.splice.row]) for s in parted.sections.sections if s.splice and s.splice.at_joint}
    assert {row["tag"] for row in rows if row["where"] == "site"} == left_off
    assert all(row["places_reached_of_8"] == row["places_reached_if_last"] for row in rows if row["where"] == "site")


def test_a_section_is_whole_before_it_leaves_the_shop(parted: ShopPlan) -> None:
    place = parted.weld_numbers
    for row in range(1, len(TREE)):
        parent = int(TREE.parents[row])
        if not parted.on_site[row] and not parted.on_site[parent] and not saw_cuts(parted, parent):
            assert place[parent] < place[row]


def test_the_welding_sheet_tells_shop_from_site(parted: ShopPlan) -> None:
    text = sheets(parted, "WELD")
    site = text[text.index("ON SITE") :]
    assert "in the shop" not in site
    for number, section in enumerate(parted.sections.sections, start=1):
        if section.splice is None:
            continue
        tag = str(TREE.tags[section.splice.row])
        does = f"weld {tag} on" if section.splice.at_joint else f"join {tag} where it is sawn"
        assert f"ON SITE, S{number} onto S{section.parent + 1}: {does}" in site
    cuts = sum(len(saw_cuts(parted, row)) for row in range(len(TREE)))
    assert site.count("engineer to design") == cuts > 0


def test_a_tag_names_its_section(parted: ShopPlan) -> None:
    text = "\n".join(pages(tags(parted)))
    for row, section in enumerate(parted.sections.of_member.tolist()):
        site = ", on site" if parted.on_site[row] else ""
        on = "the base" if row == 0 else TREE.tags[TREE.parents[row]]
        assert f"on {on}, S{section + 1}{site}\n" in text


def test_papers_and_findings_name_the_same_sections(parted: ShopPlan) -> None:
    found = json.loads(plan_json(parted))["sections"]
    for each in found[1:]:
        splice = each["splice"]
        own = [cut for cut in saw_cuts(parted, TREE.rows[splice["member"]]) if f"S{cut.section}" == each["section"]]
        assert (not own) == splice["at_own_joint"]
        if own:
            assert f"S{own[0].before}" == each["on"]
            assert own[0].station_mm == pytest.approx(splice["station_mm"], abs=0.05)


def test_a_pipe_ends_where_its_bore_closes_and_a_solid_end_goes_on(piped: ShopPlan) -> None:
    tree, closes = piped.tree, bore_ends(piped.tree)
    limbs = tree.of_rank(1)
    assert piped.ends.rows.tolist() == limbs.tolist()
    # From 30 at the start to 6 at the tip a wall of 7.5 meets itself at 15: at 15/24 of the length.
    assert closes[limbs] == pytest.approx(tree.lengths[limbs] * 15.0 / 24.0)
    assert closes[0] == tree.lengths[0]
    assert (piped.ends.bars == 16.0).all()
    assert piped.cut[limbs] == pytest.approx(closes[limbs] + piped.heels[limbs])
    pieces = dict(pair for bar in piped.bars.bars for pair in zip(bar.tags, bar.pieces_mm, strict=True))
    sizes = {tag: (bar.diameter_mm, bar.wall_mm) for bar in piped.bars.bars for tag in bar.tags}
    for at, row in enumerate(limbs.tolist()):
        tag = f"{tree.tags[row]}.end"
        assert sizes[tag] == (16.0, 0.0)
        assert piped.ends.cuts[at] <= pieces[tag] < piped.ends.cuts[at] + 1.0


def test_pipe_and_solid_end_weigh_what_the_member_weighs(tmp_path: Path, piped: ShopPlan) -> None:
    tree, ends = piped.tree, piped.ends
    bars = 'steel.bars = ["6 mm", "12 mm", "16 mm", "20 mm"]\n'
    asked = commission(tmp_path, more=f'{bars}shop.scale_loss = "0 %"\nshop.scarf_factor = 0.0\n')
    row, last = int(ends.rows[0]), float(ends.stations[0])
    # Pipe of one wall that narrows evenly: the wall's ring at its middle, pi w (d - w), times the length.
    mean = (float(tree.start_diameters[row]) + 15.0) / 2.0
    pipe = np.pi * 7.5 * (mean - 7.5) * last
    solid = float(solid_ends(tree, asked).cuts[0]) * np.pi / 4.0 * 16.0**2
    assert pipe + solid == pytest.approx(float(tree.volumes[row]), rel=1e-9)


def test_darts_take_out_what_the_girth_loses() -> None:
    assert DARTS * dart_width(114.3, 20.0) == pytest.approx(np.pi * 114.3 - np.pi * 20.0)


def test_hours_count_the_seams_of_darts(piped: ShopPlan, plan: ShopPlan) -> None:
    tree, runs = piped.tree, seam_runs(piped.tree)
    assert (runs > 0.0).tolist() == (tree.walls > 0.0).tolist()
    # Wall 8 mm: 64 tan 30 = 36.95 mm2 of seam, in runs of 18 mm2; four seams from foot to tip.
    assert runs[0] == pytest.approx(4.0 * tree.lengths[0] * 36.95 / 18.0, rel=1e-3)
    assert not seam_runs(plan.tree).any()
    hours = [next(work.hours for work in each.labour.works if work.operation == "weld") for each in (plan, piped)]
    # What the seams take comes on top at 1.2 h a metre of run; thinner walls save some of the fillets.
    assert hours[1] - hours[0] > 0.9 * 1.2 * runs.sum() / 1000.0


def test_a_card_of_pipe_says_how_it_is_drawn_in(piped: ShopPlan) -> None:
    limb, trunk = (" ".join(card_of(piped, tag).split()) for tag in ("A", "T"))
    row = piped.tree.rows["A"]
    closes = float(bore_ends(piped.tree)[row])
    assert f"{dart_width(30.0, 15.0):.0f} mm wide at {closes:.0f} mm" in limb
    assert "the bore closes, 15 mm outside" in limb
    assert f"solid end of 16 mm bar, cut {piped.ends.cuts[0]:.0f} mm" in limb
    assert "SAW PIPE 30 mm" in limb
    assert "WALL 7.5 mm" in limb
    assert f"{dart_width(60.0, 34.0):.0f} mm wide at {piped.tree.lengths[0]:.0f} mm" in trunk
    assert "the bore closes" not in trunk
    drawn = sheets(piped, "DRAW")
    assert "A.end 15 mm 0 mm 6 mm" in drawn
    assert re.search(r"(?m)^A 30 x 7.5 mm", drawn)


def test_a_bar_too_thin_for_a_solid_end_is_told(tmp_path: Path) -> None:
    made = shop_plan(pipes(), commission(tmp_path, more=QUIET + 'steel.bars = ["6 mm", "12 mm"]\n'))
    assert any("A: no bar on hand is as thick as its solid end, 15 mm" in fault for fault in made.faults)


def test_loops_are_on_the_twig_card_in_order_with_wire_and_clock(plan: ShopPlan) -> None:
    row = int(TREE.of_rank(TWIG)[3])
    text = card_of(plan, str(TREE.tags[row]))
    own = np.flatnonzero(TREE.leaves.twigs == row)
    own = own[np.argsort(TREE.leaves.stations[own])]
    last = text[text.index("LOOPS") :]
    # A ring of 1.9 mm wire, 7.6 mm inside: pi times its middle line, and one thickness for the scarf.
    first = " ".join(pages(packet(plan))[0].split())
    assert f"1.9 mm wire, each cut {np.pi * 9.5 + 1.9:.0f} mm" in first
    told = re.findall(r"(\d+) (\d+) mm (?:([RL]) )?(\d+)°", last)
    assert [int(each[1]) for each in told] == [round(float(at)) for at in TREE.leaves.stations[own]]
    assert [int(each[3]) for each in told] == [round(abs(float(clock))) for clock in plan.loops.clocks[own]]


def test_the_clock_of_a_loop_leads_to_the_underside(plan: ShopPlan) -> None:
    leaves = TREE.leaves
    lines = chalk_lines(TREE.chains, plan.joints.chalks)
    points, t, c = parent_frames(TREE.chains, lines, leaves.twigs, leaves.stations)
    clock = np.radians(plan.loops.clocks)[:, None]
    out = np.cos(clock) * c + np.sin(clock) * np.cross(t, c)
    skin = TREE.diameters_at(leaves.twigs, leaves.stations)[:, None] / 2.0
    assert points + out * skin == pytest.approx(TREE.hang_points, abs=1e-6)


def test_leaves_hang_twig_by_twig_in_order_from_the_start(tmp_path: Path) -> None:
    stations_back = TREE.leaves.stations[::-1].copy()
    back = replace(
        TREE.leaves, tags=TREE.leaves.tags, stations=np.minimum(stations_back, TREE.lengths[TREE.leaves.twigs])
    )
    made = shop_plan(TREE.hung(back), commission(tmp_path, more=QUIET))
    text = sheets(made, "HANG")
    rows = re.findall(r"(?m)^(\S+-\d+)-\d+ (\d+) mm", text)
    assert len(rows) == len(back)
    for (twig, at), (other, later) in pairwise(rows):
        assert twig != other or int(at) <= int(later)
    assert "1.9 mm wire, each cut 32 mm" in text
    assert "bush" in text


def test_the_chalk_line_on_a_wrap_is_where_the_bar_has_it(plan: ShopPlan) -> None:
    listed = joints(TREE)
    for row in TREE.of_rank(2).tolist():
        d = TREE.axes[row]
        _, tangents, _ = locate(TREE.chains, TREE.parents[[row]], TREE.stations[[row]])
        t = tangents[0]
        # The edges of a wrap lie on the side toward the parent's tip.
        edge = t - (t @ d) * d
        edge /= np.linalg.norm(edge)
        girth = float(TREE.start_diameters[row])
        # Print outside and foot up, right on the paper is against the clock looking toward the tip.
        angle = -2.0 * chalk_place(girth, float(listed.rolls[row])) / girth
        place = np.cos(angle) * edge + np.sin(angle) * np.cross(d, edge)
        assert place == pytest.approx(listed.chalks[row], abs=1e-6)
    text = "\n".join(page for page in pages(templates(plan)) if "SADDLE WRAPS" in page)
    thick = (TREE.parents >= 0) & (TREE.start_diameters >= 10.0)
    assert text.count("chalk\n") + text.endswith("chalk") >= thick.sum() - 1


def test_templates_leave_out_what_its_card_tells_and_the_index_says_so(tmp_path: Path) -> None:
    counts = {}
    for key in ("all", "bent", "thick"):
        made = shop_plan(TREE, commission(tmp_path, more=f'{QUIET}shop.printing.templates = "{key}"\n'))
        drawn = full_size(made)
        counts[key] = int(drawn.sum())
        index = pages(templates(made))[0]
        assert ("card only" in index) == (key == "thick")
        assert all(tag in index for tag in TREE.tags.tolist())
        laid = strips(made, tile_size(made), drawn)
        assert sorted(o.tag for s in laid for o, _, _ in s.outlines) == sorted(TREE.tags[drawn].tolist())
    assert counts == {"all": len(TREE), "bent": len(TREE), "thick": int((TREE.ranks <= 2).sum())}


def test_a_straight_limb_and_a_twig_of_one_bend_need_no_template() -> None:
    bends = np.full(len(TREE), 3)
    limb, twig = TREE.rows["A"], int(TREE.of_rank(TWIG)[0])
    bends[limb], bends[twig] = 0, 1
    left = np.flatnonzero(~needs_template(TREE, bends, "bent")).tolist()
    assert left == [limb, twig]
    assert needs_template(TREE, bends, "all").all()
