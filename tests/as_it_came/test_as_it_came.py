"""How two small commissions came at their last approval: the figures of every stage, record and file.

No proof of truth: it says that something changed and where, not which is right. What is right is proven beside each
module. After a change that was meant to move figures, look through what moved, then write them anew:

    python -m tests.as_it_came.test_as_it_came
"""

from __future__ import annotations

import json
import re
import tempfile
from dataclasses import replace
from functools import cache
from importlib import import_module
from pathlib import Path

import numpy as np
import pytest

from armature.commission import Commission, read
from armature.job import write_look
from armature.look import skeleton_of
from armature.make import Plans
from armature.pictures import Showing, camera, packed, saved, showing_of
from armature.pictures.client_sheet import sheet
from armature.pictures.elevations import write_drawings
from armature.pictures.rays import RayStage
from armature.pictures.view_folder import _FRAMES
from armature.pictures.viewpoints import VIEWS
from armature.shop import paper_for, rebuilt
from armature.strength import demands
from armature.tree import Floats, Tree
from tests.as_it_came.figures import Figures, figures_of, figures_of_folder, strays
from tests.as_it_came.parts import PARTS
from tests.job.told_files import files_told, strangers

# By its name as a module: the verb of the front door hides it.
making = import_module("armature.make")

HERE = Path(__file__).parent
# Meshes are made by the same code for both, and cost the most.
SKIPPED = {"lane": ("pictures",), "quay": ("pictures", "mesh")}
# Figures agree to the last bit on one machine; on another, last digits of sines differ and sums carry them on. A ray
# that grazes an edge may pass on one machine and hit on another; a line may shade its pixels by a step more.
SHARES = {r"^rays\.|^fine_light|\.light$": 1e-4, r"\.png": 3e-8, "": 1e-8}


@pytest.mark.parametrize("name", SKIPPED)
def test_every_figure_of_the_plans_is_as_it_came_at_its_last_approval(name: str) -> None:
    _agrees(name, "plans", figures_of_plans(plans_of(name)))


