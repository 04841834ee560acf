"""What programs read: the design, the lists, meshes, drawings and skeletons of a tree, as text or bytes."""

from __future__ import annotations

from armature.files.body import steel_body, stl_bytes
from armature.files.centrelines import centrelines_dxf
from armature.files.csv_text import csv_text as csv_rows
from armature.files.design import design_json, load
from armature.files.dxf import dxf_text
from armature.files.foliage import Foliage, plain_foliage
from armature.files.gltf import glb_bytes
from armature.files.graph import graphml_text
from armature.files.leaf_lists import (
    blanks_csv,
    designs_csv,
    leaves_csv,
    parts_csv,
    piles_csv,
    plate_name,
    plates_csv,
    stamping_csv,
    unplaced_csv,
)
from armature.files.lists import bends_csv, hang_points_csv, joints_csv, members_csv, tapers_csv
from armature.files.obj import obj_text
from armature.files.plates import (
    LAYER_WORDS,
    Holding,
    sheet_words,
    write_kerf_dxf,
    write_plate_dxf,
    write_plate_picture,
)
from armature.files.plot import Plot
from armature.files.shop_lists import bars_csv, cards_csv, checks_csv, hours_csv, offsets_csv, plan_json, welding_csv
from armature.files.skin import skin
from armature.files.strength import record
from armature.files.strength_model import model_csvs
from armature.files.summary import Figure, Finding, summary, summary_json
from armature.files.swc import swc_text
from armature.files.threemf import threemf_bytes

__all__ = [
    "LAYER_WORDS",
    "Figure",
    "Finding",
    "Foliage",
    "Holding",
    "Plot",
    "bars_csv",
    "bends_csv",
    "blanks_csv",
    "cards_csv",
    "centrelines_dxf",
    "checks_csv",
    "csv_rows",
    "design_json",
    "designs_csv",
    "dxf_text",
    "glb_bytes",
    "graphml_text",
    "hang_points_csv",
    "hours_csv",
    "joints_csv",
    "leaves_csv",
    "load",
    "members_csv",
    "model_csvs",
    "obj_text",
    "offsets_csv",
    "parts_csv",
    "piles_csv",
    "plain_foliage",
    "plan_json",
    "plate_name",
    "plates_csv",
    "record",
    "sheet_words",
    "skin",
    "stamping_csv",
    "steel_body",
    "stl_bytes",
    "summary",
    "summary_json",
    "swc_text",
    "tapers_csv",
    "threemf_bytes",
    "unplaced_csv",
    "welding_csv",
    "write_kerf_dxf",
    "write_plate_dxf",
    "write_plate_picture",
]
