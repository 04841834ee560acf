"""The leaves of a finished design as they hang: read back from its job folder, nothing moved, named or laid anew."""

from __future__ import annotations

from pathlib import Path

from armature.commission import Commission
from armature.edge import FileError, read_bytes
from armature.job.leaves import LAYOUT, OUTLINES, PANELS
from armature.leaves import LeafPlan, kept_plan, read_given
from armature.leaves.naming import Bench
from armature.leaves.nesting import Layout, stored_layout
from armature.leaves.outline import read_designs
from armature.tree import Tree

# Bytes of a layout: a million leaves.
_LARGEST = 100_000_000


def finished_leaves(design: Path, tree: Tree, commission: Commission, plates: bool = True) -> LeafPlan:
    """Return the plan of the leaves of a design, a job folder or its design.json, as they hang on its tree.

    Designs are those kept beside it, else drawn from the commission. plates: whether the layout kept beside it is taken
    too. Raises FileError where what is kept cannot be read or does not answer the tree.
    """
    folder = (design if design.is_dir() else design.parent) / "leaves"
    outlines = folder / OUTLINES
    designs = read_designs(outlines) if outlines.is_file() else read_given(commission, plates=False).designs
    layout = kept_layout(folder / LAYOUT) if plates else None
    return kept_plan(commission, tree, designs, layout, Bench(), None, kept_panels(folder))


def kept_panels(folder: Path) -> str:
    """Return the text of the panels kept in a job's `leaves/` folder, nothing where there is none."""
    kept = folder / PANELS
    return _text(kept) if kept.is_file() else ""


def read_layout(folder: Path) -> str | None:
    """Return the text of the layout kept in a job's `leaves/` folder, as it stands there; None where there is none."""
    kept = folder / LAYOUT
    return _text(kept) if kept.is_file() else None


def kept_layout(file: Path) -> Layout | None:
    """Return the layout kept in a file, nothing where there is none. Raises FileError where it cannot be read."""
    if not file.is_file():
        return None
    layout = stored_layout(_text(file), None)
    if layout is None:
        raise FileError(file, "holds no layout of plates")
    return layout


def _text(file: Path) -> str:
    return read_bytes(file, _LARGEST, "layout of plates").decode("utf-8", "replace")
