"""The main job: from a commission to a job folder. The only module that knows the whole order.

made = make(read("garden.toml"), "jobs/garden")
made.tree, made.verdict.overall, made.folder
"""

from __future__ import annotations

import json
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from armature.base_plate import base_plate
from armature.centreline import Floats
from armature.commission import Commission, telling_of
from armature.errors import CommissionError
from armature.extent import extent
from armature.files import Finding, Foliage, load, record
from armature.grow import check_kept, grow, kept_members, made_tags
from armature.job import (
    LAYOUT,
    carry_named_files,
    finished_leaves,
    job_folder,
    leaf_finding,
    read_bench_folder,
    shop_finding,
    write_leaves,
    write_lists,
    write_meshes,
    write_shop,
    write_summary,
)
from armature.leaves import LeafPlan, plan_leaves, read_given, rehung
from armature.leaves.outline import LeafMesh
from armature.look import Mending, Verdict, judged, refined, skeleton_of
from armature.papers.look import write_look, write_mending
from armature.papers.strength import page
from armature.pictures import Showing, draw_ratios, facts, write_view
from armature.progress import Told
from armature.shop import LeafWork, ShopPlan, shop_plan
from armature.strength import Assessment, assessed, demands, strengthened
from armature.tree import Tree
from armature.units import format_length

PARTS = ("mending", "plates", "strength", "shop", "papers", "mesh", "pictures")
# Handfuls of moves tried against what spoils the look.
MENDING_ROUNDS = 6
# What a run may leave out, as it stands in the folder.
_RESULTS = ("view", "mesh", "shop", "strength.md")
# A crown that fills less of the asked size than this is told of.
_FILLED = 0.95


@dataclass(frozen=True, eq=False)
class Made:
    """What a run made: the folder, the tree, what the eye says of it, whether it stands (empty where left out),
    and what to know before building, a line each."""

    folder: Path
    tree: Tree
    verdict: Verdict
    strength: str
    warnings: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Plans:
    """Everything that is decided before a file is written; None for parts left out."""

    raw: Tree
    tree: Tree
    verdict: Verdict
    mending: Mending | None
    leaves: LeafPlan
    strength: Assessment | None
    shop: ShopPlan | None
    notes: tuple[str, ...]


def make(
    commission: Commission,
    out: str | Path,
    skip: Collection[str] = (),
    told: Told = lambda _what, _share: None,
    strengthen: bool = True,
    tree: Tree | None = None,
) -> Made:
    """Grow the tree of a commission and write its job folder, whole or not at all.

    out: the folder; members that a `made.csv` in it lists are kept as they stand in its design. skip: parts left out,
    of PARTS. told: hears what is being done and the share done, 0 to 1. strengthen: whether members that fail a check
    are made thicker until they pass. tree: one of this commission, as a refined design holds it: taken as it stands,
    neither grown nor mended. Raises an ArmatureError, and writes nothing, where the commission cannot be met or the
    folder cannot be written.
    """
    for part in skip:
        if part not in PARTS:
            raise CommissionError("skip", f"must be one of {', '.join(PARTS)}", part)
    stood = [name for name in _RESULTS if (Path(out) / name).exists()]
    with telling_of(commission), job_folder(out) as aside:
        plans = planned(commission, Path(out), skip, told, strengthen, tree)
        carry_named_files(aside, Path(out), commission)
        strength, warnings = _write(aside, commission, plans, skip, told)
        told("done", 1.0)
    gone = [name for name in stood if not (Path(out) / name).exists()]
    if gone:
        warnings = (*warnings, f"left out this time, and gone from the folder: {', '.join(gone)}")
    return Made(Path(out), plans.tree, plans.verdict, strength, warnings)


