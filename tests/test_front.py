"""The front door: `import armature as am`, its nine verbs, and what they say of wrong input and of themselves."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import armature as am
from armature.commission import Commission
from armature.edge import ArmatureError
from armature.tree import Tree

ROOT = Path(am.__file__).parent.parent
TEXT = (
    'title = "Ditch alder"\ncanopy.height = "2 m"\ngrowth = {limbs = 2, branches = 6, twigs = 30}\nleaves.count = 40\n'
)
VERBS = ("read", "grow", "judge", "refine", "assess", "plan", "make", "load", "save")


@pytest.fixture(scope="module")
def commission() -> Commission:
    return am.read(TEXT)


@pytest.fixture(scope="module")
def tree(commission: Commission) -> Tree:
    grown: Tree = am.grow(commission)
    return grown


def test_the_package_alone_brings_in_nothing_heavy() -> None:
    asked = "import sys, armature; print(sorted({'numpy', 'pydantic', 'armature.front', 'typer'} & set(sys.modules)))"
    said = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "[]"


def test_the_verbs_stay_verbs_when_rooms_of_the_same_name_are_entered() -> None:
    asked = (
        "from armature.grow import grow; from armature.make import PARTS; import armature.grow, armature as am;"
        f"print([callable(getattr(am, verb)) for verb in {VERBS}], set({VERBS}) <= set(dir(am)))"
    )
    said = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == f"{[True] * 9} True"
    assert am.ArmatureError is ArmatureError
    with pytest.raises(AttributeError):
        am.nothing  # noqa: B018


def test_records_say_in_a_line_what_they_are(commission: Commission, tree: Tree, tmp_path: Path) -> None:
    assert repr(commission) == (
        "Commission 'Ditch alder': rounded, 2 m high; 2 limbs, 6 branches, 30 twigs, 40 leaves; seed 1"
    )
    size = re.fullmatch(
        r"Tree: 1 trunk, 2 limbs, 6 branches, 30 twigs, 40 leaves; (\S+) m high, (\S+) by (\S+) m", repr(tree)
    )
    assert size
    assert float(size[1]) == pytest.approx(2.0, abs=0.1)
    plans = am.plan(commission)
    assert plans.shop is not None
    assert plans.strength is not None
    assert f"{plans.shop.masses.sum():.0f} kg" in repr(plans.shop)
    assert f"{plans.strength.ratios.max():.2f}" in repr(plans.strength)
    assert "wind not checked" in repr(plans.strength)
    assert f"{plans.verdict.overall:.0f} of 100" in repr(plans.verdict)
    assert repr(plans.leaves).startswith("LeafPlan: 40 leaves of ")
    skip = ["plates", "shop", "papers", "mesh", "pictures", "mending", "strength"]
    made = am.make(commission, tmp_path / "job", skip=skip)
    assert repr(made).startswith(f"Made {tmp_path / 'job'}: Tree: 1 trunk, ")
    assert made._repr_png_() is None
    (tmp_path / "job" / "view").mkdir()
    (tmp_path / "job" / "view" / "sheet.png").write_bytes(b"a picture")
    assert made._repr_png_() == b"a picture"
    for record in (commission, tree, plans.verdict, plans.leaves, plans.strength, plans.shop, made):
        assert len(repr(record)) < 400
        assert "\n" not in repr(record)


def test_a_notebook_is_shown_every_member_and_leaf_of_a_tree(tree: Tree) -> None:
    shown = tree._repr_html_()
    assert shown.count("<path") == len(tree)
    assert shown.count("<circle") == len(tree.leaves)
    assert shown.endswith(repr(tree))
    # The topmost point touches the upper edge, the foot the lower one.
    heights = [float(y) for y in re.findall(r"[M ][-0-9.]+,([-0-9.]+)", shown)]
    assert min(heights) == pytest.approx(8.0, abs=0.1)
    assert max(heights) == pytest.approx(352.0, abs=0.1)


@pytest.mark.parametrize(
    "ask",
    [
        lambda c, t, _: am.grow("x"),  # type: ignore[arg-type]
        lambda c, t, _: am.grow(t),
        lambda c, t, _: am.read(3),  # type: ignore[arg-type]
        lambda c, t, _: am.read("no-such.toml"),
        lambda c, t, _: am.judge(3),  # type: ignore[arg-type]
        lambda c, t, _: am.judge("no-such.swc"),
        lambda c, t, _: am.refine(c, c),
        lambda c, t, _: am.refine(t, t),
        lambda c, t, _: am.refine(t, c, rounds=0),
        lambda c, t, _: am.refine(t, c, made="A01"),
        lambda c, t, _: am.refine(t, c, made=3),  # type: ignore[arg-type]
        lambda c, t, _: am.refine(t, c, made=["ZZ"]),
        lambda c, t, _: am.assess(c, t),
        lambda c, t, _: am.plan(t),
        lambda c, t, _: am.plan(c, c),
        lambda c, t, folder: am.make(t, folder / "job"),
        lambda c, t, folder: am.make(c, 3),  # type: ignore[arg-type]
        lambda c, t, folder: am.make(c, folder / "job", skip="plates"),
        lambda c, t, folder: am.make(c, folder / "job", skip=["lists"]),
        lambda c, t, folder: am.load(folder / "none"),
        lambda c, t, _: am.load(None),  # type: ignore[arg-type]
        lambda c, t, folder: am.save(t, c, folder / "tree.txt"),
        lambda c, t, folder: am.save(t, c, folder / "none" / "tree.json"),
        lambda c, t, folder: am.save(c, t, folder / "tree.json"),
        lambda c, t, _: Commission(title="x"),  # type: ignore[call-arg]
        lambda c, t, _: Commission(title="x", canopy={"height": "-3 m"}, growth={}, leaves={}),
    ],
)
def test_wrong_input_is_told_in_one_line_and_nothing_is_written(
    commission: Commission, tree: Tree, tmp_path: Path, ask: Callable[[Any, Any, Path], Any]
) -> None:
    with pytest.raises(ArmatureError) as told:
        ask(commission, tree, tmp_path)
    assert len(str(told.value)) < 300
    assert "\n" not in str(told.value)
    assert list(tmp_path.iterdir()) == []


def test_a_design_is_saved_and_loaded_and_never_into_a_job(commission: Commission, tree: Tree, tmp_path: Path) -> None:
    file = am.save(tree, commission, tmp_path / "design.json")
    back, read = am.load(file)
    assert back.same_as(tree.rounded())
    assert read == commission
    (tmp_path / "joints.csv").write_text("")
    with pytest.raises(ArmatureError, match="does not write into a job folder"):
        am.save(tree, commission, file)


def test_what_the_page_on_python_tells_to_type_runs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("MPLBACKEND", "Agg")
    page = (ROOT / "docs" / "python.md").read_text(encoding="utf-8")
    blocks = re.findall(r"```python\n(.*?)```", page, re.DOTALL)
    assert len(blocks) == 4
    names: dict[str, Any] = {}
    for block in blocks:
        exec(block, names)
    said = capsys.readouterr().out
    assert "Tree: 1 trunk, 3 limbs, 12 branches, 90 twigs, 270 leaves" in said
    assert names["best"] == max(names["looks"], key=names["looks"].get)
    assert names["new"] == [f"A01-{1 + sum(tag.startswith('A01-') for tag in names['tree'].tags.tolist())}"]
    assert am.load("fuller.json")[0].same_as(names["fuller"])
    assert (tmp_path / "crown.png").stat().st_size > 10_000
