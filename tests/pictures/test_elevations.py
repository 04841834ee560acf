from __future__ import annotations

import io
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from ezdxf.entities import Dimension as DXFDimension
from ezdxf.filemanagement import readfile
from pypdf import PdfReader

from armature.edge import format_length
from armature.pictures.elevation_lines import views
from armature.pictures.elevations import pdf_bytes, write_drawings
from armature.pictures.facts import facts
from armature.tree import Tree, extent
from tests.pictures.scenes import small
from tests.trees import gallows, post, random_tree


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    commission, tree = small()
    made = tmp_path_factory.mktemp("drawings")
    write_drawings(tree, facts(commission, tree), commission.units, made)
    return made


@pytest.mark.parametrize("name", ["elevation.dxf", "plan.dxf"])
def test_the_drawing_is_sound_in_millimetres_and_measures_the_tree(folder: Path, name: str) -> None:
    drawing = readfile(folder / name)
    assert drawing.audit().errors == []
    assert drawing.units == 4
    found = drawing.modelspace().query("DIMENSION")
    measured = {round(each.get_measurement(), 1) for each in found if isinstance(each, DXFDimension)}
    shown = views(small()[1], "mm")[0 if name == "elevation.dxf" else 2]
    low, high = extent(small()[1])
    width, height = high[0] - low[0], high[2]
    points = np.concatenate([line.corners for line in shown.lines if line.layer not in ("leaves", "ground", "plate")])
    # The lines leave their bars by the chord error that they are drawn with, and a bar end on by its own slant.
    assert np.ptp(points[:, 0]) == pytest.approx(width, abs=4.0)
    assert round(float(width), 1) in measured
    if name == "elevation.dxf":
        assert round(float(height), 1) in measured


@pytest.mark.parametrize("tree", [post(), gallows(), random_tree(30)])
def test_every_dimension_says_the_length_it_spans(tree: Tree) -> None:
    for drawing in views(tree, "mm"):
        for each in drawing.dimensions:
            assert each.text.removeprefix("dia. ") == format_length(each.length, "mm", feet=True)


def test_an_elevation_is_as_wide_and_high_as_the_bars_it_shows() -> None:
    front, side, plan = views(gallows(), "mm")
    # The limb's skin ends at x = 510; its post is 20 mm thick, and the leaf hangs at the tip of the limb.
    assert max(line.corners[:, 0].max() for line in front.lines if line.layer == "limb") == pytest.approx(510.0)
    assert [each.length for each in front.dimensions[:2]] == pytest.approx([1000.0, 795.0])
    assert max(line.corners[:, 0].max() for line in side.lines if line.layer == "limb") == pytest.approx(5.0)
    assert plan.dimensions[0].length == pytest.approx(520.0)


def test_the_views_fill_their_paper() -> None:
    commission, tree = small()
    page = PdfReader(io.BytesIO(pdf_bytes(list(views(tree, "mm")), facts(commission, tree)))).pages[0]
    text = page.extract_text()
    found = re.search(r"scale 1 : (\d+)", text)
    assert found is not None
    scale = float(found[1])
    sizes = [np.ptp(each.box, axis=0) / scale for each in views(tree, "mm") if each.name in text]
    # At the next larger usual scale at least one side would not fit; 0.6 is the largest step between two.
    assert max(sum(size[0] for size in sizes) / 390.0, max(size[1] for size in sizes) / 234.0) > 0.5


def test_a_diameter_is_written_beside_the_trunk_and_not_across_it() -> None:
    _, tree = small()
    front = views(tree, "mm")[0]
    stem = next(each for each in front.dimensions if each.text.startswith("dia."))
    seen = []

    def visit(words: str, _cm: object, matrix: list[float], _font: object, _size: float) -> None:
        if words.strip():
            seen.append((words.strip(), matrix[4]))

    commission = small()[0]
    page = PdfReader(io.BytesIO(pdf_bytes([front], facts(commission, tree)))).pages[0]
    page.extract_text(visitor_text=visit)
    scale = float(re.search(r"scale 1 : (\d+)", page.extract_text())[1])  # type: ignore[index]
    at = next(x for words, x in seen if words == stem.text) / 72.0 * 25.4
    left = next(x for words, x in seen if words == front.name) / 72.0 * 25.4
    edge = left + (stem.end[0] - front.box[0, 0]) / scale
    assert at > edge + 1.0


def test_the_base_plate_is_as_wide_as_told() -> None:
    front, _, plan = views(gallows(), "mm", 440.0)
    plate = next(line for line in front.lines if line.layer == "plate")
    assert np.ptp(plate.corners[:, 0]) == pytest.approx(440.0)
    assert plan.dimensions[-1].length == pytest.approx(440.0)


def test_the_sheet_of_paper_tells_title_scale_and_dimensions(folder: Path) -> None:
    sheets = PdfReader(folder / "drawing.pdf").pages
    page, text = sheets[0], "\n".join(sheet.extract_text() for sheet in sheets)
    assert "Test alder" in text
    assert "scale 1 :" in text
    for name in ("front elevation", "side elevation", "plan"):
        assert name in text
    height = views(small()[1], "mm")[0].dimensions[0]
    assert height.text in text
    assert (round(float(page.mediabox.width) * 25.4 / 72), round(float(page.mediabox.height) * 25.4 / 72)) == (420, 297)


def test_the_same_tree_gives_the_same_drawings(folder: Path, tmp_path: Path) -> None:
    commission, tree = small()
    for path in write_drawings(tree, facts(commission, tree), commission.units, tmp_path):
        assert path.read_bytes() == (folder / path.name).read_bytes()


@pytest.mark.parametrize(
    "title", ["Gr\u00f6\u00dfe am B\u00e4chle", "\u03a4\u03bf \u03b4\u03ad\u03bd\u03c4\u03c1\u03bf", "Ada \U0001f333"]
)
def test_a_title_in_any_script_stands_on_the_drawing(title: str) -> None:
    commission, tree = small()
    said = replace(facts(commission, tree), title=title)
    text = PdfReader(io.BytesIO(pdf_bytes([views(tree, "mm")[0]], said))).pages[0].extract_text()
    # What no font draws stands as a box, so that its want is seen.
    assert title.replace("\U0001f333", "\u25af") in text
