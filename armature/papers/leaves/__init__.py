"""The leaf maker's papers: stamping sheets, the list of names, the finder."""

from __future__ import annotations

from armature.papers.leaves.benches import write_benches
from armature.papers.leaves.bins import bins_page, write_bins
from armature.papers.leaves.care import (
    index_text,
    plan_drawing,
    value_rows,
    write_again,
    write_album,
    write_care_book,
)
from armature.papers.leaves.finder import finder_page
from armature.papers.leaves.hang_list import write_hang_list
from armature.papers.leaves.marked_sheet import write_marked_sheet
from armature.papers.leaves.name_list import write_name_list
from armature.papers.leaves.proof import proof_page, write_proof
from armature.papers.leaves.shaping_sheets import write_shaping
from armature.papers.leaves.stamping import write_stamping_drawings
from armature.papers.leaves.table_sheets import KERF_HOLE, KERF_SIDE, write_table_sheets
from armature.papers.leaves.workbook import write_name_sheet

__all__ = [
    "KERF_HOLE",
    "KERF_SIDE",
    "bins_page",
    "finder_page",
    "index_text",
    "plan_drawing",
    "proof_page",
    "value_rows",
    "write_again",
    "write_album",
    "write_benches",
    "write_bins",
    "write_care_book",
    "write_hang_list",
    "write_marked_sheet",
    "write_name_list",
    "write_name_sheet",
    "write_proof",
    "write_shaping",
    "write_stamping_drawings",
    "write_table_sheets",
]
