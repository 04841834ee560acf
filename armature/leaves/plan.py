"""All that is decided about a tree's leaves: outlines, hanging, names, plates, parts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from armature.commission import Commission
from armature.edge import CommissionError
from armature.leaves.given import Given, plate_rules, read_given
from armature.leaves.hanging import (
    Contact,
    Hung,
    Loop,
    Part,
    contact,
    hang_leaves,
    hung_as_cut,
    leaf_frames,
    parts_list,
)
from armature.leaves.naming import (
    BEST,
    PLAIN,
    SCRAP,
    WILD,
    Assignment,
    Bench,
    Dealt,
    NameList,
    Panel,
    Pile,
    Places,
    Sight,
    Stamping,
    assign_names,
    deal,
    folded,
    likings,
    line_depths,
    read_bench,
    recorded,
    sight,
    stamp_heights,
    stamp_panels,
    stamping,
    worth,
)
from armature.leaves.nesting import Layout, lay_plates, with_spares
from armature.leaves.outline import Design, LeafMesh, leaf_mesh
from armature.tree import Tree

Floats = NDArray[np.float64]
# Small, as no tag of a tree is: limbs are named with capitals.
SPARE = "x"


@dataclass(frozen=True, eq=False)
class LeafPlan:
    """The leaves of a tree. L leaves, D designs, N names.

    tree: with hang points moved and names given. designs: (D,). panels: (D,) places for a name, the largest first;
    none where no name is wanted. hung: figures of each leaf. sight: how each leaf shows. worth: (L,). grades: (L,)
    0 scrap, 1 wild, 2 plain, 3 best. names, assignment: None without names. settings: (L,) how each leaf is stamped,
    None where
    it is not. layout: None where plates were not asked for. blanks: (plates, leaves) labels of what is cut. bench: what
    the bench said in an earlier run. dealt: how piles were dealt, None without.
    """

    tree: Tree
    designs: tuple[Design, ...]
    panels: tuple[tuple[Panel, ...], ...]
    hung: Hung
    sight: Sight
    worth: Floats
    grades: NDArray[np.int64]
    names: NameList | None
    assignment: Assignment | None
    settings: tuple[Stamping | None, ...]
    layout: Layout | None
    blanks: tuple[tuple[str, ...], ...]
    parts: tuple[Part, ...]
    contact: Contact
    sheet_kg_m2: float
    bench: Bench
    dealt: Dealt | None = None

    @property
    def struck_lines(self) -> list[tuple[str, str, tuple[str, ...]]]:
        """Leaf's tag, name and lines as struck of each name, in order of the tags."""
        leaves = self.tree.leaves
        rows = zip(leaves.tags.tolist(), leaves.names.tolist(), self.settings, strict=True)
        return sorted((tag, name, s.lines) for tag, name, s in rows if name and s is not None)

    def __repr__(self) -> str:
        named = sum(bool(name) for name in self.tree.leaves.names.tolist())
        laid = "" if self.layout is None else f" on {len(self.layout.plates)} plates"
        mass = float(self.hung.masses.sum())
        leaves = f"{len(self.tree.leaves)} leaves of {len(self.designs)} designs{laid}"
        return f"LeafPlan: {leaves}, {named} named, {mass:.1f} kg"

    def meshes(self, dish: float, curl_deg: float, rows: int = 15, sag: float = 0.0025) -> list[LeafMesh]:
        """Return one dished blade for each design, for pictures and mesh files.

        rows: of inner points along a leaf. sag: by which its rim may leave the outline, as a share of its length.
        """
        curl = float(np.deg2rad(curl_deg))
        return [leaf_mesh(design, dish, curl, design.length / rows, sag) for design in self.designs]

    def frames(self, seed: int) -> Floats:
        """Return how each leaf hangs: (L, 4, 4), from its mesh's frame to the tree's, mm."""
        return leaf_frames(self.tree, self.hung.eyes, seed)


