"""The plan of leaves that hang already: kept as it is, but for names that move or bars that took another size."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from armature.commission import Commission
from armature.errors import FileError
from armature.leaves.given import plate_rules
from armature.leaves.hanging import Loop, contact, hang_leaves, parts_list
from armature.leaves.naming import Bench, NameList, sight, worth
from armature.leaves.nesting import Layout, layout_faults, with_spares
from armature.leaves.outline import Design
from armature.leaves.plan import LeafPlan, blank_labels, name_panels, named, stamped_settings
from armature.stock import sheet
from armature.tree import Tree


def kept_plan(
    commission: Commission, tree: Tree, designs: Sequence[Design], layout: Layout | None, bench: Bench
) -> LeafPlan:
    """Return the plan of a finished design: its hang points, names and plates as they are.

    Raises FileError where the plates are not those of the design: what was cut from them could not be told any more.
    """
    leaves = commission.leaves
    _check_plates(commission, tree, designs, layout)
    loop = Loop(leaves.wire, leaves.loop, leaves.hang.isolation == "ring")
    kg_m2 = sheet(leaves.metal, leaves.sheet).mass_kg_m2
    hang = leaves.hang
    hung = hang_leaves(tree, designs, loop, kg_m2, hang.swing, hang.strike, leaves.spacing, move=False)
    texts = tuple(tree.leaves.names[tree.leaves.names != ""].tolist())
    panels = tuple(name_panels(commission, d) if texts else () for d in designs)
    shown = sight(hung.eyes, leaves.length)
    return LeafPlan(
        tree, tuple(designs), panels, hung, shown, worth(hung.eyes, shown.legible, leaves.lettering.reach),
        bench.grades_of(tree.leaves.tags.tolist()),
        NameList(texts, ("",) * len(texts), tuple(range(1, len(texts) + 1)), "utf-8", ",", ()) if texts else None,
        None, stamped_settings(commission, tree, panels), layout, blank_labels(layout, tree) if layout else (),
        tuple(parts_list(len(tree.leaves), loop, leaves.eye, hang.isolation)),
        contact(leaves.metal, "steel", hang.isolation), kg_m2, bench,
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


def rehung(plan: LeafPlan, commission: Commission, tree: Tree) -> LeafPlan:
    """Return the plan on the same tree with other bars: each leaf on its own loop, wherever that has come to lie.

    tree: the plan's, resized, its leaves with it. Designs, names, grades and plates stay.
    """
    leaves, hang = commission.leaves, commission.leaves.hang
    loop = Loop(leaves.wire, leaves.loop, hang.isolation == "ring")
    hung = hang_leaves(tree, plan.designs, loop, plan.sheet_kg_m2, hang.swing, hang.strike, leaves.spacing, move=False)
    shown = sight(hung.eyes, leaves.length)
    return replace(
        plan,
        tree=tree,
        hung=replace(hung, moved=plan.hung.moved),
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