def planned(
    commission: Commission,
    folder: Path,
    skip: Collection[str] = (),
    told: Told = lambda _what, _share: None,
    strengthen: bool = True,
    tree: Tree | None = None,
) -> Plans:
    """Return all that is decided about a commission's tree; `folder` holds an earlier run, or nothing."""
    told("growing", 0.0)
    # What the commission's own files hold is read first: a fault in them must not cost the time of growing.
    given, bench = read_given(commission, "plates" not in skip), read_bench_folder(folder / "leaves")
    made = made_tags(folder / "made.csv")
    kept = kept_members(load(folder)[0], made, str(folder / "made.csv")) if made else None
    mending = None
    given_tree = tree is not None
    if tree is None:
        tree = grow(commission, kept)
    else:
        check_kept(tree, kept, str(folder / "made.csv"))
    raw = tree
    if not given_tree and "mending" not in skip:
        told("mending", 0.02)
        tree, mending = refined(tree, commission, made, MENDING_ROUNDS, lambda s: told("mending", 0.02 + 0.06 * s))
    told("leaves", 0.08)
    leaves = plan_leaves(commission, tree, _layout(folder), bench, "plates" not in skip, given)
    tree = planned_tree = leaves.tree
    notes: list[str] = []
    strength = None
    if "strength" not in skip:
        told("strength", 0.45)
        masses, areas = leaves.hung.loads, leaves.hung.areas
        if strengthen:
            stronger = strengthened(tree, commission, masses, areas, made)
            notes += stronger.notes
            strength = stronger.assessment
            if stronger.tree is not tree:
                tree = stronger.tree
                leaves = rehung(leaves, commission, tree)
        else:
            strength = assessed(tree, commission, masses, areas)
    shop = None
    if "shop" not in skip:
        told("shop", 0.5)
        shop = _shopped(commission, leaves, strength)
    verdict = mending.after if mending is not None and tree is planned_tree else judged(tree)
    return Plans(raw, tree, verdict, mending, leaves, strength, shop, tuple(notes))


def replanned(design: Path, told: Told = lambda _what, _share: None) -> ShopPlan:
    """Return the shop's plan of a finished design, a job folder or its design.json: its tree and leaves as they are.

    Nothing is grown, mended, hung or made thicker; what strength asks is worked out anew, so that the plan of a job
    folder is the one that `make` wrote its papers from.
    """
    told("leaves", 0.0)
    tree, commission = load(design)
    leaves = finished_leaves(design, tree, commission)
    told("strength", 0.1)
    strength = assessed(tree, commission, leaves.hung.loads, leaves.hung.areas)
    told("shop", 0.3)
    return _shopped(commission, leaves, strength)


def _shopped(commission: Commission, leaves: LeafPlan, found: Assessment | None) -> ShopPlan:
    return shop_plan(leaves.tree, commission, None if found is None else demands(found), _leaf_work(leaves))


def look_finding(verdict: Verdict) -> Finding:
    """Return what the eye says, for the summary."""
    reads = "reads as grown" if verdict.overall >= 70.0 else "has spots where the eye will stumble"
    figures = {
        "score": round(verdict.overall, 1),
        **{name: round(score, 1) for name, score in verdict.families.items()},
    }
    return Finding(reads, figures, [f"{fault.wrong}: {fault.helps}" for fault in verdict.faults])


def _layout(folder: Path) -> str | None:
    kept = folder / "leaves" / LAYOUT
    return kept.read_text("utf-8", errors="replace") if kept.is_file() else None


def _leaf_kg(leaves: LeafPlan) -> float:
    return float(leaves.hung.masses.sum())


def _leaf_work(leaves: LeafPlan) -> LeafWork:
    """Sheet and cutting for the estimate: whole plates where they are laid, else the leaves themselves."""
    plates = leaves.layout.plates if leaves.layout else ()
    numbers = np.concatenate([p.designs for p in plates]) if plates else leaves.tree.leaves.designs
    sheet = sum(p.width * p.height for p in plates) * 1e-6 * leaves.sheet_kg_m2
    cut = np.array([d.cut_length for d in leaves.designs])[numbers - 1].sum() / 1000.0
    return LeafWork(sheet or _leaf_kg(leaves), len(numbers), float(cut), 2 * len(numbers))


def _write(
    aside: Path, commission: Commission, plans: Plans, skip: Collection[str], told: Told
) -> tuple[str, tuple[str, ...]]:
    """Write all parts into the folder; return whether the tree stands, and what to know before building, a line
    each."""
    pictures = "pictures" not in skip
    told("lists", 0.55)
    write_lists(aside, plans.tree, commission)
    write_leaves(plans.leaves, commission, aside / "leaves")
    if plans.mending is not None and plans.mending.moved:
        write_mending(aside, aside / "view" if pictures else None, plans.raw, plans.tree, plans.mending)
    write_look(aside, skeleton_of(plans.tree), plans.verdict, (), commission.title, pictures)
    findings = {
        "look": look_finding(plans.verdict),
        "leaves": leaf_finding(plans.leaves, commission.leaves.hang.strike),
    }
    if plans.strength is not None:
        findings["strength"] = _write_strength(aside, plans.strength)
    if plans.shop is not None:
        told("papers", 0.6)
        write_shop(aside, plans.shop, "papers" not in skip)
        findings["shop"] = shop_finding(plans.shop)
    if "mesh" not in skip:
        told("meshes", 0.7)
        write_meshes(aside / "mesh", plans.tree, commission, _foliage(plans, commission))
    if pictures:
        _draw(aside / "view", commission, plans, told)
    warnings = (*plans.notes, *_short_of(commission, plans.tree), *_warnings(findings))
    write_summary(aside, plans.tree, commission, findings, warnings, _leaf_kg(plans.leaves))
    return _standing(findings), warnings


