"""The leaf maker's papers: stamping sheets, the list of names, the finder."""

from __future__ import annotations

from armature.papers.leaves.finder import finder_page
from armature.papers.leaves.name_list import write_name_list
from armature.papers.leaves.stamping import write_stamping_drawings
from armature.papers.leaves.table_sheets import KERF_HOLE, KERF_SIDE, write_table_sheets
from armature.papers.leaves.workbook import write_name_sheet

__all__ = [
    "KERF_HOLE",
    "KERF_SIDE",
    "finder_page",
    "write_name_list",
    "write_name_sheet",
    "write_stamping_drawings",
    "write_table_sheets",
]
