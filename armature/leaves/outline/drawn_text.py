"""Designs kept as text beside the plates, so that the bench's day does not hang on the artist's files."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path as File
from typing import Any

import numpy as np

from armature.edge import FileError, read_bytes
from armature.leaves.outline.arcs import Path
from armature.leaves.outline.outlines import Design

_LARGEST = 200_000_000  # bytes
_FORMAT, _VERSION = "armature.outlines", 2


def designs_text(designs: Sequence[Design]) -> str:
    """Return designs as JSON text, under `format` and `version`: outlines and veins as rows of x, y in mm and bulge."""
    rows = [
        {
            "number": d.number,
            "name": d.name,
            "eye": round(d.eye, 6),
            "blade": [round(v, 6) for v in d.blade],
            "outline": _rows(d.outline),
            "veins": [_rows(v) for v in d.veins],
        }
        for d in designs
    ]
    whole = {"format": _FORMAT, "version": _VERSION, "designs": rows}
    return json.dumps(whole, ensure_ascii=False, separators=(",", ":")) + "\n"


def as_kept(design: Design) -> Design:
    """Return a design as its text gives it back, so that what is first made and what is read again are the same."""
    return replace(
        design,
        outline=_path(_rows(design.outline), closed=True),
        veins=tuple(_path(_rows(vein), closed=False) for vein in design.veins),
        eye=round(design.eye, 6),
        blade=(round(design.blade[0], 6), round(design.blade[1], 6)),
    )


def read_designs(file: File) -> tuple[Design, ...]:
    """Return the designs kept in a file; raises FileError where it is missing or damaged."""
    try:
        said = json.loads(read_bytes(file, _LARGEST, "file of designs").decode("utf-8"))
        return tuple(_design(row) for row in _told(said))
    except FileError:
        raise
    except (ValueError, KeyError, TypeError, IndexError, OverflowError, RecursionError) as error:
        raise FileError(file, "holds no designs") from error


def _told(said: Any) -> list[dict[str, Any]]:
    """Return the rows of what a file says; version 1 was a list without a name. ValueError for another format."""
    if isinstance(said, list):
        return said
    if said["format"] != _FORMAT or said["version"] != _VERSION:
        raise ValueError(said["format"], said["version"])
    rows: list[dict[str, Any]] = said["designs"]
    return rows


def _rows(path: Path) -> list[list[float]]:
    rows: list[list[float]] = (np.round(np.column_stack([path.points, path.bulges]), 6) + 0.0).tolist()
    return rows


def _path(rows: Any, closed: bool) -> Path:
    table = np.asarray(rows, dtype=np.float64).reshape(-1, 3)
    return Path(table[:, :2], table[:, 2], closed)


def _design(row: dict[str, Any]) -> Design:
    veins = tuple(_path(vein, closed=False) for vein in row["veins"])
    wide, high = row["blade"]
    outline = _path(row["outline"], closed=True)
    return Design(int(row["number"]), str(row["name"]), outline, float(row["eye"]), veins, (float(wide), float(high)))
