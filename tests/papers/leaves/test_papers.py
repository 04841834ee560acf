"""The leaves' part of a job, written and read back with other programs."""

import csv
import json
import re
import shutil
from collections import Counter
from pathlib import Path

import numpy as np
import pytest
import shapely
from ezdxf import path as dxf_path
from ezdxf.filemanagement import readfile
from pypdf import PdfReader

from armature.commission import read
from armature.edge import FileError
from armature.grow import grow
from armature.job.bench_folder import read_bench_folder
from armature.job.folder import job_folder
from armature.job.grading import grade_job
from armature.job.leaves import leaf_finding, write_leaves
from armature.job.records import write_lists
from armature.leaves import LeafPlan, plan_leaves
from armature.leaves.naming.bench import Bench
from armature.leaves.nesting.kinds import kinds_of
from armature.leaves.nesting.plates import counts_on

NAMES = ["<b>x</b>", "=1+1", "Zoë Lind", "明 王", "Ada Rao", "</script>", "O'Brien & Søn"]
TEXT = """title = "Gate rowan"
seed = 3
canopy = {height = "3 m"}
growth = {limbs = 3, branches = 8, twigs = 40}
[leaves]
count = 54
designs = 3
names = "names.csv"
[leaves.lettering]
least = "1.5 mm"
[leaves.plates]
seconds = 0
sizes = [["12 in", "12 in"]]
"""


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, LeafPlan]:
    """Return a written job folder and its plan."""
    home = tmp_path_factory.mktemp("leaves")
    (home / "names.csv").write_text("\n".join(NAMES), encoding="utf-8")
    (home / "job.toml").write_text(TEXT, encoding="utf-8")
    commission = read(home / "job.toml")
    plan = plan_leaves(commission, grow(commission))
    with job_folder(home / "job") as aside:
        write_lists(aside, plan.tree, commission)
        write_leaves(plan, commission, aside / "leaves")
    return home / "job", plan


def rows(file: Path) -> list[dict[str, str]]:
    with file.open(encoding="utf-8", newline="") as text:
        return list(csv.DictReader(text))


def test_plates_read_back_from_dxf_keep_web_and_margin(job: tuple[Path, LeafPlan]) -> None:
    folder, plan = job
    assert plan.layout is not None
    for number, (plate, _) in enumerate(kinds_of(plan.layout.plates), 1):
        document = readfile(folder / "leaves" / f"plate-{number:02d}.dxf")
        assert document.units == 4
        assert not document.audit().errors
        space = document.modelspace()
        cuts = [
            shapely.Polygon([(p.x, p.y) for p in dxf_path.make_path(e).flattening(0.005)])
            for e in space.query('LWPOLYLINE[layer=="CUT"]')
        ]
        assert len(cuts) == len(plate) == len(space.query('LWPOLYLINE[layer=="EYE"]'))
        inner = shapely.box(5, 5, plate.width - 5, plate.height - 5).buffer(0.02)
        assert all(inner.contains(c) for c in cuts)
        gaps = [one.distance(two) for k, one in enumerate(cuts) for two in cuts[k + 1 :]]
        assert min(gaps) >= 3.0
        kinds = [e.dxf.layer for e in space if e.dxf.layer in ("EYE", "CUT")]
        assert kinds == sorted(kinds, reverse=True), "holes before outlines"


def test_every_leaf_is_cut_once_and_spares_are_counted(job: tuple[Path, LeafPlan]) -> None:
    folder, plan = job
    cut = Counter(row["leaf"] for row in rows(folder / "leaves" / "blanks.csv"))
    assert set(cut.values()) == {1}
    assert set(plan.tree.leaves.tags.tolist()) <= set(cut)
    used = np.bincount(plan.tree.leaves.designs)[1:]
    assert plan.layout is not None
    laid = sum(counts_on(p, plan.designs) for p in plan.layout.plates)
    assert (laid >= used + np.ceil(used * 0.05)).all(), "spares as asked, and what fewer drawings bring"
    assert sum(1 for label in cut if label.startswith("x")) == int((laid - used).sum())


def test_names_show_as_typed_in_page_list_and_pdf(job: tuple[Path, LeafPlan]) -> None:
    folder, _ = job
    page = (folder / "leaves" / "finder.html").read_text(encoding="utf-8")
    data = json.loads(re.search(r'<script type="application/json" id="data">(.*?)</script>', page, re.S)[1])  # type: ignore[index]
    assert sorted(n[0] for n in data["names"]) == sorted(NAMES)
    assert "<b>x</b>" not in page
    assert page.count("</script>") == 2
    listed = {row["name"] for row in rows(folder / "leaves" / "stamping.csv")}
    assert listed == {n if n[0] != "=" else "'" + n for n in NAMES}
    text = "".join(p.extract_text() for p in PdfReader(folder / "leaves" / "names.pdf").pages)
    for name in ("<b>x</b>", "=1+1", "Zoë Lind", "</script>"):
        assert name in text


def test_finder_asks_nothing_from_outside(job: tuple[Path, LeafPlan]) -> None:
    page = (job[0] / "leaves" / "finder.html").read_text(encoding="utf-8")
    assert not re.search(
        r"(?:https?:)?//[a-z]|src=|@import|url\(", re.sub(r'id="data">.*?</script>', "", page, flags=re.S)
    )
    assert "default-src 'none'" in page