@pytest.fixture(scope="module")
def lane(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the job folder of the tree with names."""
    return _written("lane", tmp_path_factory.mktemp("jobs"))


@pytest.fixture(scope="module")
def quay(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the job folder of the tree without names."""
    return _written("quay", tmp_path_factory.mktemp("jobs"))


def _written(name: str, home: Path) -> Path:
    write_files(name, home)
    return home / name


@pytest.mark.parametrize("name", SKIPPED)
def test_every_figure_of_the_files_is_as_it_came_at_its_last_approval(
    name: str, request: pytest.FixtureRequest
) -> None:
    _agrees(name, "files", figures_of_files(name, request.getfixturevalue(name)))


def test_the_page_on_the_job_folder_tells_every_file_and_column_and_no_other(lane: Path) -> None:
    assert strangers(lane, {"lane-names.csv"}) == []


def test_what_hangs_on_names_stands_in_the_folder_of_a_tree_with_names(lane: Path, quay: Path) -> None:
    with_names = {name for name, when in files_told().items() if when == "with names"}
    assert len(with_names) > 4
    assert all((lane / name).is_file() for name in with_names)
    assert not any((quay / name).exists() for name in with_names)


@pytest.mark.parametrize("name", SKIPPED)
def test_every_json_says_its_format_and_version(name: str, request: pytest.FixtureRequest) -> None:
    heads, job = {}, request.getfixturevalue(name)
    for path in job.rglob("*.json"):
        said = json.loads(path.read_text("utf-8"))
        heads[path.relative_to(job).as_posix()] = said["format"], type(said["version"])
    assert heads.pop("design.json") == ("armature design", int)
    assert len({form for form, _ in heads.values()}) == len(heads) > 6
    assert all(re.fullmatch(r"armature\.[a-z-]+", form) and kind is int for form, kind in heads.values())


def test_every_figure_of_scene_and_pictures_is_as_it_came_at_its_last_approval() -> None:
    _agrees("lane", "pictures", figures_of_pictures("lane"))


def test_every_figure_of_the_drawings_is_as_it_came_at_its_last_approval(tmp_path: Path) -> None:
    _agrees("lane", "drawings", figures_of_drawings("lane", tmp_path))


@pytest.mark.parametrize("name", PARTS)
def test_every_figure_of_a_part_that_no_commission_reaches_is_as_it_came(name: str, tmp_path: Path) -> None:
    then = {key: value for key, value in _read("parts", "figures").items() if key.split(".")[0] == name}
    _compared(figures_of(PARTS[name](tmp_path), name), then)


def _agrees(name: str, part: str, now: Figures) -> None:
    _compared(now, _read(name, part))


def _compared(now: Figures, then: Figures) -> None:
    moved = strays(now, then, SHARES)
    assert not moved, "\n".join([f"{len(moved)} figures moved; see this file's head", *moved[:40]])


def _read(name: str, part: str) -> Figures:
    return {key: tuple(value) for key, value in json.loads(_kept(name, part).read_text("utf-8")).items()}


def _kept(name: str, part: str) -> Path:
    return HERE / f"{name}-{part}.json"


@cache
def plans_of(name: str) -> Plans:
    """Return all that is decided about one of the commissions."""
    plans: Plans = making.planned(read(HERE / f"{name}.toml"), HERE / "none", SKIPPED[name])
    return plans


def figures_of_plans(plans: Plans) -> Figures:
    """Return the figures of all records of the plans."""
    told: Figures = figures_of(plans.tree, "tree")
    for part in ("raw", "verdict", "mending", "leaves", "strength", "shop"):
        told |= figures_of(getattr(plans, part), part, () if part == "raw" else (Tree, Commission))
    return told


def write_files(name: str, folder: Path) -> None:
    """Write the job folder of the plans, under the name of the commission."""
    plans = plans_of(name)
    with pytest.MonkeyPatch.context() as patch:
        # The plans that `make` would come to once more, which cost as much as all the files.
        patch.setattr(making, "_decided", lambda *_given: (plans, None))
        making.make(read(HERE / f"{name}.toml"), folder / name, SKIPPED[name])


def figures_of_files(name: str, job: Path) -> Figures:
    """Return the figures of the files of a job folder, and of the tree that its lists rebuild."""
    again = rebuilt(job, paper_for(read(HERE / f"{name}.toml").units))
    # How far the tree itself comes back is what arithmetic loses, which is another thing on every machine.
    parts = {"chains": again.chains, "tapers": again.tapers, "paper": again.paper_errors}
    return figures_of_folder(job) | figures_of(parts, "rebuilt")


def showing(name: str) -> Showing:
    """Return what pictures show of one of the commissions."""
    plans = plans_of(name)
    assert plans.strength is not None
    return showing_of(read(HERE / f"{name}.toml"), plans.leaves, demands(plans.strength))


def figures_of_pictures(name: str) -> Figures:
    """Return the figures of the scene, of cameras, and of small pictures by rays."""
    size, scene, tree = (72, 90), showing(name).scene(rays=4, fine=0.5), plans_of(name).tree
    # The page's bytes hang on single steps of light: a slope of light in its place is the same on any processor.
    sloped = replace(
        scene,
        parts=tuple(replace(part, colours=_slope(part.colours), light=_slope(part.light)) for part in scene.parts),
    )
    # By their names: the ground's corners, far out, would hide all others in one sum.
    told = figures_of({"sky": scene.sky, "fade": scene.fade} | {part.name: part for part in scene.parts}, "scene")
    told |= figures_of(np.frombuffer(packed(sloped, tree), dtype=np.uint8), "packed")
    rays = RayStage(scene, size)
    for view in VIEWS:
        at = camera(scene, tree, view, size)
        told |= figures_of(at, f"camera.{view}") | figures_of(rays.draw(at), f"rays.{view}")
    rays.close()
    return told


def _slope(colours: Floats) -> Floats:
    return np.linspace(0.0, 1.0, colours.size).reshape(colours.shape).astype(colours.dtype)


def figures_of_drawings(name: str, folder: Path) -> Figures:
    """Return the figures of plan and elevation, of the client's sheet around its pictures, and of the look's."""
    plans, shown = plans_of(name), showing(name)
    write_drawings(shown.tree, shown.facts, shown.commission.units, folder, shown.plate_mm)
    blank = {frame: np.zeros((high, wide, 3), dtype=np.uint8) for frame, (wide, high) in _FRAMES.items()}
    saved(sheet(shown.facts, blank), folder / "sheet.png")
    write_look(folder, skeleton_of(plans.tree), plans.verdict, (), "x", True)
    return figures_of_folder(folder, pictures=True)


def main() -> None:
    """Write the figures anew."""
    for name in SKIPPED:
        with tempfile.TemporaryDirectory() as aside:
            write_files(name, Path(aside))
            files = figures_of_files(name, Path(aside) / name)
            parts = {"plans": figures_of_plans(plans_of(name)), "files": files}
            if name == "lane":
                (Path(aside) / "pictures").mkdir()
                parts["pictures"] = figures_of_pictures(name)
                parts["drawings"] = figures_of_drawings(name, Path(aside) / "pictures")
        for part, told in parts.items():
            _keep(name, part, told)
    told = {}
    for each, part_of in PARTS.items():
        with tempfile.TemporaryDirectory() as aside:
            told |= figures_of(part_of(Path(aside)), each)
    _keep("parts", "figures", told)


def _keep(name: str, part: str, told: Figures) -> None:
    rows = ",\n".join(f"{json.dumps(key)}: {json.dumps(value)}" for key, value in sorted(told.items()))
    _kept(name, part).write_text("{\n" + rows + "\n}\n", "utf-8")
    print(f"{name}, {part}: {len(told)} figures")


if __name__ == "__main__":
    main()
