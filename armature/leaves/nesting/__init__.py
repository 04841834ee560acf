"""Leaves on plates, and the order in which the table cuts them."""

from __future__ import annotations

from armature.leaves.nesting.cuts import Cut, plate_cuts
from armature.leaves.nesting.kinds import kinds_of
from armature.leaves.nesting.laying import check_sizes, lay_plates, with_spares
from armature.leaves.nesting.plates import Layout, Plate, Rules, density, layout_text, placed_shapes, stored_layout
from armature.leaves.nesting.reusing import layout_faults
from armature.leaves.nesting.tabs import PIN, pins, tabbed

__all__ = [
    "PIN",
    "Cut",
    "Layout",
    "Plate",
    "Rules",
    "check_sizes",
    "density",
    "kinds_of",
    "lay_plates",
    "layout_faults",
    "layout_text",
    "pins",
    "placed_shapes",
    "plate_cuts",
    "stored_layout",
    "tabbed",
    "with_spares",
]
