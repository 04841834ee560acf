"""The tight layout: leaves packed by spyrrow into a strip as high as the plate, then cut to the plate's length."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from armature.leaves.nesting.plates import Plate, Rules, allowed_turns, placed_shapes, taken
from armature.leaves.outline import Design, polygon

try:
    import spyrrow
except ImportError:  # pragma: no cover - the raster layout serves where the package has no wheel
    spyrrow = None  # type: ignore[assignment]

Ints = NDArray[np.int64]
# Outlines are widened and coarsened by this much for the search; finer ones only slow it down (0.25 and 0.6 mm tried).
COARSE = 0.25


@dataclass(frozen=True, eq=False)
class Strip:
    """Leaves in a strip: designs (P,), turns (P,) deg, shifts (P, 2) mm from the strip's corner; its `width` in mm."""

    designs: Ints
    turns: NDArray[np.float64]
    shifts: NDArray[np.float64]
    width: float


def available() -> bool:
    """Return whether the packing library is installed."""
    return spyrrow is not None


def packed(
    designs: Sequence[Design], counts: Ints, height: float, rules: Rules, seconds: float, seed: int, workers: int = 1
) -> Strip:
    """Return `counts` leaves of each design in a strip of the given inner height, as short as `seconds` allow.

    The strip has no margins. The same seed gives the same strip only with one worker and the same number of steps in
    the given time, which is why layouts are kept.
    """
    turns = None if rules.rotation == "free" else allowed_turns(rules, 1.0)
    items = [
        spyrrow.Item(str(k), _search_shape(design), int(count), turns)
        for k, (design, count) in enumerate(zip(designs, counts, strict=True))
        if count
    ]
    job = spyrrow.StripPackingInstance("leaves", float(height), items)
    limits = spyrrow.StripPackingConfig(
        early_termination=True,
        min_items_separation=rules.web,
        total_computation_time=None,
        exploration_time=max(round(0.8 * seconds), 1),
        compression_time=max(round(0.2 * seconds), 1),
        num_workers=workers,
        seed=seed,
    )
    solution: Any = job.solve(limits)
    placed = sorted(solution.placed_items, key=lambda p: (p.translation, p.id))
    numbers = np.array([designs[int(p.id)].number for p in placed], dtype=np.int64)
    turned = np.array([p.rotation for p in placed], dtype=np.float64)
    shifts = np.array([p.translation for p in placed], dtype=np.float64).reshape(-1, 2)
    return Strip(numbers, np.round(turned, 4), np.round(shifts, 4), float(solution.width))


def within(strip: Strip, designs: Sequence[Design], length: float, height: float, margin: float) -> Plate:
    """Return the plate (length by height mm) that takes the strip's leaves as far as they lie inside its margins."""
    whole = Plate(length, height, strip.designs, strip.turns, np.round(strip.shifts + margin, 4))
    inside = shapely.box(margin, margin, length - margin, height - margin).buffer(0.02, join_style="mitre")
    keep = np.array([bool(inside.contains(s)) for s in placed_shapes(whole, designs)], dtype=bool)
    return taken(whole, keep)


def _search_shape(design: Design) -> list[tuple[float, float]]:
    """The outline widened and then coarsened so that it never cuts into the leaf."""
    rough = polygon(design.outline, 0.02).buffer(COARSE, join_style="mitre").simplify(0.9 * COARSE)
    assert isinstance(rough, Polygon)
    return [(float(x), float(y)) for x, y in rough.exterior.coords[:-1]]
