"""Laying all leaves on plates: kept layouts first, then a search, sizes checked before."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from armature.errors import CommissionError
from armature.leaves.arcs import polygon
from armature.leaves.filling import filled
from armature.leaves.outlines import Design
from armature.leaves.plates import Layout, Rules, allowed_turns, layout_key, stored_layout, turned_boxes


def lay_plates(
    designs: Sequence[Design],
    counts: Sequence[int],
    sizes: Sequence[tuple[float, float]],
    rules: Rules,
    offcuts: Sequence[tuple[float, float]] = (),
    stored: str | None = None,
) -> Layout:
    """Return all leaves laid on plates: `counts` leaves of each design, spares included.

    sizes: plates (width, height) in mm that can be bought, preferred first. offcuts: pieces used first, each once.
    stored: the text of an earlier layout (`layout_text`); it is taken as it is where it answers the same job.
    Raises CommissionError where a leaf is larger than every plate.
    """
    key = layout_key(designs, counts, sizes, rules, offcuts)
    if stored is not None:
        kept = stored_layout(stored, key)
        if kept is not None:
            return kept
    _check_sizes(designs, counts, [*sizes, *offcuts], rules)
    plates, engine = filled(designs, np.asarray(counts, dtype=np.int64), sizes, offcuts, rules)
    return Layout(tuple(plates), engine, key)


def _check_sizes(
    designs: Sequence[Design], counts: Sequence[int], sizes: Sequence[tuple[float, float]], rules: Rules
) -> None:
    """A leaf fits a plate if some turn of it fits the plate's inside, tried degree by degree."""
    insides = [sorted((w - 2 * rules.margin, h - 2 * rules.margin)) for w, h in sizes]
    for design, count in zip(designs, counts, strict=True):
        points = polygon(design.outline, 0.2).exterior.coords
        boxes = [sorted(box) for box in turned_boxes(np.asarray(points), allowed_turns(rules, 1.0))]
        if count and not any(b[0] <= i[0] and b[1] <= i[1] for b in boxes for i in insides):
            small = min(boxes, key=lambda b: b[0] * b[1])
            leaf = f"leaf design {design.number} ({small[0]:.0f} x {small[1]:.0f} mm)"
            rule = f"{leaf} must fit a plate within its margins"
            raise CommissionError("leaves.plates.sizes", rule, [f"{w:g} x {h:g} mm" for w, h in sizes])
