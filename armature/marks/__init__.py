"""Marked sheets: paper with six printed markers whose places are known, on which things are photographed to
measure them.

sheet = marked_sheet("A4")
flat = flattened(read_photo(path), sheet, path)     # a picture of the sheet as if seen from straight above
flat.mm(pixels)                                     # places on the sheet, mm
"""

from __future__ import annotations

from armature.marks.markers import MarkedSheet, marked_sheet, marker_squares
from armature.marks.seeing import Flat, Picture, flattened, found_markers, grey, photo_bytes, read_photo
from armature.marks.standing import Camera, read_stand, stood

__all__ = [
    "Camera",
    "Flat",
    "MarkedSheet",
    "Picture",
    "flattened",
    "found_markers",
    "grey",
    "marked_sheet",
    "marker_squares",
    "photo_bytes",
    "read_photo",
    "read_stand",
    "stood",
]
