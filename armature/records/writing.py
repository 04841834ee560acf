"""All records of one tree, written into a folder."""

from __future__ import annotations

from pathlib import Path

from armature.centreline import bend_list
from armature.commission import Commission
from armature.cutting import cut_lengths, forged_masses
from armature.joints import joints
from armature.records.design import design_json
from armature.records.tables import bends_csv, hang_points_csv, joints_csv, members_csv
from armature.tree import Tree


def write_records(folder: Path, tree: Tree, commission: Commission) -> None:
    """Write design.json and the four lists of a tree into a folder."""
    listed = joints(tree)
    masses = forged_masses(tree, commission.steel.density)
    texts = {
        "design.json": design_json(tree, commission),
        "members.csv": members_csv(tree, cut_lengths(tree, commission, listed), masses),
        "bends.csv": bends_csv(tree, bend_list(tree.chains)),
        "joints.csv": joints_csv(tree, listed),
        "hang_points.csv": hang_points_csv(tree),
    }
    for name, text in texts.items():
        # Line ends stay as they are on every system: the same commission gives the same bytes.
        (folder / name).write_text(text, "utf-8", newline="\n")
