"""Papers for the table's owner and for those who keep the tree, read back by other programs."""

import csv
import io
import json
import re
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from pypdf import PdfReader

from armature.commission import Commission, read
from armature.files import Finding
from armature.grow import grow
from armature.job.care import write_care
from armature.job.leaves import write_leaves
from armature.leaves import LeafPlan, plan_leaves, rehung

TEXT = """title = "Gate hazel"
seed = 3
units = "inch"
canopy = {height = "3 m"}
growth = {limbs = 2, branches = 4, twigs = 16}
[leaves]
count = 40
designs = 3
names = "names.csv"
[leaves.plates]
sizes = [["16 in", "16 in"]]
tabs = 2
"""
NAMES = ["name,gift,wish", "Ada Rao,a bench,low", "Béla & Søn,,", "Coretta Lindqvist,,large"]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, LeafPlan, Commission]:
    """Return a job's folder with leaves/ and care/ in it, its plan and its commission."""
    home = tmp_path_factory.mktemp("handover")
    (home / "names.csv").write_text("\n".join(NAMES), encoding="utf-8")
    (home / "tree.toml").write_text(TEXT, encoding="utf-8")
    commission = read(home / "tree.toml")
    plan = plan_leaves(commission, grow(commission))
    write_leaves(plan, commission, home / "leaves")
    write_care(home / "care", plan, commission, None, None)
    return home, plan, commission


def pages(file: Path) -> list[str]:
    return [page.extract_text() for page in PdfReader(file).pages]


def words(file: Path) -> str:
    return re.sub(r"\s+", " ", " ".join(pages(file)))


def test_the_quote_sheet_adds_up_to_what_the_runs_list_says(made: tuple[Path, LeafPlan, Commission]) -> None:
    """Metres, pierces and minutes by hand: feed 3 m a minute, a second a pierce, two pierces a leaf."""
    home, plan, commission = made
    rows = list(csv.DictReader(io.StringIO((home / "leaves/table/runs.csv").read_text("utf-8"))))
    assert plan.layout is not None
    leaves = sum(len(plate) for plate in plan.layout.plates)
    metres = sum(
        float(design.cut_length) * int((plate.designs == design.number).sum())
        for plate in plan.layout.plates
        for design in plan.designs
    )
    told = words(home / "leaves/table/table.pdf")
    whole = re.search(r"in all (\d+) (\d+) (\d+) (\d+) (\d+)", told)
    assert whole is not None
    runs, laid, length, pierces, minutes = map(int, whole.groups())
    assert (runs, laid, pierces) == (len(plan.layout.plates), leaves, 2 * leaves)
    assert sum(int(row["runs"]) for row in rows) == runs
    # Lead-ins come on top: 2 mm a leaf at most, and less into each eye.
    assert metres / 1000.0 <= length + 0.5
    assert length <= metres / 1000.0 + 0.006 * leaves + 0.5
    assert minutes == pytest.approx(length / 3.0 + pierces / 60.0, abs=1.0)
    assert commission.leaves.plates.feed == 3000.0


def test_units_are_told_twice_and_the_kerf_is_read_from_the_test_piece(made: tuple[Path, LeafPlan, Commission]) -> None:
    """A cut of width k on the line leaves a square of 50 - k and a hole of 25 + k: half of what both are off is k."""
    told = words(made[0] / "leaves/table/table.pdf")
    assert "one drawing unit is 1 mm, and 25.4 units are one inch" in told
    assert "half of (50 - A) + (B - 25)" in told
    kerf = 1.3
    assert ((50 - (50 - kerf)) + ((25 + kerf) - 25)) / 2 == pytest.approx(kerf)
    assert "at 2 tabs of 0.5 mm (0.020 in)" in told
    for layer in ("HOLD", "EYE", "LEAD", "CUT", "ETCH", "LABEL"):
        assert layer in told


def test_each_design_has_a_sheet_that_shapes_it(made: tuple[Path, LeafPlan, Commission]) -> None:
    home, plan, _ = made
    sheets = pages(home / "leaves/shaping.pdf")
    assert len(sheets) == 1 + len(plan.designs)
    for step in ("Anneal:", "Veins:", "Hollow:", "Curl:", "Edges:", "shorter"):
        assert all(step in sheet for sheet in sheets[1:])
    assert "Open it sideways" in sheets[0]


def test_the_index_outlives_programs_as_plain_text_of_every_name(made: tuple[Path, LeafPlan, Commission]) -> None:
    home, plan, _ = made
    text = (home / "care/index.txt").read_text("utf-8")
    tags = dict(zip(plan.tree.leaves.names.tolist(), plan.tree.leaves.tags.tolist(), strict=True))
    for name in ("Ada Rao", "Béla & Søn", "Coretta Lindqvist"):
        assert f"{name} | {tags[name]} | " in text
    assert "a bench" in text


