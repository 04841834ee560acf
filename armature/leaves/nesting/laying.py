"""Laying all leaves on plates: a kept layout first, if it still stands up, then a search, sizes checked before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from armature.edge import CommissionError
from armature.leaves.nesting.filling import filled
from armature.leaves.nesting.plates import Layout, Rules, allowed_turns, layout_key, stored_layout, turned_boxes
from armature.leaves.nesting.reusing import layout_faults
from armature.leaves.outline import Design, polygon

# Laying measures outlines flattened to a hundredth of a millimetre and forgives two: laid this much further apart, the
# arcs themselves keep the web.
_BESIDE = 0.04


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
    stored: the text of an earlier layout (`layout_text`); where it answers the same job it is tested anew and taken as
    it is. One that is damaged or breaks a rule is laid anew, and the layout's notes say so. Raises CommissionError
    where a leaf is larger than every plate.
    """
    key = layout_key(designs, counts, sizes, rules, offcuts)
    notes: tuple[str, ...] = ()
    kept = stored_layout(stored, None) if stored is not None else None
    if kept is not None and kept.key == key:
        faults = layout_faults(kept, designs, counts, sizes, offcuts, rules)
        if not faults:
            return kept
        notes = (_laid_anew(faults[0], len(faults) - 1),)
    elif stored is not None and kept is None:
        notes = (_laid_anew("it holds no layout", 0),)
    check_sizes(designs, counts, [*sizes, *offcuts], rules)
    roomy = replace(rules, web=rules.web + _BESIDE)
    plates, engine = filled(designs, np.asarray(counts, dtype=np.int64), sizes, offcuts, roomy)
    return Layout(tuple(plates), engine, key, notes)


def _laid_anew(fault: str, more: int) -> str:
    rest = f" (and {more} more)" if more else ""
    return f"plates.json could not be used again, plates are laid anew: {fault}{rest}; an edited file is kept beside it"


def with_spares(used: NDArray[np.int64], spares: float) -> NDArray[np.int64]:
    """Return how many leaves of each design to cut: those used (D,), and a share of spares, rounded up.

    >>> with_spares(np.array([100, 1, 0]), 0.05).tolist()
    [105, 2, 0]
    """
    return np.asarray(used + np.ceil(used * spares - 1e-9).astype(np.int64))


def check_sizes(
    designs: Sequence[Design], counts: Sequence[int], sizes: Sequence[tuple[float, float]], rules: Rules
) -> None:
    """Raise CommissionError for a design of which leaves are wanted and no plate can hold one.

    A leaf fits a plate if some turn of it fits the plate's inside, tried degree by degree.
    """
    insides = [sorted((w - 2 * rules.margin, h - 2 * rules.margin)) for w, h in sizes]
    for design, count in zip(designs, counts, strict=True):
        points = polygon(design.outline, 0.2).exterior.coords
        boxes = [sorted(box) for box in turned_boxes(np.asarray(points), allowed_turns(rules, 1.0))]
        if count and not any(b[0] <= i[0] and b[1] <= i[1] for b in boxes for i in insides):
            small = min(boxes, key=lambda b: b[0] * b[1])
            leaf = f"leaf design {design.number} ({small[0]:.0f} x {small[1]:.0f} mm)"
            rule = f"{leaf} must fit a plate within its margins"
            raise CommissionError("leaves.plates.sizes", rule, [f"{w:g} x {h:g} mm" for w, h in sizes])
