"""Leaves on plates, and the order in which the table cuts them."""

from __future__ import annotations

from armature.leaves.nesting.cuts import Cut, plate_cuts
from armature.leaves.nesting.laying import check_sizes, lay_plates, with_spares
from armature.leaves.nesting.plates import Layout, Plate, Rules, density, layout_text, stored_layout
from armature.leaves.nesting.reusing import layout_faults

__all__ = [
    "Cut",
    "Layout",
    "Plate",
    "Rules",
    "check_sizes",
    "density",
    "lay_plates",
    "layout_faults",
    "layout_text",
    "plate_cuts",
    "stored_layout",
    "with_spares",
]
