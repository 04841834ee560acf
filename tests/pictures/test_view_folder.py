"""Everything in view/."""

from __future__ import annotations

import shutil
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from armature.commission import Commission, changed
from armature.edge import CommissionError, FileError
from armature.make import make
from armature.pictures import Showing, facts, still_names, write_view
from armature.pictures.scene import staged
from armature.pictures.stills import drawn_each, saved
from armature.pictures.turntable import turned, turntable
from armature.pictures.view_folder import STILLS
from tests.pictures.scenes import small

BARE = ("mending", "plates", "strength", "shop", "papers", "mesh")


def _asked() -> Commission:
    return changed(small()[0], {"pictures.gif": True})


@pytest.fixture(scope="module")
def fine_job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a job of fine stills and a film."""
    job = tmp_path_factory.mktemp("fine") / "job"
    heard: list[float] = []
    make(_asked(), job, BARE, lambda _what, share: heard.append(share), fine=True)
    assert heard == sorted(heard)
    assert heard[-1] == 1.0
    return job


@pytest.fixture(scope="module")
def folder(fine_job: Path) -> Path:
    return fine_job / "view"


def _opened(path: Path) -> np.ndarray:
    with Image.open(path) as seen:
        return np.asarray(seen).astype(int)


@pytest.mark.parametrize("name", [*STILLS, "front-bare", "quarter-bare"])
def test_every_still_has_its_size_and_is_neither_blank_nor_black(folder: Path, name: str) -> None:
    seen = _opened(folder / f"{name}.png")
    assert seen.shape == (300, 240, 3)
    assert seen.std() > 8.0
    assert 40.0 < seen.mean() < 235.0
    assert (seen.max(axis=2) < 80).mean() > 0.003


def test_a_bare_tree_shows_no_copper_and_one_in_leaf_does(folder: Path) -> None:
    copper = []
    for name in ("front", "front-bare"):
        seen = _opened(folder / f"{name}.png")
        copper.append(((seen[..., 0] > seen[..., 1] + 30) & (seen[..., 1] > seen[..., 2] + 10)).sum())
    assert copper[0] > 200
    assert copper[1] < 0.03 * copper[0]


def test_the_sheet_has_no_empty_frame(folder: Path) -> None:
    seen = _opened(folder / "sheet.png")
    paper = (np.abs(seen - [246, 243, 236]).max(axis=2) < 6).mean()
    assert 0.25 < paper < 0.55


def test_the_film_turns_once_in_the_frames_asked_for(folder: Path) -> None:
    film = cv2.VideoCapture(str(folder / "turntable.mp4"))
    frames = []
    while (found := film.read())[0]:
        frames.append(found[1].astype(int))
    film.release()
    assert [frame.shape for frame in frames] == [(96, 96, 3)] * 6
    # The camera goes round: no two frames are alike, and the one after the last would be the first.
    apart = [np.abs(frames[0] - frame).mean() for frame in frames[1:]]
    assert min(apart) > 2.0
    with Image.open(folder / "turntable.gif") as gif:
        assert getattr(gif, "n_frames") == 3  # noqa: B009


def test_a_film_keeps_every_part_of_the_tree_in_the_picture() -> None:
    tree = small()[1]
    bars = staged(tree, leaves=False, rays=0, fine=0.5).without("ground", "figure")
    for seen in turned(bars, 96, 4):
        # Darker than the sky: steel.
        rim = np.concatenate([seen[:2].ravel(), seen[:, :2].ravel(), seen[:, -2:].ravel()])
        assert rim.min() > 90


def _is_clear_round_the_tree(seen: np.ndarray) -> bool:
    """Return whether a still of the size asked is empty at its top and solid where the tree stands."""
    assert seen.shape == (300, 240, 4)
    return bool((seen[:10, :, 3] == 0).all() and 0.015 < (seen[..., 3] > 200).mean() < 0.6)


def test_draft_stills_are_see_through_where_asked_and_come_without_a_film(tmp_path: Path) -> None:
    commission, tree = small()
    clear = changed(commission, {"pictures.clear": True, "pictures.figure": False})
    heard: list[float] = []
    paths = write_view(
        Showing(tree, clear, facts(clear, tree)), tmp_path / "view", lambda _what, share: heard.append(share)
    )
    assert heard == sorted(heard)
    assert heard[-1] == 1.0
    assert sorted(path.name for path in paths) == sorted(path.name for path in (tmp_path / "view").iterdir())
    assert {"front.png", "sheet.png", "client.html"} <= {path.name for path in paths}
    assert not (tmp_path / "view" / "turntable.mp4").exists()
    assert _is_clear_round_the_tree(_opened(tmp_path / "view" / "front.png"))


def test_a_draft_run_leaves_fine_stills_of_the_same_piece_alone_and_takes_the_place_of_any_others(
    fine_job: Path, tmp_path: Path
) -> None:
    """Fine stills take minutes."""
    job = Path(shutil.copytree(fine_job, tmp_path / "job"))

    def stills() -> dict[str, bytes]:
        return {name: (job / "view" / name).read_bytes() for name in still_names()}

    fine = stills()
    said = make(_asked(), job, BARE).warnings
    assert any("fine stills" in line for line in said)
    assert stills() == fine
    # Once the user has touched one, none is known to be fine.
    (job / "view" / "front.png").write_bytes(fine["side.png"])
    make(_asked(), job, BARE)
    drafts = stills()
    assert all(drafts[name] != fine[name] for name in still_names())
    assert (job / "earlier" / "1" / "view" / "front.png").read_bytes() == fine["side.png"]


def test_a_fine_still_is_see_through_where_asked() -> None:
    tree = small()[1]
    scene = staged(tree, rays=0, scale_figure=False)
    assert _is_clear_round_the_tree(drawn_each(scene, tree, [("front", (240, 300))], clear=True, fine=True)[0])


def test_leaves_that_weigh_little_weigh_something() -> None:
    commission, tree = small()
    said = dict(facts(commission, tree, 0.34).rows)["Leaves weigh"]
    assert said in ("340 g", "12.0 oz")


def test_a_folder_that_is_not_there_is_said_in_one_line(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="cannot be written"):
        saved(np.zeros((20, 20, 3), np.uint8), tmp_path / "no" / "x.png")


@pytest.mark.parametrize("frames", [0, 1, 5000])
def test_a_film_of_no_frames_or_of_hours_is_refused(frames: int, tmp_path: Path) -> None:
    with pytest.raises(CommissionError, match=r"pictures\.turntable"):
        turntable(staged(small()[1], rays=0, fine=0.4), tmp_path / "x.mp4", 64, frames)
