"""Drawings as artists bring them: nested, used again, hidden in part, with gaps, in blocks and without units."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from ezdxf import units
from ezdxf.filemanagement import new

from armature.edge import CommissionError
from armature.leaves.outline import Design
from armature.leaves.outline.arcs import path_area
from armature.leaves.outline.artist import artist_design
from armature.leaves.outline.svg_in import read_svg

HEAD = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
LEAF = '<path id="leaf" d="M50 5 C90 30 80 70 50 95 C20 70 10 30 50 5 Z"/>'


def drawing(folder: Path, body: str, page: str = 'width="100mm" height="100mm" viewBox="0 0 100 100"') -> Path:
    (folder / "leaf.svg").write_text(f"<svg {HEAD} {page}>{body}</svg>")
    return folder / "leaf.svg"


def design(file: Path, **more: float | str) -> Design:
    return artist_design(file, 1, 4.0, 2.0, 1.0, **more)  # type: ignore[arg-type]


def area(folder: Path, body: str, page: str = 'width="100mm" height="100mm" viewBox="0 0 100 100"') -> float:
    return float(path_area(design(drawing(folder, body, page)).outline))


@pytest.mark.parametrize(
    ("body", "scale"),
    [
        (f'<svg x="10" y="10" width="50" height="50" viewBox="0 0 100 100">{LEAF}</svg>', 0.5),
        (f'<svg width="50%" height="50%" viewBox="0 0 100 100">{LEAF}</svg>', 0.5),
        (f'<svg width="50mm" height="60mm" viewBox="0 0 100 100">{LEAF}</svg>', 50.0 / 25.4 * 96.0 / 100.0),
        (f'<defs>{LEAF}</defs><use href="#leaf" x="3" transform="scale(.5)"/>', 0.5),
        (f'<defs><g id="a">{LEAF}</g></defs><use xlink:href="#a"/>', 1.0),
        (f'<symbol id="s" viewBox="0 0 100 100">{LEAF}</symbol><use href="#s" width="40" height="40"/>', 0.4),
        (f'{LEAF}<g display="none">{LEAF}</g><g style="display : none"><rect width="90" height="90"/></g>', 1.0),
        (f'<style>.off {{ display: none }}</style>{LEAF}<path class="off" d="M0 0H99V99Z"/>', 1.0),
        (f'{LEAF}<g visibility="hidden"><path d="M0 0H99V99Z"/></g>', 1.0),
        (f'<switch>{LEAF}<path d="M0 0H99V99Z"/></switch><text x="3" y="9">note</text><!-- note -->', 1.0),
    ],
)
def test_structure_gives_the_size_that_was_drawn(body: str, scale: float, tmp_path: Path) -> None:
    whole = area(tmp_path, LEAF)
    assert area(tmp_path, body) == pytest.approx(whole * scale**2, rel=2e-3)


def test_a_page_of_another_shape_than_its_view_box_fits_the_drawing_in(tmp_path: Path) -> None:
    whole = area(tmp_path, LEAF)
    assert area(tmp_path, LEAF, 'width="100mm" height="50mm" viewBox="0 0 100 100"') == pytest.approx(
        whole / 4, rel=2e-3
    )
    stretched = 'width="100mm" height="50mm" viewBox="0 0 100 100" preserveAspectRatio="none"'
    assert area(tmp_path, LEAF, stretched) == pytest.approx(whole / 2, rel=2e-3)


def test_rounded_rectangles_come_back_round(tmp_path: Path) -> None:
    wanted = 60.0 * 80.0 - (4.0 - np.pi) * 10.0**2
    assert area(tmp_path, '<rect x="5" y="5" width="60" height="80" rx="10"/>') == pytest.approx(wanted, rel=1e-3)
    ellipse = '<rect x="5" y="5" width="60" height="80" rx="90" ry="90"/>'
    assert area(tmp_path, ellipse) == pytest.approx(np.pi * 30.0 * 40.0, rel=1e-3)


@pytest.mark.parametrize(
    ("body", "says"),
    [
        ('<image id="scan" x="3" width="5" height="5"/>', "image 'scan', at (3, 0): only curves can be cut"),
        ('<use href="other.svg#leaf"/>', "must stand in the same drawing"),
        ('<g id="a"><use href="#a"/></g>', "32 deep"),
        ('<circle cx="5" r="1em"/>', "r must be in px, mm"),
        ('<g transform="' + "scale(" * 20_000 + '"/>', "unknown transform"),
        ('<path d="M0 0 A' + "1" * 200_000 + '"/>', "A needs 7 numbers"),
        ('<path d="M0 0' + "L1 1" * 30_000 + '"/>', "at most 20,000 pieces"),
        ('<g style="transform: scale(2)"/>', "a transform stands in the attribute"),
    ],
)
def test_what_cannot_be_read_is_refused_by_name(body: str, says: str, tmp_path: Path) -> None:
    with pytest.raises(CommissionError) as told:
        read_svg(drawing(tmp_path, LEAF + body))
    assert says in str(told.value)
    assert len(str(told.value)) < 300


def test_many_uses_of_uses_are_bounded(tmp_path: Path) -> None:
    rows = "".join(f'<g id="g{k}"><use href="#g{k + 1}"/><use href="#g{k + 1}"/></g>' for k in range(20))
    with pytest.raises(CommissionError, match="at most 5,000 parts"):
        read_svg(drawing(tmp_path, f'{rows}<g id="g20">{LEAF}</g>'))


@pytest.mark.parametrize("gap", [0.1, 0.76, 0.99])
def test_a_gap_up_to_the_stated_size_is_closed_and_a_wider_one_refused(gap: float, tmp_path: Path) -> None:
    body = f'<path d="M10 10 H60 V90"/><path d="M60 {90 + gap} H10 V{10 + gap}"/>'
    assert area(tmp_path, body) == pytest.approx(50.0 * 80.0, rel=0.02)
    with pytest.raises(CommissionError, match=r"gaps to 0\.05 mm aside"):
        design(drawing(tmp_path, body), gap=0.05)


def test_an_open_line_inside_the_outline_is_a_vein(tmp_path: Path) -> None:
    assert len(design(drawing(tmp_path, LEAF + '<path d="M50 30 V80"/><path d="M50 50 L65 40"/>')).veins) == 2
    with pytest.raises(CommissionError, match="the outline must close"):
        design(drawing(tmp_path, LEAF + '<path d="M150 30 V80"/>'))


def test_a_dxf_without_units_is_read_in_those_that_are_stated(tmp_path: Path) -> None:
    document = new("R12")
    document.modelspace().add_polyline2d([(0, 0), (2, 0), (2, 3), (0, 3)], close=True)
    document.saveas(tmp_path / "leaf.dxf")
    with pytest.raises(CommissionError, match=r"or leaves\.outline\.dxf_units does"):
        design(tmp_path / "leaf.dxf")
    assert path_area(design(tmp_path / "leaf.dxf", dxf_units="inch").outline) == pytest.approx(6.0 * 25.4**2, rel=1e-6)


def test_blocks_splines_and_hidden_layers_of_a_dxf(tmp_path: Path) -> None:
    document = new("R2010", units=units.MM)
    block = document.blocks.new("LEAF")
    block.add_lwpolyline([(0, 0), (40, 0), (40, 60), (0, 60)], close=True)
    document.layers.add("notes").off()
    document.modelspace().add_blockref("LEAF", (5, 5), {"xscale": 1.5, "yscale": 1.5})
    document.modelspace().add_circle((0, 0), 90, {"layer": "notes"})
    document.modelspace().add_spline([(15, 30), (30, 50), (50, 70)])
    document.saveas(tmp_path / "leaf.dxf")
    leaf = design(tmp_path / "leaf.dxf")
    assert path_area(leaf.outline) == pytest.approx(40.0 * 60.0 * 1.5**2, rel=1e-6)
    assert len(leaf.veins) == 1
