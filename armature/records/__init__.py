"""The job folder: what a run leaves for the shop.

with job_folder(path) as aside:                     # nothing stands at `path` before the block has ended
    write_records(aside, tree, commission)          # design.json, the lists, tree.swc
tree, commission = load(path)
"""

from __future__ import annotations

from armature.records.design import load
from armature.records.folder import job_folder
from armature.records.writing import write_records

__all__ = ["job_folder", "load", "write_records"]
