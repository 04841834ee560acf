"""The job folder: written whole or not at all, with what is the user's own kept as it is.

with job_folder(path) as aside:             # nothing stands at `path` before the block has ended
    write_lists(aside, tree, commission)    # design.json, the lists, tree.swc
tree, commission = load(path)
"""

from __future__ import annotations

from armature.job.bench import grade_job
from armature.job.beside import beside_a_job, digest_of, is_foreign, kept_aside, open_folder, write_beside
from armature.job.finished_leaves import finished_leaves
from armature.job.folder import job_folder
from armature.job.grades import bench_texts, read_bench_folder
from armature.job.leaves import LAYOUT, leaf_finding, write_leaves
from armature.job.named import carry_named_files
from armature.job.shop import shop_finding, write_shop
from armature.job.writing import write_lists, write_meshes, write_summary

__all__ = [
    "LAYOUT",
    "bench_texts",
    "beside_a_job",
    "carry_named_files",
    "digest_of",
    "finished_leaves",
    "grade_job",
    "is_foreign",
    "job_folder",
    "kept_aside",
    "leaf_finding",
    "open_folder",
    "read_bench_folder",
    "shop_finding",
    "write_beside",
    "write_leaves",
    "write_lists",
    "write_meshes",
    "write_shop",
    "write_summary",
]
