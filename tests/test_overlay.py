"""A photograph of a half-made crown, made up, laid over its plan."""

from pathlib import Path

import cv2
import numpy as np
import pytest

from armature.commission import read
from armature.edge import ArmatureError
from armature.grow import grow
from armature.marks import Camera, marker_squares, read_photo, read_stand, stood
from armature.overlay import overlay, silhouette
from armature.tree import TWIG, Tree

WIDE, HIGH, FOCUS = 1600, 1200, 1500.0
EYE = np.array([300.0, -6500.0, 1500.0])
MARKS = {
    20: (-1500.0, -300.0, 300.0),
    21: (1500.0, -200.0, 400.0),
    22: (-900.0, 900.0, 2600.0),
    23: (1100.0, 400.0, 250.0),
    24: (-1700.0, 100.0, 2200.0),
}


def camera() -> Camera:
    ahead = np.array([0.0, 0.0, 1500.0]) - EYE
    ahead /= np.linalg.norm(ahead)
    right = np.cross(ahead, [0.0, 0.0, 1.0])
    right /= np.linalg.norm(right)
    turn = np.stack([right, np.cross(ahead, right), ahead])
    return Camera(turn, EYE, FOCUS, np.array([WIDE / 2, HIGH / 2]), 0.0)


def scene(tree: Tree, rows: list[int], file: Path, marks: int = 5) -> Path:
    """What the camera sees: members `rows` dark before a pale sheet, and printed marks of 200 mm that face it."""
    one, picture = camera(), np.full((HIGH, WIDE, 3), 225, np.uint8)
    picture[silhouette(tree, one, (HIGH, WIDE), rows)] = 50
    for number, place in list(MARKS.items())[:marks]:
        for side, black in ((130.0, False), (100.0, True)):
            corners = np.array(place) + np.array(
                [[-side, 0, side], [side, 0, side], [side, 0, -side], [-side, 0, -side]]
            )
            four = one.seen(corners)[0].astype(np.float32)
            shade = np.where(marker_squares(number) & black, 25, 225).astype(np.uint8)
            tile = np.kron(shade, np.ones((16, 16), np.uint8))
            flat = np.array([[0, 0], [96, 0], [96, 96], [0, 96]], dtype=np.float32)
            turn = cv2.getPerspectiveTransform(flat, four)
            laid = cv2.warpPerspective(tile, turn, (WIDE, HIGH))
            hit = cv2.warpPerspective(np.full((96, 96), 255, np.uint8), turn, (WIDE, HIGH)) > 127
            picture[hit] = laid[hit][:, None]
    cv2.imwrite(str(file), cv2.GaussianBlur(picture, (0, 0), 0.7))
    return file


@pytest.fixture(scope="module")
def tree(tmp_path_factory: pytest.TempPathFactory) -> Tree:
    file = tmp_path_factory.mktemp("plan") / "tree.toml"
    text = """title = "Gate rowan"
seed = 3
canopy = {height = "3 m"}
growth = {limbs = 3, branches = 8, twigs = 40}
leaves = {count = 0}
"""
    file.write_text(text, encoding="utf-8")
    return grow(read(file))


@pytest.fixture
def stand(tmp_path: Path) -> Path:
    file = tmp_path / "stand.csv"
    rows = [f"{k},{x},{y},{z}" for k, (x, y, z) in MARKS.items()] + [f"eye,{EYE[0] + 20},{EYE[1] - 15},{EYE[2] + 10}"]
    file.write_text("mark,x_mm,y_mm,z_mm\n" + "\n".join(rows), encoding="utf-8")
    return file


def test_the_camera_is_where_it_stood(tree: Tree, stand: Path, tmp_path: Path) -> None:
    photo = scene(tree, list(range(len(tree))), tmp_path / "all.png")
    found = stood(read_photo(photo), photo, *read_stand(stand))
    points = np.random.default_rng(1).uniform([-1000, -1000, 500], [1000, 1000, 3000], (50, 3))
    assert np.abs(found.seen(points)[0] - camera().seen(points)[0]).max() < 8.0, "half a per cent of the picture"
    assert found.focus == pytest.approx(FOCUS, rel=0.03)


def test_a_whole_crown_has_no_thin_fields_to_speak_of(tree: Tree, stand: Path, tmp_path: Path) -> None:
    photo = scene(tree, list(range(len(tree))), tmp_path / "all.png")
    found = overlay(tree, photo, stand, tree.tags.tolist())
    assert found.helps == ()
    assert np.abs(found.fields).mean() < 0.01


def test_the_twigs_that_are_missing_are_those_that_help(tree: Tree, stand: Path, tmp_path: Path) -> None:
    twigs = np.flatnonzero(tree.ranks == TWIG).tolist()
    missing = {str(tree.tags[row]) for row in twigs[::5]}
    stands = [row for row in range(len(tree)) if str(tree.tags[row]) not in missing]
    photo = scene(tree, stands, tmp_path / "part.png")
    found = overlay(tree, photo, stand, [str(tree.tags[row]) for row in stands])
    helping = [tag for tag, _ in found.helps]
    assert helping
    assert set(helping) <= missing
    assert len(helping) >= len(missing) // 3


def test_what_the_photograph_lacks_is_told_in_a_line(tree: Tree, stand: Path, tmp_path: Path) -> None:
    few = scene(tree, [0], tmp_path / "few.png", marks=3)
    bad = tmp_path / "bad.csv"
    bad.write_text("mark,x_mm,y_mm,z_mm\n20,1,2,far\n", encoding="utf-8")
    for photo, places, made, words in (
        (few, stand, [], "shows 3 of the 5 marks"),
        (few, bad, [], "row 2 must be a mark's number"),
        (few, stand, ["Z99"], "no member of that tag"),
        (tmp_path / "none.png", stand, [], "no such file"),
    ):
        with pytest.raises(ArmatureError, match=words) as told:
            overlay(tree, photo, places, made)
        assert "\n" not in str(told.value)
