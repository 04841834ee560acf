"""summary.json: the tree in counts, sizes and masses, and what look, strength and others say of it.

What other parts of the house found comes in as `Finding`s by name, so that the summary knows none of them.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from armature.commission import Commission
from armature.metals import bar_masses
from armature.shop import cut_lengths
from armature.tree import RANKS, Floats, Ints, Tree, extent, forged_masses

FORMAT, VERSION = "armature.summary", 1
Figure = float | int | str | None
CAUTIONS = (
    (
        "Hot work, zinc and copper fume, metal dust, cutting arcs, noise and lifting over people can hurt: guard eyes,"
        " ears and lungs, and keep people from under loads."
    ),
    "Strength figures are a design aid. Local codes rule; a licensed engineer has to check and sign.",
)


@dataclass(frozen=True)
class Finding:
    """What one part of the house says of a tree.

    verdict: one line. figures: numbers and words by name, names with their unit. notes: lines to be read.
    """

    verdict: str
    figures: Mapping[str, Figure] = field(default_factory=dict)
    notes: Sequence[str] = ()


def summary(
    tree: Tree,
    commission: Commission,
    findings: Mapping[str, Finding] | None = None,
    warnings: Sequence[str] = (),
    leaf_kg: float | None = None,
) -> dict[str, Any]:
    """Return the summary as plain tables for JSON; lengths mm, masses kg.

    findings: by name ("look", "strength"), in the order in which they are shown. leaf_kg: mass of all leaves where it
    is known.
    """
    cuts = cut_lengths(tree, commission)
    forged = forged_masses(tree, commission.steel.density)
    return {
        "format": FORMAT,
        "version": VERSION,
        "title": commission.title,
        "seed": commission.seed,
        "counts": _counts(tree),
        "asked": _asked(commission),
        "sizes": _sizes(tree),
        "masses": _masses(tree, commission, cuts, forged, leaf_kg),
        "ranks": [_rank(tree, rank, forged) for rank in np.unique(tree.ranks).tolist()],
        "stock": _stock(tree, commission, cuts),
        **{name: _finding(each) for name, each in (findings or {}).items()},
        "warnings": list(warnings),
        "cautions": list(CAUTIONS),
    }


def summary_json(tables: Mapping[str, Any]) -> str:
    """Return the text of summary.json from `summary`."""
    return json.dumps(tables, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def _counts(tree: Tree) -> dict[str, int]:
    plurals = ("trunk", "limbs", "branches", "branchlets", "twigs", "roots")
    by_rank = np.bincount(tree.ranks, minlength=len(RANKS)).tolist()
    return {
        "members": len(tree),
        **dict(zip(plurals, by_rank, strict=True)),
        "leaders": int(tree.has_leader),
        "bends": len(tree.chains.vertices) - 2 * len(tree),
        "joints": int((tree.parents >= 0).sum()),
        "leaves": len(tree.leaves),
        "designs": len(np.unique(tree.leaves.designs)),
        "names": int((tree.leaves.names != "").sum()),
    }


def _asked(commission: Commission) -> dict[str, float]:
    """Return sizes and counts as the commission asks for them: what was grown stays inside and may be less, counts are
    met."""
    canopy, growth = commission.canopy, commission.growth
    return {
        "height_mm": _mm(canopy.height),
        "spread_x_mm": _mm(canopy.spread[0]),
        "spread_y_mm": _mm(canopy.spread[1]),
        "limbs": growth.limbs,
        "branches": growth.branches,
        "branchlets": growth.branchlets,
        "twigs": growth.twigs,
        "roots": growth.roots,
        "leaves": commission.leaves.count,
        "designs": commission.leaves.designs,
    }


def _sizes(tree: Tree) -> dict[str, float]:
    low, high = extent(tree)
    return {
        "height_mm": _mm(high[2]),
        "spread_x_mm": _mm(high[0] - low[0]),
        "spread_y_mm": _mm(high[1] - low[1]),
        "trunk_start_mm": _mm(tree.start_diameters[0]),
        "longest_mm": _mm(tree.lengths.max()),
        "centrelines_mm": _mm(tree.lengths.sum()),
    }


def _masses(
    tree: Tree, commission: Commission, cuts: Floats, forged: Floats, leaf_kg: float | None
) -> dict[str, float | None]:
    bought = _metre_masses(tree, commission) * cuts / 1000.0
    return {
        "steel_kg": round(float(forged.sum()), 3),
        "stock_kg": round(float(bought.sum()), 3),
        "heaviest_kg": round(float(forged.max()), 3),
        "leaves_kg": None if leaf_kg is None else round(leaf_kg, 3),
    }


def _metre_masses(tree: Tree, commission: Commission) -> Floats:
    """Return kg a metre of each member's stock: (M,), pipe less its bore."""
    density = commission.steel.density
    return bar_masses(tree.stock_diameters, density, tree.walls)


def _rank(tree: Tree, rank: int, forged: Floats) -> dict[str, Any]:
    rows = tree.of_rank(rank)
    starts, ends = tree.start_diameters[rows], tree.end_diameters[rows]
    return {
        "rank": RANKS[rank],
        "members": len(rows),
        "start_mm": [_mm(starts.min()), _mm(starts.max())],
        "end_mm": [_mm(ends.min()), _mm(ends.max())],
        "pipes": _pipes(tree, rows),
        "length_mm": _mm(tree.lengths[rows].sum()),
        "mass_kg": round(float(forged[rows].sum()), 3),
    }


def _pipes(tree: Tree, rows: Ints) -> list[list[float]]:
    """Return the pipes among some members as [outside mm, wall mm, members], thinnest first."""
    own = rows[tree.walls[rows] > 0.0]
    sizes, counts = np.unique(
        np.stack([tree.stock_diameters[own], tree.walls[own]], axis=1), axis=0, return_counts=True
    )
    return [[_mm(d), _mm(wall), count] for (d, wall), count in zip(sizes.tolist(), counts.tolist(), strict=True)]


def _stock(tree: Tree, commission: Commission, cuts: Floats) -> list[dict[str, Any]]:
    kinds, kind = np.unique(np.stack([tree.stock_diameters, tree.walls], axis=1), axis=0, return_inverse=True)
    bought = _metre_masses(tree, commission) * cuts / 1000.0
    return [
        {
            "stock_mm": _mm(diameter),
            "wall_mm": _mm(wall),
            "pieces": int((kind == at).sum()),
            "cut_mm": _mm(cuts[kind == at].sum()),
            "mass_kg": round(float(bought[kind == at].sum()), 3),
        }
        for at, (diameter, wall) in enumerate(kinds.tolist())
    ]


def _finding(finding: Finding) -> dict[str, Any]:
    figures = {name: _told(value) for name, value in finding.figures.items()}
    return {"verdict": finding.verdict, **figures, "notes": list(finding.notes)}


def _told(value: Any) -> Figure:
    """Return a figure as JSON holds it: rounded so that it repeats, nothing where there is no number."""
    if isinstance(value, np.generic):
        value = value.item()
    if isinstance(value, float):
        return round(value, 6) if math.isfinite(value) else None
    return value if isinstance(value, int | str) or value is None else str(value)


def _mm(value: float) -> float:
    return round(float(value), 6) + 0.0
