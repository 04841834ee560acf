"""The bench's word on a job folder: grades read, spares and names moved, the lists written anew, all or nothing."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np

from armature.commission import Commission
from armature.errors import FileError
from armature.leaves import Bench, LeafPlan
from armature.leaves.assigning import GRADES
from armature.leaves.drawn_text import read_designs
from armature.leaves.grades import read_grades, read_pairs
from armature.leaves.kept import kept_plan, renamed
from armature.leaves.letters import stamp_heights
from armature.leaves.plan import SPARE, panel_sizes, places_of
from armature.leaves.plates import Layout, stored_layout
from armature.leaves.regrading import Regraded, Stamps, regraded
from armature.records.csv_text import csv_text
from armature.records.design import design_json, load
from armature.records.folder import job_folder, sums
from armature.records.leaf_tables import leaves_csv
from armature.records.leaf_writing import LAYOUT, OUTLINES, write_names
from armature.records.tables import hang_points_csv


def read_bench_folder(folder: Path) -> Bench:
    """Return what an earlier run and the bench have left in a job's `leaves/` folder; nothing where no grades are."""
    grades, swaps, names = folder / "grades.csv", folder / "swaps.csv", folder / "stamping.csv"
    if not grades.is_file():
        return Bench()
    held = read_pairs(names, "name") if names.is_file() else {}
    return Bench(read_grades(grades), {}, held, read_pairs(swaps, "spare") if swaps.is_file() else {})


def grade_job(job: Path, grades: Path) -> Regraded:
    """Take the bench's grades into a job folder, and return what they change.

    Raises CommissionError for a label or grade that is none, FileError where the folder holds no leaves.
    """
    tree, commission = load(job)
    folder = job / "leaves"
    designs, layout = read_designs(folder / OUTLINES), _layout(folder / LAYOUT)
    before = read_bench_folder(folder)
    plan = kept_plan(commission, tree, designs, layout, before)
    spares = {
        label: design
        for plate, labels in zip(layout.plates if layout else (), plan.blanks, strict=True)
        for label, design in zip(labels, plate.designs.tolist(), strict=True)
        if label.startswith(SPARE)
    }
    given = read_grades(grades, [*tree.leaves.tags.tolist(), *spares])
    bench = Bench({**before.grades, **given}, before.stamped, before.held, before.swaps)
    found = _regraded(plan, commission, bench, spares)
    plan = renamed(plan, commission, found.leaves, found.bench)
    with job_folder(job) as aside:
        _link(job, aside)
        _write(aside, plan, commission, found)
    return found


def _layout(file: Path) -> Layout | None:
    if not file.is_file():
        return None
    found = stored_layout(file.read_text(encoding="utf-8"), None)
    if found is None:
        raise FileError(file, "holds no layout of plates")
    return found


def _regraded(plan: LeafPlan, commission: Commission, bench: Bench, spares: dict[str, int]) -> Regraded:
    leaves, lettering = plan.tree.leaves, commission.leaves.lettering
    named = np.flatnonzero(leaves.names != "")
    places = places_of(plan.hung, bench.grades_of(leaves.tags.tolist()), plan.worth)
    stamps = Stamps(panel_sizes(plan.panels), stamp_heights(lettering.least, lettering.most), lettering.lines)
    return regraded(bench, leaves.names[named].tolist(), named, places, leaves.designs, spares, stamps)


def _link(job: Path, aside: Path) -> None:
    """Give the files of the last run a second name aside; the user's own are carried over by the folder itself."""
    for name in sums(job):
        source, place = job / name, aside / name
        if source.is_file():
            place.parent.mkdir(parents=True, exist_ok=True)
            os.link(source, place)


def _write(aside: Path, plan: LeafPlan, commission: Commission, found: Regraded) -> None:
    tree, bench, folder = plan.tree, found.bench, aside / "leaves"
    texts = {
        aside / "design.json": design_json(tree, commission),
        aside / "hang_points.csv": hang_points_csv(tree),
        folder / "leaves.csv": leaves_csv(plan),
        folder / "grades.csv": _columns("leaf", "grade", {t: GRADES[g] for t, g in sorted(bench.grades.items())}),
        folder / "swaps.csv": _columns("leaf", "spare", dict(sorted(bench.swaps.items()))),
        folder / "again.csv": csv_text(
            {
                "design": np.array(list(found.again), dtype=np.int64),
                "leaves": np.array(list(found.again.values()), dtype=np.int64),
            }
        ),
    }
    for path, text in texts.items():
        # What is linked must not be written through: the old folder stands until the new one is whole.
        path.unlink(missing_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")
    write_names(plan, commission, folder)


def _columns(first: str, second: str, rows: dict[str, str]) -> str:
    return csv_text({first: np.array(list(rows), dtype=np.str_), second: np.array(list(rows.values()), dtype=np.str_)})
