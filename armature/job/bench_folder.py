"""What the bench has said, kept in the job's `leaves/` folder from run to run."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from pathlib import Path

import numpy as np

from armature.edge import CommissionError
from armature.files import csv_rows, piles_csv
from armature.leaves import LeafPlan
from armature.leaves.naming import (
    GRADES,
    SCRAP,
    Bench,
    read_grades,
    read_pairs,
    read_piles,
    read_record,
    read_signed,
    record_columns,
)

GRADES_FILE, SWAPS, AGAIN = "grades.csv", "swaps.csv", "again.csv"
PILES, RECORD, SIGNED = "piles.csv", "record.csv", "approvals/names.csv"


def read_bench_folder(folder: Path) -> Bench:
    """Return what an earlier run and the bench have left in a job's `leaves/` folder.

    Before it has said anything that is the design of each leaf alone: leaves that the commission's own files call
    graded or stamped keep it.
    """
    grades, swaps, names = folder / GRADES_FILE, folder / SWAPS, folder / "stamping.csv"
    designs = _designs(folder / "leaves.csv")
    piles = read_piles(folder / PILES) if (folder / PILES).is_file() else {}
    record, signed = read_record(folder / RECORD), read_signed(folder.parent / SIGNED)
    if not (grades.is_file() or piles or record or signed):
        return Bench(designs=designs)
    graded = read_grades(grades) if grades.is_file() else {}
    names_held = read_pairs(names, "name") if names.is_file() else {}
    waiting = frozenset(tag for tag in names_held if graded.get(tag) == SCRAP)
    spares = read_pairs(swaps, "spare") if swaps.is_file() else {}
    return Bench(graded, {}, names_held, spares, waiting, designs, piles, record, signed)


def _designs(file: Path) -> dict[str, int]:
    if not file.is_file():
        return {}
    designs = read_pairs(file, "design")
    for tag, number in designs.items():
        if not number.isdecimal():
            raise CommissionError(str(file), f"the design of {tag} must be a number", number)
    return {tag: int(number) for tag, number in designs.items()}


def bench_texts(bench: Bench, plan: LeafPlan) -> dict[str, str]:
    """Return the files that carry the bench's word to the next run: none before it has said anything.

    `again.csv` counts the leaves of the plan that are scrap, by design: what to cut again.
    """
    texts = {}
    if bench.record:
        texts[RECORD] = csv_rows(record_columns(bench.record))
    if bench.piles:
        texts[PILES] = piles_csv(bench.piles)
    if bench.grades:
        texts[GRADES_FILE] = _columns("leaf", "grade", {t: GRADES[g] for t, g in sorted(bench.grades.items())})
        texts[SWAPS] = _columns("leaf", "spare", dict(sorted(bench.swaps.items())))
    if bench.grades or bench.piles:
        again = Counter(plan.tree.leaves.designs[plan.grades == SCRAP].tolist())
        designs = sorted(again)
        counts = np.array([again[d] for d in designs], dtype=np.int64)
        texts[AGAIN] = csv_rows({"design": np.array(designs, dtype=np.int64), "leaves": counts})
    return texts


def _columns(first: str, second: str, rows: Mapping[str, str]) -> str:
    return csv_rows({first: np.array(list(rows), dtype=np.str_), second: np.array(list(rows.values()), dtype=np.str_)})
