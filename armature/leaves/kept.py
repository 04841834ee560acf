"""The plan of leaves that hang already: kept as it is, but for names that move or bars that took another size."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from armature.commission import Commission
from armature.edge import FileError
from armature.leaves.given import plate_rules
from armature.leaves.hanging import Loop, contact, hang_leaves, parts_list
from armature.leaves.naming import Bench, NameList, sight, worth
from armature.leaves.nesting import Layout, layout_faults, with_spares
from armature.leaves.outline import Design
from armature.leaves.plan import (
    LeafPlan,
    assigned,
    blank_labels,
    dealt_piles,
    name_panels,
    named,
    pile_grades,
    places_of,
    stamped_settings,
)
from armature.leaves.stored_panels import stored_panels
from armature.tree import Tree


def kept_plan(
    commission: Commission,
    tree: Tree,
    designs: Sequence[Design],
    layout: Layout | None,
    bench: Bench,
    names: NameList | None = None,
    panels: str = "",
) -> LeafPlan:
    """Return the plan of a finished design: its hang points, names and plates as they are.

    names: the list that they are on, where it is known with what it says of gifts and wishes. panels: text in which
    those of the designs were kept, found anew where it answers something else. Raises FileError
    where the plates are not those of the design: what was cut from them could not be told any more.
    """
    leaves = commission.leaves
    _check_plates(commission, tree, designs, layout)
    loop = Loop(leaves.wire, leaves.loop, leaves.hang.isolation == "ring")
    kg_m2 = leaves.kg_m2
    hang = leaves.hang
    hung = hang_leaves(tree, designs, loop, kg_m2, hang.swing, hang.strike, leaves.spacing, move=False)
    texts = tuple(tree.leaves.names[tree.leaves.names != ""].tolist())
    room = stored_panels(panels, designs, commission) if texts else ((),) * len(designs)
    shown = sight(hung.eyes, leaves.length)
    value = worth(hung.eyes, shown.legible, leaves.lettering.reach)
    dealt = dealt_piles(bench, hung, value, leaves.length)
    if names is None and texts:
        names = NameList(texts, ("",) * len(texts), tuple(range(1, len(texts) + 1)), "utf-8", ",", ())
    return LeafPlan(
        tree, tuple(designs), room, hung, shown, value,
        bench.grades_of(tree.leaves.tags.tolist()) if dealt is None else dealt.grades,
        names, None, stamped_settings(commission, tree, room), layout, blank_labels(layout, tree) if layout else (),
        tuple(parts_list(len(tree.leaves), loop, leaves.eye, hang.isolation)),
        contact(leaves.metal, "steel", hang.isolation), kg_m2, bench, dealt,
    )  # fmt: skip


def _check_plates(commission: Commission, tree: Tree, designs: Sequence[Design], layout: Layout | None) -> None:
    plates = commission.leaves.plates
    used = np.bincount(tree.leaves.designs, minlength=len(designs) + 1)[1:]
    counts = with_spares(used, plates.spares).tolist()
    faults = (
        layout_faults(layout, designs, counts, plates.sizes, plates.offcuts, plate_rules(commission)) if layout else ()
    )
    if faults:
        raise FileError(
            "leaves/plates.json", f"does not answer its design: {faults[0]}; put back the file as it was made"
        )


def rehung(plan: LeafPlan, commission: Commission, tree: Tree, settle: bool = True) -> LeafPlan:
    """Return the plan on the same tree with other bars: each leaf on its own loop, wherever that has come to lie.

    tree: the plan's, resized, its leaves with it. Designs, names, grades and plates stay. settle: whether loops move
    along their own twigs where leaves now strike beyond their share.
    """
    leaves, hang = commission.leaves, commission.leaves.hang
    loop = Loop(leaves.wire, leaves.loop, hang.isolation == "ring")
    rules = (plan.designs, loop, plan.sheet_kg_m2, hang.swing, hang.strike, leaves.spacing)
    hung = hang_leaves(tree, *rules, move=False)
    if settle and (hung.shares > hang.strike).any():
        # Each keeps the design that it is cut in, and so its twig and its name.
        hung = hang_leaves(tree, *rules, locked=np.ones(len(tree.leaves), dtype=bool))
    tree = hung.tree
    shown = sight(hung.eyes, leaves.length)
    return replace(
        plan,
        tree=tree,
        hung=replace(hung, moved=plan.hung.moved + hung.moved),
        sight=shown,
        worth=worth(hung.eyes, shown.legible, leaves.lettering.reach),
        settings=stamped_settings(commission, tree, plan.panels),
    )


def renamed(plan: LeafPlan, commission: Commission, rows: NDArray[np.int64], bench: Bench) -> LeafPlan:
    """Return the plan with its names on other leaves: rows (N,) of the leaves, names in the order that they hang in."""
    texts = plan.tree.leaves.names[plan.tree.leaves.names != ""].tolist()
    tree = named(plan.tree, texts, rows)
    return replace(
        plan,
        tree=tree,
        hung=replace(plan.hung, tree=tree),
        grades=bench.grades_of(tree.leaves.tags.tolist()),
        bench=bench,
        settings=stamped_settings(commission, tree, plan.panels),
    )


def relisted(plan: LeafPlan, commission: Commission, names: NameList | None, bench: Bench) -> LeafPlan:
    """Return the plan with a changed list of names and the bench's new word; names that hang stay where they do.

    bench: its `held` says which names hang where, and its piles which cuts there are. Names of a leaf that must go
    elsewhere are left out of `held`; those that find no leaf are told by the plan's assignment.
    """
    leaves = plan.tree.leaves
    panels = plan.panels
    if names is not None and not any(panels):
        panels = tuple(name_panels(commission, design) for design in plan.designs)
    blank = plan.tree.hung(replace(leaves, names=np.full(len(leaves), "")))
    assignment, tree = None, blank
    if names is not None:
        stay = {tag for tag, _ in bench.kept()}
        kept = np.array([tag in stay for tag in leaves.tags.tolist()], dtype=bool)
        grades = (
            pile_grades(bench.heaps(), leaves.designs, kept, plan.worth)
            if bench.piles
            else bench.grades_of(leaves.tags.tolist())
        )
        places = places_of(plan.hung, grades, plan.worth)
        assignment = assigned(commission, names, places, panels, bench, plan.hung.areas)
        tree = named(blank, names.texts, assignment.leaves)
    hung = replace(plan.hung, tree=tree)
    dealt = dealt_piles(bench, hung, plan.worth, commission.leaves.length)
    return replace(
        plan,
        tree=tree,
        hung=hung,
        panels=panels,
        grades=bench.grades_of(leaves.tags.tolist()) if dealt is None else dealt.grades,
        names=names,
        assignment=assignment,
        settings=stamped_settings(commission, tree, panels),
        bench=bench,
        dealt=dealt,
    )