def plan_leaves(
    commission: Commission,
    tree: Tree,
    stored: str | None = None,
    bench: Bench | None = None,
    plates: bool = True,
    given: Given | None = None,
) -> LeafPlan:
    """Return the plan of a tree's leaves.

    stored: text of an earlier layout, used again where it answers the same job. bench: grades and stamped leaves from
    an earlier run; the commission's own files are added to it. plates: whether to lay plates. given: what the
    commission's files hold, read here where it was not before. Raises CommissionError for names, outlines or plates
    that cannot be, FileError for files that cannot be read.
    """
    leaves, earlier = commission.leaves, bench or Bench()
    given = given or read_given(commission, plates)
    designs, names = given.designs, recorded(given.names, earlier.record)
    _check_room(names, leaves.count)
    loop = Loop(leaves.wire, leaves.loop, leaves.hang.isolation == "ring")
    kg_m2 = leaves.kg_m2
    rules = (loop, kg_m2, leaves.hang.swing, leaves.hang.strike, leaves.spacing)
    hung = hang_leaves(tree, designs, *rules)
    bench = read_bench(commission, names, earlier, hung.tree.leaves.tags.tolist())
    hung = hung_as_cut(hung, bench.cut(), lambda tree, locked: hang_leaves(tree, designs, *rules, locked=locked))
    shown = sight(hung.eyes, leaves.length)
    value = worth(hung.eyes, shown.legible, leaves.lettering.reach)
    grades = _first_grades(bench, hung, value)
    panels = tuple(name_panels(commission, d) if names else () for d in designs)
    assignment = None
    settings: tuple[Stamping | None, ...] = (None,) * len(tree.leaves)
    if names is not None:
        places = places_of(hung, grades, value)
        assignment = assigned(commission, names, places, panels, bench, hung.areas)
        hung = replace(hung, tree=named(hung.tree, names.texts, assignment.leaves))
        settings = stamped_settings(commission, hung.tree, panels)
    dealt = dealt_piles(bench, hung, value, leaves.length)
    grades = grades if dealt is None else dealt.grades
    plan = LeafPlan(
        hung.tree, designs, panels, hung, shown, value, grades, names, assignment, settings, None, (),
        tuple(parts_list(len(tree.leaves), loop, leaves.eye, leaves.hang.isolation)),
        contact(leaves.metal, "steel", leaves.hang.isolation),
        kg_m2, earlier, dealt,
    )  # fmt: skip
    return plan_on(plan, laid(plan, commission, stored)) if plates else plan


def named(tree: Tree, texts: Sequence[str], rows: NDArray[np.int64]) -> Tree:
    """Return the tree with each name on its leaf; rows (N,) of the leaves, -1 for none."""
    names = [""] * len(tree.leaves)
    for text, row in zip(texts, rows.tolist(), strict=True):
        if row >= 0:
            names[row] = text
    return tree.hung(replace(tree.leaves, names=np.array(names, dtype=np.str_)))


def name_panels(commission: Commission, design: Design) -> tuple[Panel, ...]:
    """Return where names can stand on a design: the largest panel, and the longest for one line, two, and so on."""
    lettering = commission.leaves.lettering
    least = float(stamp_heights(lettering.least, lettering.most, lettering.stamps)[0])
    return stamp_panels(design, (least * line_depths(lettering.lines)).tolist())


def stamped_settings(
    commission: Commission, tree: Tree, panels: Sequence[Sequence[Panel]]
) -> tuple[Stamping | None, ...]:
    """Return how each leaf is stamped: (L,), None for leaves without a name."""
    lettering = commission.leaves.lettering
    heights = stamp_heights(lettering.least, lettering.most, lettering.stamps)
    return tuple(
        stamping(name, panels[design - 1], heights, lettering.lines) if name else None
        for name, design in zip(tree.leaves.names.tolist(), tree.leaves.designs.tolist(), strict=True)
    )


def blank_labels(layout: Layout, tree: Tree) -> tuple[tuple[str, ...], ...]:
    """Return the label of every leaf on every plate: the leaf's tag, then `x`, the design and a number for spares.

    Leaves of a design are cut in the order of their tags, so that a plate serves neighbouring twigs.
    """
    waiting: dict[int, list[str]] = {}
    for tag, design in zip(tree.leaves.tags.tolist(), tree.leaves.designs.tolist(), strict=True):
        waiting.setdefault(design, []).append(tag)
    for tags in waiting.values():
        tags.reverse()
    spares: dict[int, int] = {}
    labels = []
    for plate in layout.plates:
        row = []
        for design in plate.designs.tolist():
            if waiting.get(design):
                row.append(waiting[design].pop())
            else:
                spares[design] = spares.get(design, 0) + 1
                row.append(f"{SPARE}{design}-{spares[design]}")
        labels.append(tuple(row))
    return tuple(labels)


def branch_groups(tree: Tree) -> NDArray[np.int64]:
    """Return the row of the member that carries each leaf's twig: (L,)."""
    return np.asarray(tree.parents[tree.leaves.twigs], dtype=np.int64)


def panel_sizes(panels: Sequence[Sequence[Panel]]) -> Floats:
    """Return width and height of each panel: (D, P, 2) mm, zeros where a design has fewer."""
    most = max((len(each) for each in panels), default=1) or 1
    sizes = np.zeros((len(panels), most, 2))
    for row, each in enumerate(panels):
        for k, panel in enumerate(each):
            sizes[row, k] = panel.width, panel.height
    return sizes