def test_stamping_drawings_are_full_size(job: tuple[Path, LeafPlan]) -> None:
    pages = PdfReader(job[0] / "leaves" / "stamping.pdf").pages
    assert float(pages[0].mediabox.width) == pytest.approx(210 / 25.4 * 72, abs=0.1)


def test_the_same_job_gives_the_same_bytes(job: tuple[Path, LeafPlan], tmp_path: Path) -> None:
    folder, _ = job
    commission = read(folder.parent / "job.toml")
    write_leaves(plan_leaves(commission, grow(commission)), commission, tmp_path / "leaves")
    for file in sorted(p for p in (tmp_path / "leaves").rglob("*") if p.is_file()):
        name = file.relative_to(tmp_path)
        assert file.read_bytes() == (folder / name).read_bytes(), name


def test_kept_plates_are_used_again(job: tuple[Path, LeafPlan]) -> None:
    folder, plan = job
    commission = read(folder.parent / "job.toml")
    stored = (folder / "leaves" / "plates.json").read_text(encoding="utf-8")
    again = plan_leaves(commission, grow(commission), stored)
    assert again.layout is not None
    assert plan.layout is not None
    assert again.layout.key == plan.layout.key
    assert again.blanks == plan.blanks


def test_grades_move_the_name_and_a_second_make_keeps_it(job: tuple[Path, LeafPlan], tmp_path: Path) -> None:
    folder, plan = job
    named = int(np.flatnonzero(plan.tree.leaves.names == "Ada Rao")[0])
    design, tag = int(plan.tree.leaves.designs[named]), str(plan.tree.leaves.tags[named])
    spares = [r["leaf"] for r in rows(folder / "leaves" / "blanks.csv") if r["leaf"].startswith(f"x{design}-")]
    grades = tmp_path / "grades.csv"
    lines = [f"{tag},scrap", *(f"{s},scrap" for s in spares)]
    grades.write_text("\n".join(["leaf,grade", *lines]), encoding="utf-8")
    found = grade_job(folder, grades)
    assert found.again == {design: 1}
    assert [(name, before) for name, before, _ in found.moved] == [("Ada Rao", tag)]
    after = {r["name"]: r["leaf"] for r in rows(folder / "leaves" / "stamping.csv")}
    assert after["Ada Rao"] == found.moved[0][2]
    commission = read(folder.parent / "job.toml")
    bench = read_bench_folder(folder / "leaves")
    again = plan_leaves(commission, grow(commission), bench=bench, plates=False)
    leaves = again.tree.leaves
    kept = {str(n): str(t) for n, t in zip(leaves.names, leaves.tags, strict=True) if n}
    assert kept["Ada Rao"] == after["Ada Rao"]
    assert kept == {n.lstrip("'"): t for n, t in after.items()}


def test_a_folder_without_grades_holds_nothing_back(tmp_path: Path) -> None:
    assert read_bench_folder(tmp_path) == Bench()


def test_a_hand_edit_that_breaks_the_web_is_told_and_not_cut(job: tuple[Path, LeafPlan], tmp_path: Path) -> None:
    folder = job[0]
    commission = read(folder.parent / "job.toml")
    stored = json.loads((folder / "leaves" / "plates.json").read_text(encoding="utf-8"))
    stored["plates"][0]["shifts"][0] = stored["plates"][0]["shifts"][1]
    again = plan_leaves(commission, grow(commission), json.dumps(stored))
    write_leaves(again, commission, tmp_path / "leaves")
    assert (tmp_path / "leaves" / "plates.json").read_bytes() == (folder / "leaves" / "plates.json").read_bytes()
    assert "laid anew: plate 1: lea" in (tmp_path / "leaves" / "notes.md").read_text(encoding="utf-8")
    assert any("laid anew" in note for note in leaf_finding(again, 0.25).notes)


def test_grades_are_not_taken_into_plates_that_are_not_the_design_s(job: tuple[Path, LeafPlan], tmp_path: Path) -> None:
    folder, plan = job
    copy = tmp_path / "job"
    shutil.copytree(folder, copy)
    kept = copy / "leaves" / "plates.json"
    stored = json.loads(kept.read_text(encoding="utf-8"))
    for row in ("designs", "turns", "shifts"):
        del stored["plates"][0][row][:8]
    kept.write_text(json.dumps(stored), encoding="utf-8")
    grades = tmp_path / "grades.csv"
    grades.write_text(f"leaf,grade\n{plan.tree.leaves.tags[0]},best\n", encoding="utf-8")
    before = {p: p.read_bytes() for p in sorted(copy.rglob("*")) if p.is_file()}
    with pytest.raises(FileError, match=r"plates\.json: does not answer its design: .* are wanted"):
        grade_job(copy, grades)
    assert {p: p.read_bytes() for p in sorted(copy.rglob("*")) if p.is_file()} == before


def test_notes_set_the_sheet_beside_the_smith_s_rule(job: tuple[Path, LeafPlan]) -> None:
    folder, plan = job
    assert plan.layout is not None
    laid = sum(len(p) for p in plan.layout.plates)
    # Plates of 12 by 12 inches are square feet.
    each = laid / len(plan.layout.plates)
    text = (folder / "leaves" / "notes.md").read_text(encoding="utf-8")
    assert f"{laid} leaves with spares, {each:.1f} from a square foot, {929.0304 / each:.0f} cm2" in text
