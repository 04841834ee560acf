from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from armature.job.look import write_look
from armature.look import judged
from armature.look.axes import skeleton_of_nodes
from armature.look.skeleton import Skeleton
from armature.look.verdict import Verdict
from armature.papers.look.drawings import ACCENT, COOL, fault_picture, framed, side_by_side, stand_back
from tests.look.faults import hole
from tests.look.made import MADE
from tests.look.naturals import natural


@pytest.fixture(scope="module")
def spoilt() -> tuple[Skeleton, Verdict]:
    tree = skeleton_of_nodes(MADE["whorled"]())
    return tree, judged(tree)


def share_near(picture: Image.Image, colour: tuple[int, int, int]) -> float:
    pixels = np.asarray(picture, dtype=int)
    return float((np.abs(pixels - colour).max(axis=2) < 24).mean())


def test_offenders_are_marked_in_the_picture_of_a_finding(spoilt: tuple[Skeleton, Verdict]) -> None:
    tree, verdict = spoilt
    fault = next(f for f in verdict.faults if len(f.rows))
    picture = fault_picture(tree, fault)
    assert picture.size == (1000, 1100)
    assert share_near(picture, ACCENT) > 0.002


def test_the_stand_back_sheet_rings_empty_and_crowded_spots() -> None:
    tree = hole(skeleton_of_nodes(natural(1)), 2, np.random.default_rng(0)).tree
    sheet = stand_back(tree, judged(tree))
    assert sheet.size == (1800, 1240)
    assert share_near(sheet, COOL) > 0.0005
    assert share_near(sheet, ACCENT) > 0.0005


def test_a_frame_holds_the_whole_tree_from_every_side() -> None:
    tree = skeleton_of_nodes(natural(3))
    for azimuth in np.arange(0.0, 360.0, 30.0):
        at = framed(tree, float(azimuth), (100.0, 50.0, 700.0, 650.0)).put(tree.points)
        assert (at >= [100.0, 50.0]).all()
        assert (at <= [700.0, 650.0]).all()


def test_a_whole_judgement_is_written(spoilt: tuple[Skeleton, Verdict], tmp_path: Path) -> None:
    tree, verdict = spoilt
    files = write_look(tmp_path, tree, verdict, name="whorled")
    names = [file.name for file in files]
    assert names[:3] == ["look.json", "look.md", "stand_back.png"]
    assert len(names) == 3 + min(len(verdict.faults), 12)
    assert names[3] == f"look-01-{verdict.faults[0].name}.png"
    assert all(file.stat().st_size > 500 for file in files)


def test_before_and_after_stand_side_by_side() -> None:
    tree = skeleton_of_nodes(natural(3))
    picture = side_by_side(tree, tree, np.array([3, 4]), (70.0, 80.0))
    assert picture.size == (1600, 1900)
    left, right = picture.crop((0, 0, 800, 1900)), picture.crop((800, 0, 1600, 1900))
    assert share_near(left, COOL) > 0.0005 > share_near(left, ACCENT)
    assert share_near(right, ACCENT) > 0.0005
