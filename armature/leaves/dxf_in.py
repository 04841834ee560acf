"""Curves of a DXF file as points in mm."""

from __future__ import annotations

from pathlib import Path as File
from typing import Any

import numpy as np
from ezdxf import path as dxf_path
from ezdxf import units
from ezdxf.enums import InsertUnits
from ezdxf.filemanagement import readfile
from ezdxf.lldxf.const import DXFError

from armature.errors import CommissionError
from armature.leaves.arcs import Points

FLAT = 0.002
_VEIN_WORDS = ("vein", "etch")
_IGNORED = {"TEXT", "MTEXT", "DIMENSION", "POINT", "HATCH", "LEADER"}


def read_dxf(file: File) -> tuple[list[Points], list[Points]]:
    """Return the curves to cut and the vein lines of a DXF's model space, (N, 2) points in mm, y up.

    Raises CommissionError where the file is no DXF, or does not say its units.
    """
    try:
        document = readfile(file)
    except (OSError, DXFError) as error:
        raise CommissionError(str(file), f"must be a readable DXF file: {error}") from error
    if document.units == 0:
        raise CommissionError(f"{file}: $INSUNITS", "the drawing must say its units", 0)
    scale = float(units.conversion_factor(InsertUnits(document.units), InsertUnits.Millimeters))
    curves: list[Points] = []
    veins: list[Points] = []
    for entity in document.modelspace():
        if entity.dxftype() in _IGNORED:
            continue
        points = _points(entity, scale)
        layer = str(entity.dxf.layer).lower()
        if points is not None:
            (veins if any(word in layer for word in _VEIN_WORDS) else curves).append(points)
    return curves, veins


def _points(entity: Any, scale: float) -> Points | None:
    try:
        drawn = dxf_path.make_path(entity)
    except TypeError:
        return None
    flat = list(drawn.flattening(FLAT / scale, segments=16))
    points = np.array([(p.x, p.y) for p in flat]) * scale
    return points if len(points) > 1 else None
