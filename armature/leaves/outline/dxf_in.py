"""Curves of a DXF file as points in mm."""

from __future__ import annotations

import logging
from collections.abc import Iterable, Iterator
from pathlib import Path as File
from typing import Any

import numpy as np
from ezdxf import path as dxf_path
from ezdxf import units
from ezdxf.enums import InsertUnits
from ezdxf.filemanagement import readfile
from ezdxf.lldxf.const import DXFError

from armature.edge import CommissionError, read_bytes
from armature.leaves.outline.arcs import Points

# The library warns of all that it passes over in a file; here only what cannot be read is told.
logging.getLogger("ezdxf").addHandler(logging.NullHandler())

FLAT = 0.002
# A hundred metres: no drawing of a leaf lies further out, mm.
_FARTHEST = 1e5
_VEIN_WORDS = ("vein", "etch")
_IGNORED = {"TEXT", "MTEXT", "DIMENSION", "POINT", "HATCH", "LEADER", "VIEWPORT", "ATTDEF", "ATTRIB", "XLINE", "RAY"}
_STATED = {"mm": InsertUnits.Millimeters, "inch": InsertUnits.Inches, "cm": InsertUnits.Centimeters}
_LARGEST = 20_000_000  # bytes
_MOST, _DEEPEST = 20_000, 8


def read_dxf(file: File, stated: str = "") -> tuple[list[Points], list[Points]]:
    """Return the curves to cut and the vein lines of a DXF's model space, (N, 2) points in mm, y up.

    stated: unit of a drawing that says none, as R12 never does. Raises CommissionError where the file is no DXF, or its
    units are not known.
    """
    if len(read_bytes(file, _LARGEST, "drawing")) == 0:
        raise CommissionError(str(file), "must be a readable DXF file; this one is empty")
    try:
        document = readfile(file)
    except (OSError, DXFError):
        # What the library says may quote the file.
        raise CommissionError(str(file), "must be a readable DXF file") from None
    except Exception as error:
        # Where the tags of a file make no sense, the library stumbles over them in many ways.
        raise CommissionError(
            str(file), "must be a readable DXF file; text or binary DXF, this one is broken"
        ) from error
    known = InsertUnits(document.units) if document.units else _STATED.get(stated)
    if known is None:
        raise CommissionError(
            f"{file}: $INSUNITS", "the drawing must say its units, or leaves.outline.dxf_units does", 0
        )
    scale = float(units.conversion_factor(known, InsertUnits.Millimeters))
    curves: list[Points] = []
    veins: list[Points] = []
    hidden = {layer.dxf.name.lower() for layer in document.layers if layer.is_off() or layer.is_frozen()}
    for entity in _entities(file, document.modelspace()):
        if entity.dxftype() in _IGNORED or str(entity.dxf.layer).lower() in hidden or entity.dxf.get("invisible", 0):
            continue
        points = _points(file, entity, scale)
        if points is not None:
            layer = str(entity.dxf.layer).lower()
            (veins if any(word in layer for word in _VEIN_WORDS) else curves).append(points)
    return curves, veins


def _entities(file: File, parts: Iterable[Any], depth: int = 0) -> Iterator[Any]:
    """Yield what is drawn, blocks laid open where they are inserted."""
    for count, entity in enumerate(parts):
        if count > _MOST or depth > _DEEPEST:
            raise CommissionError(str(file), f"a drawing holds at most {_MOST:,} parts, {_DEEPEST} blocks deep")
        if entity.dxftype() != "INSERT":
            yield entity
            continue
        try:
            yield from _entities(file, list(entity.virtual_entities()), depth + 1)
        except (DXFError, ArithmeticError, ValueError, LookupError, TypeError, AttributeError):
            at = entity.dxf.insert
            rule = f"holds a block {entity.dxf.name[:40]!r} at ({at.x:.1f}, {at.y:.1f}) that is broken"
            raise CommissionError(str(file), rule) from None


def _points(file: File, entity: Any, scale: float) -> Points | None:
    try:
        drawn = dxf_path.make_path(entity)
    except TypeError:
        kind, layer = entity.dxftype(), str(entity.dxf.layer)[:40]
        rule = f"holds a {kind} on layer {layer!r}, which is no curve to cut: take it out or draw it as lines"
        raise CommissionError(str(file), rule) from None
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
