"""The bench's word on a job folder: grades read, spares and names moved, the lists written anew, all or nothing."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from armature.commission import Commission
from armature.edge import CommissionError
from armature.files import design_json, hang_points_csv, leaves_csv, load
from armature.job.bench_folder import bench_texts, read_bench_folder
from armature.job.finished_leaves import kept_layout, kept_panels
from armature.job.folder import job_folder
from armature.job.leaves import LAYOUT, OUTLINES, write_names
from armature.leaves import SPARE, LeafPlan, kept_plan, panel_sizes, places_of, renamed
from armature.leaves.naming import Bench, Regraded, Stamps, read_grades, read_pairs, regraded, stamp_heights
from armature.leaves.outline import read_designs


def grade_job(job: Path, grades: Path, said: list[str] | None = None) -> Regraded:
    """Take the bench's grades into a job folder, and return what they change; said gets a line for what gave way.

    Raises CommissionError for a label or grade that is none, FileError where the folder holds no leaves.
    """
    tree, commission = load(job)
    folder = job / "leaves"
    designs, layout = read_designs(folder / OUTLINES), kept_layout(folder / LAYOUT)
    before = read_bench_folder(folder)
    plan = kept_plan(commission, tree, designs, layout, before, None, kept_panels(folder))
    plan = with_moves(plan, folder / "leaves.csv")
    spares = {
        label: design
        for plate, labels in zip(layout.plates if layout else (), plan.blanks, strict=True)
        for label, design in zip(labels, plate.designs.tolist(), strict=True)
        if label.startswith(SPARE)
    }
    given = read_grades(grades, tree.leaves.tags.tolist(), list(spares))
    bench = replace(before, grades={**before.grades, **given})
    regrading = _regraded(plan, commission, bench, spares)
    plan = renamed(plan, commission, regrading.leaves, regrading.bench)
    with job_folder(job, leftovers="stay", said=said) as aside:
        _write(aside, plan, commission, regrading)
    return regrading


def with_moves(plan: LeafPlan, file: Path) -> LeafPlan:
    """Return the plan with how far each leaf was moved along its twig when it was hung, as the last list says."""
    told = read_pairs(file, "moved_mm") if file.is_file() else {}
    try:
        moved = np.array([float(told.get(tag, 0.0)) for tag in plan.tree.leaves.tags.tolist()])
    except ValueError as error:
        raise CommissionError(f"{file}: moved_mm", f"must be numbers: {error}") from None
    return replace(plan, hung=replace(plan.hung, moved=moved))


def _regraded(plan: LeafPlan, commission: Commission, bench: Bench, spares: dict[str, int]) -> Regraded:
    leaves, lettering = plan.tree.leaves, commission.leaves.lettering
    named = np.flatnonzero(leaves.names != "")
    places = places_of(plan.hung, bench.grades_of(leaves.tags.tolist()), plan.worth)
    stamps = Stamps(
        panel_sizes(plan.panels), stamp_heights(lettering.least, lettering.most, lettering.stamps), lettering.lines
    )
    return regraded(bench, leaves.names[named].tolist(), named, places, leaves.designs, spares, stamps)


def _write(aside: Path, plan: LeafPlan, commission: Commission, regrading: Regraded) -> None:
    tree, bench, folder = plan.tree, regrading.bench, aside / "leaves"
    texts = {
        aside / "design.json": design_json(tree, commission),
        aside / "hang_points.csv": hang_points_csv(tree),
        folder / "leaves.csv": leaves_csv(plan),
        **{folder / name: text for name, text in bench_texts(bench, plan).items()},
    }
    folder.mkdir(exist_ok=True)
    for path, text in texts.items():
        path.write_text(text, encoding="utf-8", newline="\n")
    write_names(plan, commission, folder)
