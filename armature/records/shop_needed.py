"""What the strength report of a job folder asks of welds and base plate, for papers that are printed again."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from armature.centreline import Floats
from armature.errors import FileError
from armature.tree import Tree


def needed_welds(folder: Path, tree: Tree) -> tuple[Floats, NDArray[np.bool_]] | None:
    """Return fillet legs (M,) mm and where a groove has to be (M,), as strength.json of a folder says.

    None where there is no such file, or where it speaks of another tree. Raises FileError for one that cannot be read.
    """
    path = folder / "strength.json"
    if not path.is_file():
        return None
    try:
        joints = {str(each["tag"]): each for each in json.loads(path.read_text("utf-8"))["welds"]["joints"]}
        if set(joints) != set(tree.tags.tolist()):
            return None
        own = [joints[tag] for tag in tree.tags.tolist()]
        grooves = np.array([bool(each["groove"]) for each in own])
        legs = np.array([0.0 if each["groove"] else float(each["leg_mm"]) for each in own])
    except (OSError, UnicodeDecodeError, ValueError, KeyError, TypeError) as fault:
        raise FileError(path, f"cannot be read as a strength report: {fault}") from None
    return legs, grooves


def needed_plate(folder: Path) -> tuple[float, float] | None:
    """Return side and thickness, mm, of the base plate that strength.json of a folder asks for, or None.

    Raises FileError for one that cannot be read.
    """
    path = folder / "strength.json"
    if not path.is_file():
        return None
    try:
        said = json.loads(path.read_text("utf-8"))
        if "foot" not in said:
            return None
        rods = said["foot"]["anchors"]
        return float(rods["plate_side_mm"]), float(rods["plate_thickness_mm"])
    except (OSError, UnicodeDecodeError, ValueError, KeyError, TypeError) as fault:
        raise FileError(path, f"cannot be read as a strength report: {fault}") from None