def test_the_engraved_plan_has_a_dot_where_each_name_hangs(made: tuple[Path, LeafPlan, Commission]) -> None:
    """Read by the standard library's own reader: dots lie as the eyes do, to one scale, and no script is in it."""
    home, plan, _ = made
    root = ElementTree.parse(home / "care/plan.svg").getroot()
    kinds = {element.tag.rsplit("}", 1)[-1] for element in root.iter()}
    assert kinds <= {"svg", "title", "g", "polyline", "circle", "path", "text"}
    dots = [e for e in root.iter() if e.tag.endswith("circle")]
    spots = np.array([(float(d.attrib["cx"]) - 100.0, 100.0 - float(d.attrib["cy"])) for d in dots])
    eyes = plan.hung.eyes[plan.tree.leaves.names != "", :2]
    scale = np.abs(spots).max() / np.abs(eyes).max()
    assert np.allclose(spots[np.lexsort(spots.T)], scale * eyes[np.lexsort(eyes.T)], atol=0.02)


def test_a_lost_leaf_can_be_made_again_from_its_designs_page(made: tuple[Path, LeafPlan, Commission]) -> None:
    home, plan, _ = made
    sheets = pages(home / "care/again.pdf")
    leaves = plan.tree.leaves
    for name in ("Ada Rao", "Coretta Lindqvist"):
        design = int(leaves.designs[leaves.names == name][0])
        own = next(sheet for sheet in sheets if f"Design {design}," in sheet)
        assert name in own
        assert "No torch near the tree" in own


def test_the_book_of_care_says_finish_inspection_spares_and_value(made: tuple[Path, LeafPlan, Commission]) -> None:
    told = words(made[0] / "care/care.pdf")
    for part in ("choose one finish", "every spring", "lost or stolen", "spare cuts of each of the 3 designs"):
        assert part in told
    # No prices were given: nothing is made up.
    assert "no prices given" in told
    assert len(pages(made[0] / "care/album.pdf")) == len(np.unique(made[1].tree.leaves.tags.astype("<U1")))


def test_the_book_of_care_has_the_rounds_of_the_strength_record(
    made: tuple[Path, LeafPlan, Commission], tmp_path: Path
) -> None:
    _, plan, commission = made
    rounds = [{"when": "every third spring", "what": "crotches, by hand"}]
    (tmp_path / "strength.json").write_text(json.dumps({"inspection": rounds}), "utf-8")
    write_care(tmp_path / "care", plan, commission, Finding("passes"), None)
    assert "every third spring crotches, by hand" in words(tmp_path / "care" / "care.pdf")


def test_the_hang_list_asks_for_every_leaf_once_under_its_twig(made: tuple[Path, LeafPlan, Commission]) -> None:
    home, plan, _ = made
    leaves, tags = plan.tree.leaves, plan.tree.tags
    found, twig = set(), ""
    for line in "\n".join(pages(home / "leaves/hanging.pdf")[1:]).splitlines():
        if line.removesuffix(", on") in tags.tolist():
            twig = line.removesuffix(", on")
        elif asked := re.match(r"(\d+) .*design (\d+)$", line):
            found.add((f"{twig}-{asked[1]}", int(asked[2])))
    assert found == set(zip(leaves.tags.tolist(), leaves.designs.tolist(), strict=True))
    told = words(home / "leaves/hanging.pdf")
    assert all(name in told for name in ("Ada Rao", "Béla & Søn", "Coretta Lindqvist"))


def test_the_proof_shows_each_name_as_struck_and_as_given(made: tuple[Path, LeafPlan, Commission]) -> None:
    told = words(made[0] / "leaves/proof.pdf")
    # As struck, then as given with gift and wish: large letters are what the office signs.
    assert re.search(r"ADA (/ )?RAO Ada Rao; a bench; wish: low", told)
    assert '"' in told
    assert "3.97 mm" not in told


def test_loops_move_again_where_thicker_bars_leave_no_room(made: tuple[Path, LeafPlan, Commission]) -> None:
    _, plan, commission = made
    tree = plan.tree
    thick = tree.coned(4.0 * tree.start_diameters, 4.0 * tree.end_diameters)
    stay, moved = (rehung(plan, commission, thick, settle) for settle in (False, True))
    strike = commission.leaves.hang.strike
    assert (moved.hung.shares > strike).sum() < (stay.hung.shares > strike).sum()
    for each in ("tags", "twigs", "designs", "names"):
        assert (getattr(moved.tree.leaves, each) == getattr(tree.leaves, each)).all()
    assert (stay.tree.leaves.stations == tree.leaves.stations).all()
