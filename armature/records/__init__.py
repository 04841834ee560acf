"""The job folder: what a run leaves for the shop.

    with job_folder(path) as aside:                     # nothing stands at `path` before the block has ended
        write_records(aside, tree, commission)          # design.json, the lists, tree.swc, mesh/
        write_summary(aside, tree, commission, {"look": Finding("reads as grown", {"score": 81.0})})
    tree, commission = load(path)

`write_records` is `writing.write_lists` and `writing.write_meshes`, for callers that show progress between them;
`Finding` stands in `summary`, leaves of one's own for the meshes are a `foliage.Foliage`.
"""

from __future__ import annotations

from armature.records.design import load
from armature.records.folder import job_folder
from armature.records.writing import write_records, write_summary

__all__ = ["job_folder", "load", "write_records", "write_summary"]
