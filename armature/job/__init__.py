"""The job folder: written whole or not at all, with what is the user's own kept as it is.

with job_folder(path) as aside:             # nothing stands at `path` before the block has ended
    write_lists(aside, tree, commission)    # design.json, the lists, tree.swc
tree, commission = load(path)
"""

from __future__ import annotations

from armature.job.answered import Existing, existing_of, helps_made, is_measured, kept_steel, revisions_of, write_made
from armature.job.approving import Approval, approve
from armature.job.as_planned import plan_of
from armature.job.bench_folder import bench_texts, read_bench_folder
from armature.job.beside import beside_a_job, is_foreign, kept_aside, open_folder, write_beside
from armature.job.care import write_care
from armature.job.fine_stills import mark_stills, shown_digest, stand_fine
from armature.job.finished_leaves import finished_leaves, read_layout
from armature.job.folder import job_folder, still_standing
from armature.job.grading import grade_job
from armature.job.leaf_work import foliage_of, leaf_kg, leaf_work
from armature.job.leaves import leaf_finding, write_leaves
from armature.job.look import look_finding, write_look, write_mending
from armature.job.marked import write_picture
from armature.job.measured import add_measures, existing_tags, keep_seats, seating_of, steel_of, take_back
from armature.job.named import carry_named_files
from armature.job.names import (
    Said,
    add_late,
    mend_strike,
    respell,
    sign_names,
    strike_names,
    take_piles,
    tell_twins,
    withdraw,
)
from armature.job.rebuild import rebuild_said
from armature.job.records import write_lists, write_meshes, write_summary
from armature.job.shop import shop_finding, write_card, write_shop
from armature.job.strength import Standing, standing_line, standing_of, write_strength
from armature.job.striker import Piece, Striker
from armature.job.survey_file import add_to_survey, read_survey
from armature.job.trades import planned_shop, write_laid, write_trades
from armature.job.warnings import warnings_of
from armature.job.written import digest_of

__all__ = [
    "Approval",
    "Existing",
    "Piece",
    "Said",
    "Standing",
    "Striker",
    "add_late",
    "add_measures",
    "add_to_survey",
    "approve",
    "bench_texts",
    "beside_a_job",
    "carry_named_files",
    "digest_of",
    "existing_of",
    "existing_tags",
    "finished_leaves",
    "foliage_of",
    "grade_job",
    "helps_made",
    "is_foreign",
    "is_measured",
    "job_folder",
    "keep_seats",
    "kept_aside",
    "kept_steel",
    "leaf_finding",
    "leaf_kg",
    "leaf_work",
    "look_finding",
    "mark_stills",
    "mend_strike",
    "open_folder",
    "plan_of",
    "planned_shop",
    "read_bench_folder",
    "read_layout",
    "read_survey",
    "rebuild_said",
    "respell",
    "revisions_of",
    "seating_of",
    "shop_finding",
    "shown_digest",
    "sign_names",
    "stand_fine",
    "standing_line",
    "standing_of",
    "steel_of",
    "still_standing",
    "strike_names",
    "take_back",
    "take_piles",
    "tell_twins",
    "warnings_of",
    "withdraw",
    "write_beside",
    "write_card",
    "write_care",
    "write_laid",
    "write_leaves",
    "write_lists",
    "write_look",
    "write_made",
    "write_mending",
    "write_meshes",
    "write_picture",
    "write_shop",
    "write_strength",
    "write_summary",
    "write_trades",
]
