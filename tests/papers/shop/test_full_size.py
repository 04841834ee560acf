"""Paper tapes at full size, the papers of the site, and masses against exact solids."""

from __future__ import annotations

import io
import re

import numpy as np
import pytest
import trimesh
from pypdf import PdfReader

from armature.commission import changed
from armature.papers.shop import site_work, tapes
from armature.papers.shop.travel import saw_cuts
from armature.shop import ShopPlan, shop_plan
from tests.papers.printed import printed, texts
from tests.shop.commissions import commission
from tests.trees import random_tree

MM = 25.4 / 72.0
TICK = re.compile(rb"([\d.]+) ([\d.]+) m ([\d.]+) ([\d.]+) l S")


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> ShopPlan:
    asked = commission(tmp_path_factory.mktemp("job"))
    return shop_plan(random_tree(24), changed(asked, {"shop.anvil.copies": 0, "shop.transport.length": "900 mm"}))


def test_a_mark_on_a_tape_lies_as_far_from_its_start_as_its_card_says(plan: ShopPlan) -> None:
    data = tapes(plan)
    marks: dict[str, list[float]] = {}
    for lines, page in zip(printed(data), PdfReader(io.BytesIO(data)).pages, strict=True):
        contents = page.get_contents()
        assert contents is not None
        ticks = [[float(each) * MM for each in found] for found in TICK.findall(contents.get_data())]
        for head in (line for line in lines if line.parts[0][1] == 11.0):
            tag, _, part = head.text.partition(", strip ")
            edge, line = round(head.x * MM, 2), head.y * MM - 2.1
            # Glued end to end: strips of an A4 page on its side, less its edges.
            before = (int(part.split()[0]) - 1 if part else 0) * (297.0 - 2.0 * edge)
            # A mark stands from 1.5 mm above the strip's line to 4 mm below it.
            own = [x0 for x0, y0, _, y1 in ticks if abs(y0 - line - 1.5) < 0.1 and abs(y1 - line + 4.0) < 0.1]
            marks.setdefault(tag, []).extend(x - edge + before for x in own)
    for tag, told in marks.items():
        row = plan.tree.rows[tag]
        rows = plan.bend_rows(row)
        carried = plan.written.feet[plan.children(row)]
        wanted = np.concatenate([carried, plan.written.begins[rows], plan.written.ends[rows]])
        sawn = [cut.station_mm for cut in saw_cuts(plan, row)]
        # Places in a PDF are stored to a hundredth of a point.
        np.testing.assert_allclose(np.sort(told), np.sort([*wanted, *sawn]), atol=0.02)


def test_every_carrier_has_its_tape_whole(plan: ShopPlan) -> None:
    # Strips are headed in type of 11 points, their marks in smaller.
    heads = [line.text for page in printed(tapes(plan)) for line in page if line.parts[0][1] == 11.0]
    wanted = [tag for row, tag in enumerate(plan.tree.tags.tolist()) if len(plan.children(row))]
    assert list(dict.fromkeys(head.split(",")[0] for head in heads)) == wanted
    for tag in wanted:
        own = [head for head in heads if head.split(",")[0] == tag]
        count = len(own)
        assert own == ([tag] if count == 1 else [f"{tag}, strip {n + 1} of {count}" for n in range(count)])


def test_site_papers_put_up_and_take_down_every_section_once(plan: ShopPlan) -> None:
    told = "\n".join(texts(site_work(plan)))
    names = [f"S{stage.section + 1}" for stage in plan.stages]
    assert len(names) > 1
    assert re.findall(r"(?m)^(S\d+) on(?:to S\d+ at| its plate)", told) == names
    down = re.search(r"Take down in the order ([^\n]+)", told)
    assert down is not None
    assert down[1].split(", ") == names[::-1]
    marks = re.findall(r"punch (M\d+) on both sides", told)
    assert sorted(marks) == sorted(f"M{name[1:]}" for name in names[1:])
    packed = re.findall(r"(?m)^(S\d+): (\d+) bars", told)
    assert sorted(name for name, _ in packed) == sorted(names)
    assert sum(int(count) for _, count in packed) == len(plan.tree)


def test_bars_weigh_what_solids_of_their_shape_weigh(plan: ShopPlan) -> None:
    tree, facets = plan.tree, 256
    # A bent bar holds what it held straight (Pappus); a ring of facets holds less than the circle by this share.
    share = facets / (2.0 * np.pi) * np.sin(2.0 * np.pi / facets)
    for row in (0, *np.flatnonzero(tree.ranks == 1).tolist(), len(tree) - 1):
        length = float(tree.lengths[row])
        own = slice(tree.tapers.offsets[row], tree.tapers.offsets[row + 1])
        places = np.append(tree.tapers.stations[own], length)
        radii = tree.diameters_at(np.full(len(places), row), places) / 2.0
        outline = [(0.0, 0.0), *zip(radii.tolist(), places.tolist(), strict=True), (0.0, length)]
        solid = trimesh.creation.revolve(outline, sections=facets)
        assert solid.is_watertight
        kg = solid.volume / share * plan.commission.steel.density * 1e-9
        assert plan.masses[row] == pytest.approx(kg, rel=1e-4)
