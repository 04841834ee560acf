from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from ezdxf.entities import Dimension as DXFDimension
from ezdxf.filemanagement import readfile
from pypdf import PdfReader

from armature.pictures.drawings import write_drawings
from armature.pictures.facts import facts
from armature.pictures.outlines import views
from armature.tree import Tree
from armature.units import format_length
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
    points = np.concatenate([line.corners for line in shown.lines if line.layer not in ("leaves", "ground")])
    width, height = np.ptp(points[:, 0]), points[:, 1].max()
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


def test_the_sheet_of_paper_tells_title_scale_and_dimensions(folder: Path) -> None:
    page = PdfReader(folder / "drawing.pdf").pages[0]
    text = page.extract_text()
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
