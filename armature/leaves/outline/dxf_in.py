"""Curves of a DXF file as points in mm."""

from __future__ import annotations

import logging
from pathlib import Path as File
from typing import Any

import numpy as np
from ezdxf import path as dxf_path
from ezdxf import units
from ezdxf.enums import InsertUnits
from ezdxf.filemanagement import readfile
from ezdxf.lldxf.const import DXFError

from armature.errors import CommissionError
from armature.leaves.outline.arcs import Points

# The library warns of all that it passes over in a file; here only what cannot be read is told.
logging.getLogger("ezdxf").addHandler(logging.NullHandler())

FLAT = 0.002
# A hundred metres: no drawing of a leaf lies further out, mm.
_FARTHEST = 1e5
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
    except Exception as error:
        # Where the tags of a file make no sense, the library stumbles over them in many ways.
        raise CommissionError(
            str(file), "must be a readable DXF file; text or binary DXF, this one is broken"
        ) from error
    if document.units == 0:
        raise CommissionError(f"{file}: $INSUNITS", "the drawing must say its units", 0)
    scale = float(units.conversion_factor(InsertUnits(document.units), InsertUnits.Millimeters))
    curves: list[Points] = []
    veins: list[Points] = []
    for entity in document.modelspace():
        if entity.dxftype() in _IGNORED:
            continue
        points = _points(file, entity, scale)
        if points is not None:
            layer = str(entity.dxf.layer).lower()
            (veins if any(word in layer for word in _VEIN_WORDS) else curves).append(points)
    return curves, veins


def _points(file: File, entity: Any, scale: float) -> Points | None:
    try:
        drawn = dxf_path.make_path(entity)
    except TypeError:
        return None
    except (DXFError, ArithmeticError, ValueError, LookupError) as error:
        raise CommissionError(str(file), f"holds a {entity.dxftype()} that is broken") from error
    corners = np.array([(p.x, p.y, p.z) for p in drawn.control_vertices()]) * scale
    if corners.size and not np.abs(corners).max() <= _FARTHEST:
        raise CommissionError(
            str(file), f"a leaf lies within {_FARTHEST / 1000:g} m of the drawing's origin", entity.dxftype()
        )
    flat = list(drawn.flattening(FLAT / scale, segments=16))
    points = np.array([(p.x, p.y) for p in flat]) * scale
    return points if len(points) > 1 else None
