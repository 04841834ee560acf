"""All records of one tree, written into a folder."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from armature.commission import Commission
from armature.files import (
    Finding,
    Foliage,
    bends_csv,
    design_json,
    graphml_text,
    hang_points_csv,
    joints_csv,
    members_csv,
    plain_foliage,
    summary,
    summary_json,
    swc_text,
    tapers_csv,
)
from armature.papers import summary_md
from armature.shop import cut_lengths
from armature.tree import Tree, bend_list, forged_masses, joints


def write_records(folder: Path, tree: Tree, commission: Commission, foliage: Foliage | None = None) -> None:
    """Write design.json, the five lists, tree.swc, tree.graphml and everything under mesh/ into a folder.

    foliage: the leaves as meshes; plain ovate ones of the commission's length where none are given.
    """
    write_lists(folder, tree, commission)
    write_meshes(folder / "mesh", tree, commission, foliage)


def write_lists(folder: Path, tree: Tree, commission: Commission) -> None:
    """Write design.json, members.csv, bends.csv, joints.csv, tapers.csv, hang_points.csv, tree.swc and tree.graphml."""
    listed = joints(tree)
    masses = forged_masses(tree, commission.steel.density)
    _write_text(folder / "design.json", design_json(tree, commission))
    _write_text(folder / "members.csv", members_csv(tree, cut_lengths(tree, commission, listed), masses, listed))
    _write_text(folder / "bends.csv", bends_csv(tree, bend_list(tree.chains)))
    _write_text(folder / "joints.csv", joints_csv(tree, listed))
    _write_text(folder / "tapers.csv", tapers_csv(tree))
    _write_text(folder / "hang_points.csv", hang_points_csv(tree))
    _write_text(folder / "tree.swc", swc_text(tree))
    _write_text(folder / "tree.graphml", graphml_text(tree))


def write_meshes(folder: Path, tree: Tree, commission: Commission, foliage: Foliage | None = None) -> None:
    """Write tree.glb, steel.stl, tree.obj, tree.3mf and centrelines.dxf into a folder, which is made if need be."""
    from armature.files import centrelines_dxf, glb_bytes, obj_text, skin, steel_body, stl_bytes, threemf_bytes

    folder.mkdir(parents=True, exist_ok=True)
    leaves, metal = commission.leaves, commission.leaves.metal
    hung = plain_foliage(tree, leaves.length, leaves.thickness) if foliage is None else foliage
    outside = skin(tree)
    (folder / "tree.glb").write_bytes(glb_bytes(tree, outside, hung, metal))
    (folder / "steel.stl").write_bytes(stl_bytes(steel_body(tree, outside)))
    (folder / "tree.3mf").write_bytes(threemf_bytes(tree, outside, hung, metal))
    _write_text(folder / "tree.obj", obj_text(tree, outside, hung))
    _write_text(folder / "centrelines.dxf", centrelines_dxf(tree))


def write_summary(
    folder: Path,
    tree: Tree,
    commission: Commission,
    findings: Mapping[str, Finding] | None = None,
    warnings: Sequence[str] = (),
    leaf_kg: float | None = None,
) -> None:
    """Write summary.json and summary.md into a folder.

    findings: what the look, the strength and others say, by name; warnings: one line each.
    """
    tables = summary(tree, commission, findings, warnings, leaf_kg)
    _write_text(folder / "summary.json", summary_json(tables))
    _write_text(folder / "summary.md", summary_md(tables, commission.units))


def _write_text(path: Path, text: str) -> None:
    # Line ends stay as they are on every system: the same commission gives the same bytes.
    path.write_text(text, "utf-8", newline="\n")