def places_of(hung: Hung, grades: NDArray[np.int64], value: Floats) -> Places:
    """Return the leaves as places for names."""
    leaves = hung.tree.leaves
    return Places(leaves.tags, leaves.designs - 1, branch_groups(hung.tree), hung.eyes, value, grades)


def _check_room(names: NameList | None, leaves: int) -> None:
    """Names on the list and late ones must find leaves."""
    if names is not None and len(names) > leaves:
        rule = f"{len(names)} names, late ones counted, need as many leaves; leaves.count gives {leaves}"
        raise CommissionError("leaves.names", rule)


def dealt_piles(bench: Bench, hung: Hung, value: Floats, length: float) -> Dealt | None:
    """Return how the piles are dealt to the leaves that hang; None where nothing was counted."""
    if not bench.piles:
        return None
    leaves = hung.tree.leaves
    return deal(bench.heaps(), leaves.designs, leaves.names != "", value, hung.eyes, length)


def _first_grades(bench: Bench, hung: Hung, value: Floats) -> NDArray[np.int64]:
    """Grades that names are given by: as told by tag, or the best cuts of each pile to names that stay and then to the
    worthiest leaves."""
    leaves = hung.tree.leaves
    if not bench.piles:
        return bench.grades_of(leaves.tags.tolist())
    stay = {tag for tag, _ in bench.kept()}
    kept = np.array([tag in stay for tag in leaves.tags.tolist()], dtype=bool)
    return pile_grades(bench.heaps(), leaves.designs, kept, value)


def pile_grades(
    piles: Mapping[int, Pile], designs: NDArray[np.int64], kept: NDArray[np.bool_], value: Floats
) -> NDArray[np.int64]:
    """Return the grade (L,) that a name would find on each leaf: the best cuts of its design for leaves that keep their
    names, then by worth; scrap where the pile has run out."""
    grades = np.full(len(designs), SCRAP, dtype=np.int64)
    order = np.lexsort((np.arange(len(designs)), -value, ~kept))
    for design, pile in piles.items():
        rows = order[designs[order] == design]
        row = np.repeat([BEST, PLAIN, WILD], [pile.best, pile.plain, pile.wild])[: len(rows)]
        grades[rows[: len(row)]] = row
    return grades


def assigned(
    commission: Commission,
    names: NameList,
    places: Places,
    panels: Sequence[Sequence[Panel]],
    bench: Bench,
    areas: Floats,
) -> Assignment:
    """Return which leaf each name goes to; those that hang, or are struck, stay. areas: (L,) mm2 of the leaves."""
    lettering = commission.leaves.lettering
    heights = stamp_heights(lettering.least, lettering.most, lettering.stamps)
    kept = kept_rows(names, places, bench.kept())
    liked = likings(names.wishes, places.points, np.sqrt(areas), lettering.reach)
    sizes = panel_sizes(panels)
    return assign_names(names.texts, names.companies, places, sizes, heights, lettering.lines, kept, liked)


def kept_rows(names: NameList, places: Places, kept: Sequence[tuple[str, str]]) -> dict[int, int]:
    """Row of the leaf by name row, for leaves whose name stays and is still on the list.

    A name is looked for as it is spelled, and then but for capitals, as stamps have no others.
    """
    rows = {str(tag): k for k, tag in enumerate(places.tags.tolist())}
    rows_kept: dict[int, int] = {}
    left = [(tag, name) for tag, name in kept if tag in rows]
    for key in (str, folded):
        waiting: dict[str, list[int]] = {}
        for k in range(len(names) - 1, -1, -1):
            if k not in rows_kept:
                waiting.setdefault(key(names.texts[k]), []).append(k)
        later = []
        for tag, name in left:
            if waiting.get(key(name)):
                rows_kept[waiting[key(name)].pop()] = rows[tag]
            else:
                later.append((tag, name))
        left = later
    return rows_kept


def laid(plan: LeafPlan, commission: Commission, stored: str | None = None) -> Layout | None:
    """Return the leaves of a plan, and spares, laid on plates; None where there are none.

    stored: text of an earlier layout, used again where it answers the same job. Raises CommissionError where a leaf is
    larger than every plate.
    """
    if not len(plan.tree.leaves):
        return None
    plates, designs = commission.leaves.plates, plan.designs
    used = np.bincount(plan.tree.leaves.designs, minlength=len(designs) + 1)[1:]
    counts = with_spares(used, plates.spares)
    return lay_plates(designs, counts.tolist(), plates.sizes, plate_rules(commission), plates.offcuts, stored)


def plan_on(plan: LeafPlan, layout: Layout | None) -> LeafPlan:
    """Return the plan with its leaves on the plates of a layout."""
    return replace(plan, layout=layout, blanks=blank_labels(layout, plan.tree) if layout else ())
