"""Drawings and leaves photographed on the marked sheet come back in true size."""

from pathlib import Path
from zlib import crc32

import cv2
import numpy as np
import pytest
import shapely

from armature.edge import ArmatureError, FileError
from armature.leaves.outline.arcs import flattened as chords
from armature.leaves.outline.artist import artist_design
from armature.leaves.tracing import Traced, trace, traced_svg
from armature.marks import flattened, found_markers, marked_sheet, read_photo
from tests.leaves.designs import family
from tests.marks.photos import SCALE, paper, photographed

SHEET = marked_sheet("A4")
DESIGN = family(4, 130.0)[2]
RING = chords(DESIGN.outline, 0.02)
MIDDLE = np.array([105.0, 75.0])


def on_paper(points: np.ndarray) -> np.ndarray:
    """Pixels of the printed sheet for points of the design, its eye at MIDDLE, y up."""
    return np.asarray(np.round(((points * [1.0, -1.0]) + MIDDLE) * SCALE * 16), dtype=np.int32)


def leaf(drawn: bool, hidden: int = 0, copies: int = 1) -> np.ndarray:
    picture = paper(SHEET, hidden)
    for copy in range(copies):
        ring = on_paper(RING) if copies == 1 else on_paper(RING * 0.45 + [(-30, 34)[copy], 0.0])
        if drawn:
            cv2.polylines(picture, [ring], True, (60, 60, 60), round(0.8 * SCALE), cv2.LINE_AA, 4)
            for vein in DESIGN.veins:
                cv2.polylines(picture, [on_paper(chords(vein, 0.1))], False, (70, 70, 70), 5, cv2.LINE_AA, 4)
        else:
            cv2.fillPoly(picture, [ring], (60, 120, 70), cv2.LINE_AA, 4)
            for vein in DESIGN.veins:
                cv2.polylines(picture, [on_paper(chords(vein, 0.1))], False, (110, 185, 130), 6, cv2.LINE_AA, 4)
    return picture


def apart(one: np.ndarray, other: np.ndarray) -> float:
    """Farthest that two outlines lie apart once their middles are laid together, mm."""
    a, b = shapely.Polygon(one), shapely.Polygon(other)
    shift = np.array(a.centroid.coords[0]) - np.array(b.centroid.coords[0])
    return float(a.exterior.hausdorff_distance(shapely.Polygon(other + shift).exterior))


@pytest.fixture(scope="module")
def photographs(tmp_path_factory: pytest.TempPathFactory) -> dict[bool, Path]:
    """The drawn leaf and the real one, photographed."""
    home = tmp_path_factory.mktemp("photographs")
    return {drawn: photographed(leaf(drawn), home / f"{drawn}.jpg") for drawn in (True, False)}


@pytest.fixture(scope="module")
def traced(photographs: dict[bool, Path]) -> dict[bool, Traced]:
    return {drawn: trace(file) for drawn, file in photographs.items()}


@pytest.mark.parametrize("drawn", [True, False])
def test_an_outline_comes_back_within_half_a_millimetre(traced: dict[bool, Traced], drawn: bool) -> None:
    """A telephone's pixel is 0.13 mm here; the sharp apex is what is rounded most."""
    found = traced[drawn]
    assert found.drawn is drawn
    size, wanted = np.ptp(found.outline, axis=0), np.ptp(RING, axis=0)
    assert size == pytest.approx(wanted, abs=0.6)
    assert shapely.Polygon(found.outline).area == pytest.approx(shapely.Polygon(RING).area, rel=0.006)
    assert apart(found.outline, RING) < 1.5
    assert len(found.veins) >= 3
    if drawn:
        assert found.line == pytest.approx(0.8, abs=0.35)


def test_what_was_traced_is_read_as_the_artist_s_own_outline(traced: dict[bool, Traced], tmp_path: Path) -> None:
    file = tmp_path / "leaf.svg"
    file.write_text(traced_svg(traced[True]), encoding="utf-8")
    design = artist_design(file, 1, 4.0, 2.0, 1.0)
    assert design.shape.is_valid
    assert np.ptp(np.asarray(design.shape.exterior.coords)[:, 1]) == pytest.approx(np.ptp(RING[:, 1]), abs=0.8)


def test_two_hidden_markers_do_not_matter_and_three_do(tmp_path: Path) -> None:
    file = photographed(leaf(True, hidden=2), tmp_path / "two.jpg")
    assert trace(file).error < 1.5
    with pytest.raises(FileError, match="shows 3 of the six markers"):
        trace(photographed(leaf(True, hidden=3), tmp_path / "three.jpg"))


def test_places_on_the_flattened_sheet_are_true(photographs: dict[bool, Path]) -> None:
    file = photographs[False]
    flat = flattened(read_photo(file), SHEET, file)
    seen = found_markers(flat.picture)
    for number, corners in zip(SHEET.ids, SHEET.corners, strict=True):
        assert flat.mm(seen[number]) == pytest.approx(corners, abs=0.3)


def test_bad_photographs_are_told_in_a_line(tmp_path: Path) -> None:
    text, blank = tmp_path / "no.jpg", tmp_path / "blank.jpg"
    text.write_text("no picture")
    # The head of a picture (PNG, third edition, 11.2.1) tells how much it would unfold to.
    head = b"IHDR" + (60_000).to_bytes(4, "big") * 2 + bytes([8, 2, 0, 0, 0])
    vast = tmp_path / "vast.png"
    vast.write_bytes(b"\x89PNG\r\n\x1a\n" + (13).to_bytes(4, "big") + head + crc32(head).to_bytes(4, "big"))
    for file, words in (
        (tmp_path / "none.jpg", "no such file"),
        (text, "no photograph"),
        (vast, "megapixels"),
        (photographed(paper(SHEET), blank), "nothing between the markers"),
        (photographed(leaf(False, copies=2), tmp_path / "two.jpg"), "more than one thing"),
    ):
        with pytest.raises(ArmatureError, match=words) as told:
            trace(file)
        assert "\n" not in str(told.value)