def _short_of(commission: Commission, tree: Tree) -> list[str]:
    """Return what the tree fills of the size asked for, where that is clearly less."""
    (west, south, _), (east, north, top) = extent(tree).tolist()
    canopy, got = commission.canopy, (top, east - west, north - south)
    asked = (canopy.height, *canopy.spread)
    if isinstance(canopy.outline, str) or all(one >= _FILLED * other for one, other in zip(got, asked, strict=True)):
        return []
    sizes = [" x ".join(format_length(mm, commission.units, feet=True) for mm in row) for row in (got, asked)]
    return [f"height and spread come to {sizes[0]} of the {sizes[1]} asked, which growth stays inside: ask for more"]


def _standing(findings: dict[str, Finding]) -> str:
    """Return the verdict and the worst ratio in one line, empty where strength was left out."""
    if "strength" not in findings:
        return ""
    found = findings["strength"]
    return f"{found.verdict}; worst ratio {found.figures['worst_ratio']}, over 1 fails"


def _write_strength(aside: Path, found: Assessment) -> Finding:
    said = record(found)
    (aside / "strength.json").write_text(json.dumps(said, indent=1, ensure_ascii=False) + "\n", "utf-8", newline="\n")
    (aside / "strength.md").write_text(page(said), "utf-8", newline="\n")
    verdict = said["verdict"]
    return Finding(
        f"{verdict['word']} (a design aid, not a certificate)",
        {
            "worst_ratio": round(float(said["worst_ratio"]), 3),
            **{f"worst_ratio_leaves_{key}": round(each, 3) for key, each in said["worst_ratio_by_leaves"].items()},
        },
        [*verdict["reasons"][:8], *([verdict["years"]] if verdict["years"] else []), *verdict["gaps"][:8]],
    )


def _warnings(findings: dict[str, Finding]) -> list[str]:
    look = [note.split(":")[0] for note in findings["look"].notes]
    told = [(name, findings[name].notes[:4]) for name in ("leaves", "strength", "shop") if name in findings]
    others = [f"{name}: {note}" for name, notes in told for note in notes]
    return [*look, *others]


def _foliage(plans: Plans, commission: Commission) -> Foliage:
    """Return the leaves' own blades where they hang, for the mesh files."""
    blades = [(mesh.vertices, mesh.faces) for mesh in _blades(plans, commission)]
    frames = _frames(plans, commission)
    return Foliage(blades, plans.tree.leaves.designs - 1, frames[:, :3, :3], frames[:, :3, 3])


def _blades(plans: Plans, commission: Commission, rows: int = 15) -> list[LeafMesh]:
    outline = commission.leaves.outline
    return plans.leaves.meshes(outline.dish, outline.curl, rows)


def _frames(plans: Plans, commission: Commission) -> Floats:
    return plans.leaves.frames(commission.seed)


def _foot_width(plans: Plans, commission: Commission) -> float:
    trunk, transport = float(plans.tree.start_diameters[0]), commission.shop.transport
    rods = None if plans.strength is None else demands(plans.strength).rods
    needed = None if rods is None else (rods.plate_side_mm, rods.plate_thickness_mm)
    return base_plate(trunk, commission.units, transport.foot_width, needed).side_mm


def _draw(folder: Path, commission: Commission, plans: Plans, told: Told) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    if plans.strength is not None:
        draw_ratios(plans.tree, plans.strength.ratios, folder / "strength.png")
    showing = Showing(
        plans.tree,
        commission,
        facts(commission, plans.tree, _leaf_kg(plans.leaves)),
        _blades(plans, commission),
        _frames(plans, commission),
        plate_mm=_foot_width(plans, commission),
        far_blades=_blades(plans, commission, rows=6),
    )
    write_view(showing, folder, lambda what, share: told(what, 0.75 + 0.24 * share))
