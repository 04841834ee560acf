"""The leaf maker's lists as CSV text: leaves, designs, stamping, plates, parts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from armature.files.csv_text import csv_text
from armature.leaves import SPARE, LeafPlan
from armature.leaves.naming import GRADES, Assignment, Pile
from armature.leaves.nesting import Cut, density, kinds_of


def leaves_csv(plan: LeafPlan) -> str:
    """Return leaves.csv: a row per leaf with its place, its figures, and the plate that it is cut from."""
    leaves, hung = plan.tree.leaves, plan.hung
    cut_from = _plates_of(plan)
    return csv_text(
        {
            "leaf": leaves.tags,
            "twig": plan.tree.tags[leaves.twigs],
            "station_mm": leaves.stations,
            "design": leaves.designs,
            "name": leaves.names,
            "grade": np.array(GRADES)[plan.grades],
            **{f"{axis}_mm": hung.eyes[:, k] for k, axis in enumerate("xyz")},
            "area_mm2": np.round(hung.areas, 3),
            "mass_kg": hung.masses,
            "strike_share": np.round(hung.shares, 4),
            "moved_mm": hung.moved,
            "seen_share": np.round(plan.sight.seen, 4),
            "legible_share": np.round(plan.sight.legible, 4),
            "worth": plan.worth,
            "branch": plan.tree.tags[plan.tree.parents[leaves.twigs]],
            "plate": np.array([cut_from.get(tag, "") for tag in leaves.tags.tolist()], dtype=np.str_),
        }
    )


def designs_csv(plan: LeafPlan) -> str:
    """Return designs.csv: a row per outline with its sizes, its balance, its length of cut and its panel for a name."""
    designs, panels = plan.designs, plan.panels
    centroids = np.array([d.centroid for d in designs]).reshape(-1, 2)
    used = np.bincount(plan.tree.leaves.designs, minlength=len(designs) + 1)[1:]
    spares = _spares(plan)
    firsts = [each[0] if each else None for each in panels]
    panel = np.array([(p.x, p.y, p.width, p.height, p.turn_deg) if p else (0.0,) * 5 for p in firsts]).reshape(-1, 5)
    return csv_text(
        {
            "design": np.array([d.number for d in designs]),
            "form": np.array([d.name for d in designs], dtype=np.str_),
            "leaves": used,
            "spares": np.array([spares.get(d.number, 0) for d in designs]),
            "length_mm": np.array([d.length for d in designs]),
            "width_mm": np.array([d.blade[1] for d in designs]),
            "area_mm2": np.round(np.array([d.area for d in designs]), 3),
            "mass_kg": np.array([d.area for d in designs]) * 1e-6 * plan.sheet_kg_m2,
            "gravity_x_mm": centroids[:, 0],
            "gravity_y_mm": centroids[:, 1],
            "tilt_deg": np.array([d.tilt_deg for d in designs]),
            "hangs": np.array([d.hangs for d in designs], dtype=np.str_),
            "eye_mm": np.array([d.eye for d in designs]),
            "cut_length_mm": np.array([d.cut_length for d in designs]),
            **{
                f"panel_{key}": panel[:, k]
                for k, key in enumerate(("x_mm", "y_mm", "width_mm", "height_mm", "turn_deg"))
            },
            "line_mm": np.array([max((p.width for p in each), default=0.0) for each in panels]),
        }
    )


def stamping_csv(plan: LeafPlan) -> str:
    """Return stamping.csv: a row per name to strike, by letter size and then by tag, its lines as they break."""
    leaves = plan.tree.leaves
    rows = [(k, s) for k, s in enumerate(plan.settings) if s is not None]
    rows.sort(key=lambda row: (-row[1].height, row[1].method, str(leaves.tags[row[0]])))
    index = np.array([k for k, _ in rows], dtype=np.int64)
    most = max((len(s.lines) for _, s in rows), default=1)
    lines = {
        f"line_{n + 1}": np.array([s.lines[n] if n < len(s.lines) else "" for _, s in rows], dtype=np.str_)
        for n in range(most)
    }
    return csv_text(
        {
            "leaf": leaves.tags[index],
            "name": leaves.names[index],
            "design": leaves.designs[index],
            "letter_mm": np.array([s.height for _, s in rows], dtype=np.float64),
            "method": np.array([s.method for _, s in rows], dtype=np.str_),
            **lines,
        }
    )


def plates_csv(plan: LeafPlan, cuts: Sequence[Sequence[Cut]], feed: float, pierce: float) -> str:
    """Return plates.csv: a row per kind of plate with its leaves, its use, its cut and its runs.

    cuts: of each kind. feed: mm of cut a minute. pierce: seconds for each. Lengths, pierces and minutes are of one run.
    """
    kinds = kinds_of(plan.layout.plates) if plan.layout else []
    plates, lengths = [p for p, _ in kinds], np.array([sum(c.length for c in each) for each in cuts], dtype=np.float64)
    pierces = np.array([2 * len(each) for each in cuts], dtype=np.int64)
    return csv_text(
        {
            "plate": np.array([plate_name(k) for k in range(len(plates))], dtype=np.str_),
            "width_mm": np.array([p.width for p in plates], dtype=np.float64),
            "height_mm": np.array([p.height for p in plates], dtype=np.float64),
            "leaves": np.array([len(p) for p in plates], dtype=np.int64),
            "used_share": np.round(np.array([density([p], plan.designs) for p in plates], dtype=np.float64), 4),
            "cut_length_mm": lengths,
            "pierces": pierces,
            "runs": np.array([runs for _, runs in kinds], dtype=np.int64),
            "minutes": np.round(lengths / feed + pierces * (pierce / 60.0), 2),
        }
    )


def blanks_csv(plan: LeafPlan) -> str:
    """Return blanks.csv: a row per leaf that is cut, spares too, with the kind of plate and the run that it is of."""
    rows = [
        (name, label, design, run)
        for (name, run), plate, labels in zip(
            _runs(plan), plan.layout.plates if plan.layout else (), plan.blanks, strict=True
        )
        for label, design in zip(labels, plate.designs.tolist(), strict=True)
    ]
    return csv_text(
        {
            "plate": np.array([r[0] for r in rows], dtype=np.str_),
            "leaf": np.array([r[1] for r in rows], dtype=np.str_),
            "design": np.array([r[2] for r in rows], dtype=np.int64),
            "run": np.array([r[3] for r in rows], dtype=np.int64),
        }
    )


def parts_csv(plan: LeafPlan) -> str:
    """Return parts.csv: loops, and what keeps unlike metals apart."""
    return csv_text(
        {
            "part": np.array([p.what for p in plan.parts], dtype=np.str_),
            "count": np.array([p.count for p in plan.parts], dtype=np.int64),
            "size": np.array([p.size for p in plan.parts], dtype=np.str_),
            "stock_mm": np.array([p.stock_mm for p in plan.parts], dtype=np.float64),
            "stock_in_all_mm": np.array([p.stock_mm * p.count for p in plan.parts], dtype=np.float64),
        }
    )


def piles_csv(piles: Mapping[int, Pile]) -> str:
    """Return piles.csv: a row per design with the cuts in each bin."""
    designs = sorted(piles)
    return csv_text(
        {
            "design": np.array(designs, dtype=np.int64),
            **{
                grade: np.array([getattr(piles[d], grade) for d in designs], dtype=np.int64)
                for grade in ("best", "plain", "wild", "scrap")
            },
        }
    )


def unplaced_csv(assignment: Assignment) -> str:
    """Return unplaced.csv: a row per name that no leaf takes, and what would fit."""
    return csv_text(
        {
            "name": np.array([t.name for t in assignment.too_long], dtype=np.str_),
            "letters": np.array([t.letters for t in assignment.too_long], dtype=np.int64),
            "advice": np.array([t.advice for t in assignment.too_long], dtype=np.str_),
        }
    )


def plate_name(row: int) -> str:
    """Return the name of a plate's files.

    >>> plate_name(0)
    'plate-01'
    """
    return f"plate-{row + 1:02d}"


def _plates_of(plan: LeafPlan) -> dict[str, str]:
    return {label: name for (name, _), labels in zip(_runs(plan), plan.blanks, strict=True) for label in labels}


def _runs(plan: LeafPlan) -> list[tuple[str, int]]:
    """Name of the kind, and number of the run, of each plate."""
    names: dict[int, str] = {}
    seen: dict[int, int] = {}
    runs = []
    for plate in plan.layout.plates if plan.layout else ():
        name = names.setdefault(id(plate), plate_name(len(names)))
        seen[id(plate)] = seen.get(id(plate), 0) + 1
        runs.append((name, seen[id(plate)]))
    return runs


def _spares(plan: LeafPlan) -> dict[int, int]:
    counts: dict[int, int] = {}
    for plate, labels in zip(plan.layout.plates if plan.layout else (), plan.blanks, strict=True):
        for design, label in zip(plate.designs.tolist(), labels, strict=True):
            if label.startswith(SPARE):
                counts[design] = counts.get(design, 0) + 1
    return counts
