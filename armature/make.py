"""The main job: from a commission to a job folder. The only module that knows the whole order.

made = make(read("garden.toml"), "jobs/garden")
made.tree, made.verdict.overall, made.folder
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from armature.answer import Revision
from armature.commission import Commission, telling_of
from armature.edge import CommissionError
from armature.files import Finding, load
from armature.grow import MeetingError, check_counts, check_kept, cleared, grow
from armature.job import (
    Existing,
    Piece,
    Striker,
    carry_named_files,
    digest_of,
    existing_of,
    existing_tags,
    finished_leaves,
    foliage_of,
    helps_made,
    is_measured,
    job_folder,
    kept_steel,
    leaf_finding,
    leaf_kg,
    look_finding,
    mark_stills,
    planned_shop,
    read_bench_folder,
    read_layout,
    revisions_of,
    shown_digest,
    stand_fine,
    standing_line,
    still_standing,
    warnings_of,
    write_laid,
    write_lists,
    write_look,
    write_made,
    write_mending,
    write_meshes,
    write_strength,
    write_summary,
    write_trades,
)
from armature.leaves import LeafPlan, laid, plan_leaves, plan_on, read_given, rehung
from armature.leaves.nesting import Layout
from armature.look import Mending, Verdict, judged, refined, skeleton_of
from armature.made import made_tags
from armature.papers.made import counted_words
from armature.pictures import draw_ratios, showing_of, still_names, write_view
from armature.progress import Told
from armature.shop import ShopPlan
from armature.strength import Assessment, assessed, demands, strengthened
from armature.tree import Demands, Tree

PARTS = ("mending", "plates", "strength", "shop", "papers", "mesh", "pictures")
# Handfuls of moves tried against what spoils the look.
MENDING_ROUNDS = 6
# Trees grown in all where members that must be thicker come too near each other.
TREES = 4
# Twigs and leaves from which on a second process is worth its start.
_LARGE = 600


@dataclass(frozen=True, eq=False)
class Made:
    """What a run made: the folder, the tree, what the eye says of it, whether it stands (empty where left out),
    and what to know before building, a line each."""

    folder: Path
    tree: Tree
    verdict: Verdict
    strength: str
    warnings: tuple[str, ...]

    def __repr__(self) -> str:
        look, stands = f"look {self.verdict.overall:.0f} of 100", self.strength or "strength left out"
        return f"Made {self.folder}: {self.tree!r}; {look}; {stands}; {len(self.warnings)} warnings"

    def _repr_png_(self) -> bytes | None:
        """Return the sheet of pictures for a notebook, none where pictures were left out."""
        sheet = self.folder / "view" / "sheet.png"
        return sheet.read_bytes() if sheet.is_file() else None


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
    existing: Existing | None = None

    def __repr__(self) -> str:
        parts = (self.tree, self.verdict, self.leaves, self.strength, self.shop)
        return "\n".join(["Plans", *(f"  {part!r}" for part in parts if part is not None)])


def make(
    commission: Commission,
    out: str | Path,
    skip: Collection[str] = (),
    told: Told = lambda _what, _share: None,
    strengthen: bool | None = None,
    tree: Tree | None = None,
    fine: bool = False,
) -> Made:
    """Grow the tree of a commission and write its job folder, whole or not at all.

    out: the folder; members that a `made.csv` in it lists are kept as they stand in its design. skip: parts left out,
    of PARTS. told: hears what is being done and the share done, 0 to 1. strengthen: whether members that fail a check
    are made thicker until they pass; unless said, those of a tree that is grown here and not those of one that is
    given. tree: one of this commission, as a refined design holds it: taken as it stands, neither grown nor mended.
    fine: fine stills and the film too, which take minutes.
    Raises an ArmatureError, and writes nothing, where the commission cannot be met or the folder cannot be written.
    """
    for part in skip:
        if part not in PARTS:
            raise CommissionError("skip", f"must be one of {', '.join(PARTS)}", part)
    moved: list[str] = []
    with (
        telling_of(commission),
        job_folder(out, leftovers="fit", said=moved) as aside,
        Striker(_is_large(commission, skip)) as striker,
    ):
        plans, laying = _decided(commission, Path(out), skip, told, strengthen, tree, striker)
        carry_named_files(aside, Path(out), commission)
        findings, warnings = _write(aside, Path(out), commission, plans, laying, skip, told, fine, striker)
        told("done", 1.0)
    warnings = [*warnings, *still_standing(Path(out), skip), *moved]
    return Made(Path(out), plans.tree, plans.verdict, standing_line(findings.get("strength")), tuple(warnings))


def planned(
    commission: Commission,
    folder: Path,
    skip: Collection[str] = (),
    told: Told = lambda _what, _share: None,
    strengthen: bool | None = None,
    tree: Tree | None = None,
) -> Plans:
    """Return all that is decided about a commission's tree; `folder` holds an earlier run, or nothing.

    Where members that strength makes thicker cannot be kept clear of each other, the tree is grown again with other
    luck, a few times in all.
    """
    plans, laying = _decided(commission, folder, skip, told, strengthen, tree, Striker(wanted=False))
    leaves = plans.leaves if laying is None else plan_on(plans.leaves, laying.result())
    told("shop", 0.5)
    shop = None
    if "shop" not in skip:
        made, revisions = _held(folder, commission, plans)
        shop = planned_shop(leaves, commission, _asked(plans.strength), made, revisions)
    return replace(plans, leaves=leaves, shop=shop)


def _decided(
    commission: Commission,
    folder: Path,
    skip: Collection[str],
    told: Told,
    strengthen: bool | None,
    tree: Tree | None,
    striker: Striker,
) -> tuple[Plans, Piece[Layout | None] | None]:
    """Return what is decided about a tree but for the shop, and its plates, which are still being laid, if any are."""
    if strengthen is None:
        strengthen = tree is None and not is_measured(folder)
    for again in range(TREES):
        try:
            return _planned(commission, folder, skip, told, strengthen, tree, striker, again)
        except MeetingError:
            if tree is not None or again == TREES - 1:
                raise
    raise AssertionError("the last tree is either planned or refused")


def _planned(
    commission: Commission,
    folder: Path,
    skip: Collection[str],
    told: Told,
    strengthen: bool,
    tree: Tree | None,
    striker: Striker,
    again: int,
) -> tuple[Plans, Piece[Layout | None] | None]:
    told("growing", 0.0)
    # What the commission's own files hold is read first: a fault in them must not cost the time of growing.
    given, bench = read_given(commission, "plates" not in skip), read_bench_folder(folder / "leaves")
    existing = existing_of(folder, commission, tree)
    made = existing_tags(folder, commission) if existing is None else existing.steel.tags.tolist()
    given_tree = tree is not None or existing is not None
    raw, mending = _taken(commission, folder, made, tree, again, existing), None
    tree = raw
    if not given_tree and "mending" not in skip:
        told("mending", 0.02)
        tree, mending = refined(
            tree, commission, made, MENDING_ROUNDS, lambda s: told("mending", 0.02 + 0.06 * s), "made.csv"
        )
    told("leaves", 0.08)
    leaves = plan_leaves(commission, tree, None, bench, plates=False, given=given)
    laying = None if "plates" in skip else striker.asked(laid, leaves, commission, read_layout(folder / "leaves"))
    tree, strength = leaves.tree, None
    notes: tuple[str, ...] = ()
    if "strength" not in skip:
        told("strength", 0.45)
        leaves, strength, notes = _stood(commission, leaves, made, strengthen)
        notes = (*notes, *helps_made(strength, existing))
    if existing is not None:
        notes = (counted_words(existing.answer), *notes)
    verdict = mending.after if mending is not None and leaves.tree is tree else judged(leaves.tree)
    return Plans(raw, leaves.tree, verdict, mending, leaves, strength, None, notes, existing), laying


def _taken(
    commission: Commission,
    folder: Path,
    made: Collection[str],
    tree: Tree | None,
    again: int,
    existing: Existing | None,
) -> Tree:
    """Return the plan as what exists leaves it, the tree as grown around what is made, or the one that is given, which
    must hold what is made."""
    if existing is not None:
        return existing.answer.tree
    listed = folder / "made.csv"
    kept = kept_steel(folder, made)
    if tree is None:
        return grow(commission, kept, again)
    check_counts(tree, commission)
    check_kept(tree, kept, str(listed))
    return tree


def _stood(
    commission: Commission, leaves: LeafPlan, made: Collection[str], strengthen: bool
) -> tuple[LeafPlan, Assessment, tuple[str, ...]]:
    """Return the leaves on a tree that stands where bars on hand make it stand, its assessment, and what changed."""
    masses, areas = leaves.hung.loads, leaves.hung.areas
    if not strengthen:
        return leaves, assessed(leaves.tree, commission, masses, areas), ()
    tree, given = leaves.tree, leaves
    # On thicker bars some leaves strike and move along their twigs. Where that asks more of a twig than it has, bars
    # are sized again for the leaves where they hang now, and there they stay.
    for settle in (True, False):
        stronger = strengthened(tree, commission, masses, areas, made)
        strength, notes = stronger.assessment, tuple(replace(stronger, crowded=()).notes)
        if stronger.tree is given.tree:
            return given, strength, notes
        leaves = rehung(given, commission, cleared(stronger.tree, commission, made), settle)
        if leaves.tree.same_as(stronger.tree):
            break
        strength = assessed(leaves.tree, commission, masses, areas)
        if strength.ratios.max() <= max(1.0, float(stronger.assessment.ratios.max())):
            break
        tree = tree.hung(leaves.tree.leaves)
    return leaves, strength, notes


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
    folder = design if design.is_dir() else design.parent
    existing = existing_of(folder, commission, tree)
    made = made_tags(folder / "made.csv") if existing is None else existing.steel.tags.tolist()
    revisions = revisions_of(folder, tree, commission, existing)
    return planned_shop(leaves, commission, _asked(strength), made, revisions)


def _held(folder: Path, commission: Commission, plans: Plans) -> tuple[Collection[str], Mapping[str, Revision]]:
    """Return the tags of what is made, measured or listed in the folder, and how cards differ from those before."""
    existing = plans.existing
    made = existing_tags(folder, commission) if existing is None else existing.steel.tags.tolist()
    return made, revisions_of(folder, plans.tree, commission, existing)


def _asked(strength: Assessment | None) -> Demands | None:
    return None if strength is None else demands(strength)


def _is_large(commission: Commission, skip: Collection[str]) -> bool:
    """Return whether so much is to be laid and written that a second process, a second to start, is worth it."""
    return commission.growth.twigs + commission.leaves.count >= _LARGE and not {"plates", "shop", "mesh"} <= {*skip}


def _write(
    aside: Path,
    out: Path,
    commission: Commission,
    plans: Plans,
    laying: Piece[Layout | None] | None,
    skip: Collection[str],
    told: Told,
    fine: bool,
    striker: Striker,
) -> tuple[dict[str, Finding], list[str]]:
    """Write all parts into the folder; return what each says, and what to know before building, a line each."""
    pictures, papers, notes = "pictures" not in skip, "papers" not in skip, [*plans.notes]
    told("lists", 0.55)
    strength = None
    if plans.strength is not None:
        strength = write_strength(aside, plans.strength, commission.title, papers)
    # What is printed takes as long as what is drawn: each has a process where there are two, and the last of the pieces
    # go to whoever is free.
    tree, asked = plans.tree, _asked(plans.strength)
    held = None if "shop" in skip else _held(out, commission, plans)
    trades = striker.asked(write_trades, aside, plans.leaves, laying, commission, strength, asked, held, papers)
    benches = striker.asked(write_laid, plans.leaves, laying, commission, aside / "leaves", papers)
    meshes = None
    if "mesh" not in skip:
        meshes = striker.asked(write_meshes, aside / "mesh", tree, commission, foliage_of(plans.leaves, commission))
    write_lists(aside, plans.tree, commission)
    if plans.existing is not None:
        shop = None if held is None else planned_shop(plans.leaves, commission, asked, *held)
        write_made(aside, plans.existing, commission, shop, plans.notes, papers)
    if plans.mending is not None and plans.mending.moved:
        write_mending(aside, aside / "view" if pictures else None, plans.raw, plans.tree, plans.mending)
    write_look(aside, skeleton_of(plans.tree), plans.verdict, (), commission.title, pictures)
    if pictures:
        notes += _draw(aside, out, commission, plans, told, fine)
    if meshes is not None:
        told("meshes", 0.9)
        meshes.result()
    told("papers", 0.95)
    benches.result()
    leaves = plans.leaves if laying is None else plan_on(plans.leaves, laying.result())
    told_by = {
        "look": look_finding(plans.verdict),
        "leaves": leaf_finding(leaves, commission.leaves.hang.strike),
        "strength": strength,
        "shop": trades.result(),
    }
    findings = {name: finding for name, finding in told_by.items() if finding is not None}
    warnings = [*notes, *warnings_of(commission, plans.tree, findings)]
    write_summary(aside, plans.tree, commission, findings, warnings, leaf_kg(plans.leaves))
    return findings, warnings


def _draw(aside: Path, out: Path, commission: Commission, plans: Plans, told: Told, fine: bool) -> list[str]:
    """Draw all pictures into `view/`, but for fine stills of the same piece that stand in `out`; a line where so."""
    folder = aside / "view"
    folder.mkdir(parents=True, exist_ok=True)
    if plans.strength is not None:
        draw_ratios(plans.tree, plans.strength.ratios, folder / "strength.png")
    showing = showing_of(commission, plans.leaves, _asked(plans.strength))
    showing = replace(showing, design=digest_of((aside / "design.json").read_bytes()))
    shown = shown_digest(aside, plans.leaves, showing.plate_mm)
    stand = not fine and stand_fine(out, shown)
    write_view(showing, folder, lambda what, share: told(what, 0.65 + 0.3 * share), fine, stills=not stand)
    mark_stills(aside, shown, still_names(), fine or stand)
    return ["fine stills of the same piece stand from an earlier run: none are drawn anew"] if stand else []
