"""Plates: every leaf of every design laid on the sheets on hand, kept so that a second run gives the same plates."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from armature.leaves.outline import Design, polygon

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
_VERSION = 1
_FINE = 0.01


@dataclass(frozen=True)
class Rules:
    """How leaves may lie: least distances in mm between two leaves (`web`) and to the plate's edge (`margin`).

    rotation: free, quarter or grain (apex along the plate's long side). seconds: time to search; 0 takes the quick
    layout, which is the same on every machine. seed: of the search.
    """

    web: float = 3.0
    margin: float = 5.0
    rotation: str = "free"
    seconds: float = 60.0
    seed: int = 1


@dataclass(frozen=True, eq=False)
class Plate:
    """One sheet with P leaves: designs (P,) numbers, turns (P,) deg, shifts (P, 2) mm, on `width` by `height` mm.

    A leaf lies where its design, turned about its eye and then shifted, comes to lie; origin at the lower left.
    """

    width: float
    height: float
    designs: Ints
    turns: Floats
    shifts: Floats

    def __len__(self) -> int:
        return len(self.designs)


@dataclass(frozen=True, eq=False)
class Layout:
    """All plates in cutting order, what found them (`spyrrow` or `pressing`), and the key of the job they answer.

    notes: what to know of how they came about, a line each.
    """

    plates: tuple[Plate, ...]
    engine: str
    key: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Fault:
    """A rule that a plate breaks: which one, the value in mm found, and the leaves."""

    rule: str
    value: float
    leaves: tuple[int, ...]


def placed_shapes(plate: Plate, designs: Sequence[Design], fine: float = _FINE) -> list[Polygon]:
    """Return the outlines of a plate's leaves as they lie: P shapely polygons, chords within `fine` mm."""
    by_number = {d.number: polygon(d.outline, fine) for d in designs}
    return [
        turned_shape(by_number[int(n)], float(t), s)
        for n, t, s in zip(plate.designs, plate.turns, plate.shifts, strict=True)
    ]


def plate_faults(plate: Plate, designs: Sequence[Design], rules: Rules) -> list[Fault]:
    """Return every broken rule of one plate: leaves closer than the web, or closer to the edge than the margin.

    Tested with shapely on outlines flattened to 0.01 mm; that much is forgiven on each side.
    """
    if len(plate) == 0:
        return []
    shapes = placed_shapes(plate, designs)
    inner = shapely.box(rules.margin, rules.margin, plate.width - rules.margin, plate.height - rules.margin)
    roomy = inner.buffer(2 * _FINE, join_style="mitre")
    faults = [Fault("margin", rules.margin, (k,)) for k, s in enumerate(shapes) if not roomy.contains(s)]
    tree = shapely.STRtree(shapes)
    one, two = tree.query(shapes, predicate="dwithin", distance=rules.web - 2 * _FINE)
    for a, b in zip(one.tolist(), two.tolist(), strict=True):
        if a < b:
            faults.append(Fault("web", float(shapes[a].distance(shapes[b])), (a, b)))
    return faults


def density(plates: Sequence[Plate], designs: Sequence[Design]) -> float:
    """Return the share of the plates' area that becomes leaves, eyes counted as leaf."""
    areas = {d.number: polygon(d.outline).area for d in designs}
    used = sum(areas[int(n)] for plate in plates for n in plate.designs)
    return float(used / sum(p.width * p.height for p in plates)) if plates else 0.0


def counts_on(plate: Plate, designs: Sequence[Design]) -> Ints:
    """Return how many leaves of each design lie on a plate: (D,)."""
    numbers = np.array([d.number for d in designs], dtype=np.int64)
    return np.asarray((plate.designs[:, None] == numbers).sum(axis=0), dtype=np.int64)


def layout_key(
    designs: Sequence[Design],
    counts: Sequence[int],
    sizes: Sequence[tuple[float, float]],
    rules: Rules,
    offcuts: Sequence[tuple[float, float]] = (),
) -> str:
    """Return a key that changes with anything that decides the plates, the time given to the search excepted."""
    job = {
        "version": _VERSION,
        "outlines": [_rounded(d) for d in designs],
        "counts": [int(c) for c in counts],
        "sizes": [[round(float(v), 3) for v in s] for s in sizes],
        "offcuts": [[round(float(v), 3) for v in s] for s in offcuts],
        "rules": [rules.web, rules.margin, rules.rotation, rules.seconds > 0, rules.seed],
    }
    return hashlib.sha256(json.dumps(job, sort_keys=True).encode()).hexdigest()


def layout_text(layout: Layout) -> str:
    """Return the layout as JSON text to keep beside the plates."""
    plates = [
        {
            "width": p.width,
            "height": p.height,
            "designs": p.designs.tolist(),
            "turns": [round(t, 4) for t in p.turns.tolist()],
            "shifts": [[round(x, 4), round(y, 4)] for x, y in p.shifts.tolist()],
        }
        for p in layout.plates
    ]
    whole = {
        "format": "armature.plates",
        "version": _VERSION,
        "key": layout.key,
        "engine": layout.engine,
        "plates": plates,
    }
    return json.dumps(whole, indent=None, separators=(",", ":"), sort_keys=True) + "\n"


def stored_layout(text: str, key: str | None) -> Layout | None:
    """Return the layout kept in `text` where it answers the job of that key (None: any), else None.

    Plates alike become one, named several times.
    """
    try:
        data = json.loads(text)
        if data["version"] != _VERSION or (key is not None and data["key"] != key):
            return None
        known: dict[str, Plate] = {}
        plates = tuple(known.setdefault(json.dumps(row, sort_keys=True), _stored_plate(row)) for row in data["plates"])
        return Layout(plates, str(data["engine"]), str(data["key"]))
    except (ValueError, KeyError, TypeError, OverflowError, RecursionError):
        return None


def _stored_plate(row: dict[str, Any]) -> Plate:
    numbers = np.asarray(row["designs"], dtype=np.float64)
    turns = np.asarray(row["turns"], dtype=np.float64)
    shifts = np.asarray(row["shifts"], dtype=np.float64).reshape(-1, 2)
    width, height = float(row["width"]), float(row["height"])
    whole = bool((numbers == np.floor(numbers)).all()) and numbers.shape == turns.shape == (len(shifts),)
    sound = all(bool(np.isfinite(v).all()) for v in (numbers, turns, shifts)) and min(width, height) > 0
    if not (whole and sound and np.isfinite(max(width, height)) and np.abs(numbers).max(initial=0) < 2**31):
        raise ValueError("no plate")
    return Plate(width, height, numbers.astype(np.int64), turns, shifts)


def joined(one: Plate, two: Plate) -> Plate:
    """Return a plate of the first one's size with the leaves of both."""
    designs, turns, shifts = (
        np.concatenate([getattr(one, name), getattr(two, name)]) for name in ("designs", "turns", "shifts")
    )
    return Plate(one.width, one.height, designs, turns, shifts)


def taken(plate: Plate, keep: NDArray[np.bool_]) -> Plate:
    """Return the plate with the leaves that are kept (P,)."""
    return Plate(plate.width, plate.height, plate.designs[keep], plate.turns[keep], plate.shifts[keep])


def turned_shape(shape: Polygon, turn: float, shift: Floats) -> Polygon:
    """Return the polygon turned about the origin by `turn` degrees, then shifted."""
    a = np.deg2rad(turn)
    c, s = np.cos(a), np.sin(a)
    return shapely.transform(shape, lambda p: p @ np.array([[c, s], [-s, c]]) + shift)


def _rounded(design: Design) -> list[list[float]]:
    rows: list[list[float]] = np.round(np.column_stack([design.outline.points, design.outline.bulges]), 4).tolist()
    return rows


def allowed_turns(rules: Rules, step: float) -> list[float]:
    """Return the turns in degrees that a rotation rule allows, `step` apart where it is free.

    With the grain the apex points along the plate's long side, either way.
    """
    if rules.rotation == "free":
        return np.arange(0.0, 360.0, step).tolist()
    return [0.0, 90.0, 180.0, 270.0] if rules.rotation == "quarter" else [90.0, 270.0]


def turned_boxes(points: Floats, turns: Sequence[float]) -> list[tuple[float, float]]:
    """Return width and height in mm of the points' box at each turn."""
    a = np.deg2rad(np.asarray(turns))[:, None]
    x = points[:, 0] * np.cos(a) - points[:, 1] * np.sin(a)
    y = points[:, 0] * np.sin(a) + points[:, 1] * np.cos(a)
    return list(zip(np.ptp(x, axis=1).tolist(), np.ptp(y, axis=1).tolist(), strict=True))
