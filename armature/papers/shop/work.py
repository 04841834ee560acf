"""What the station sheets list: groups of lines under headings, for drawing, bending, welding, stamping, hanging."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from armature.edge import System, format_length
from armature.papers.shop.batches import Batch
from armature.papers.shop.joint_words import weld_words
from armature.papers.shop.notes import loop_texts
from armature.papers.shop.travel import cut_columns, saw_cuts
from armature.papers.shop.words import hand, size_text
from armature.shop import DARTS, ShopPlan, dart_width
from armature.tree import RANKS

_APART = {
    "bush": "a bush pressed into every eye keeps leaf and loop apart",
    "sleeve": "a sleeve on the wire of every loop, drawn over it before it is closed, keeps leaf and loop apart",
    "ring": "a coated ring between every loop and its eye keeps them apart",
    "none": "nothing between leaf and loop",
}


@dataclass(frozen=True)
class Item:
    """One line of a sheet: large on the left, then further columns."""

    large: str
    columns: tuple[str, ...]


@dataclass(frozen=True)
class Group:
    """Lines that belong together, under a heading."""

    heading: str
    items: tuple[Item, ...]


def draw_groups(plan: ShopPlan, own: list[Batch], unit: System) -> Iterator[Group]:
    """Return bars to draw out, batch by batch: the bar, where its taper begins, tip, and DRAW TO, heel and all."""
    tree = plan.tree
    for batch in own:
        rows = [
            row
            for row in batch.rows
            if tree.end_diameters[row] < tree.tapers.bars[row] - 1e-6 and not _is_pipe(plan, row)
        ]
        items = tuple(
            Item(
                str(tree.tags[row]),
                (
                    format_length(float(tree.tapers.bars[row]), unit, fine=True),
                    format_length(float(tree.taper_starts[row]), unit),
                    format_length(float(tree.end_diameters[row]), unit, fine=True),
                    format_length(float(plan.draw_to[row]), unit),
                ),
            )
            for row in rows
        )
        if items:
            yield Group(_heading(plan, batch, len(rows), unit), items)


def _is_pipe(plan: ShopPlan, row: int) -> bool:
    return bool(plan.tree.walls[row]) and plan.sawn.rods[row] == 1


def pipes_groups(plan: ShopPlan, unit: System) -> Iterator[Group]:
    """Return pipes, which are drawn in and not out, and the solid ends that go on them."""
    tree, ends = plan.tree, plan.ends
    lasts = dict(zip(ends.rows.tolist(), zip(ends.stations, ends.diameters, strict=True), strict=True))
    drawn = tree.end_diameters < tree.start_diameters - 1e-6
    items = []
    for row in np.flatnonzero((tree.walls > 0.0) & drawn & (plan.sawn.rods == 1)).tolist():
        start, wall = float(tree.stock_diameters[row]), float(tree.walls[row])
        last, thin = lasts.get(row, (tree.lengths[row], tree.end_diameters[row]))
        wide = format_length(dart_width(float(tree.start_diameters[row]), float(thin)), unit)
        taper, tip = format_length(float(tree.taper_starts[row]), unit), size_text(float(thin), 0.0, unit)
        cells = (size_text(start, wall, unit), taper, f"{tip} at {format_length(float(last), unit)}", wide)
        items.append(Item(str(tree.tags[row]), cells))
    if items:
        yield Group(
            f"pipes, drawn in by {DARTS} darts as on their cards; last: the wide end of each dart", tuple(items)
        )
    solid = []
    for at, row in enumerate(ends.rows.tolist()):
        if plan.sawn.rods[row] == 1:
            run = float(tree.lengths[row] - ends.stations[at])
            thick = size_text(float(ends.diameters[at]), 0.0, unit)
            thin_end = size_text(float(tree.end_diameters[row]), 0.0, unit)
            told = (thick, format_length(0.0, unit), thin_end, format_length(run, unit))
            solid.append(Item(f"{tree.tags[row]}.end", told))
    if solid:
        yield Group("solid ends of pipes", tuple(solid))


def bend_groups(plan: ShopPlan, own: list[Batch], unit: System) -> Iterator[Group]:
    """Return what to punch and bend, batch by batch: bar, bends, members welded on, marks in all."""
    tree = plan.tree
    bends = np.bincount(plan.bends.members, minlength=len(tree))
    marks = np.bincount(tree.parents[tree.parents >= 0], minlength=len(tree))
    for batch in own:
        bar, _ = _bought(plan, batch, unit)
        items = tuple(
            Item(str(tree.tags[row]), (bar, str(bends[row]), str(marks[row]), str(2 * bends[row] + marks[row] + 1)))
            for row in batch.rows
        )
        yield Group(_heading(plan, batch, len(items), unit), items)


def weld_groups(plan: ShopPlan, unit: System) -> Iterator[Group]:
    """Return members welded in the shop, section by section, under a heading wherever section or parent changes."""
    tree, parted = plan.tree, len(plan.sections.sections) > 1
    key = (-1, -1)
    items: list[Item] = []
    for row in plan.weld_sequence[1:].tolist():
        if plan.on_site[row]:
            break
        own = (int(plan.sections.of_member[row]), int(tree.parents[row]))
        if own != key and items:
            yield Group(_onto(plan, key, len(items), parted), tuple(items))
            items = []
        key = own
        items.append(_welded(plan, row, unit))
    if items:
        yield Group(_onto(plan, key, len(items), parted), tuple(items))


def _welded(plan: ShopPlan, row: int, unit: System) -> Item:
    tree, weld = plan.tree, plan.welding
    kind = str(plan.kinds[row])
    joint = weld_words(plan, row, unit) if kind == "weld" else kind
    # On site all the rest of its section hangs on it already.
    reached = int((weld.late if plan.on_site[row] else weld.reached)[row])
    reach = f"{reached} of 8 sides" if reached < 8 and kind == "weld" else ""
    after = tree.tags[weld.before.get(row, [])].tolist()
    return Item(str(tree.tags[row]), (format_length(float(plan.written.feet[row]), unit), joint, reach, _some(after)))


def _some(tags: list[str]) -> str:
    """Return three tags at most; where there are more, two and how many follow."""
    return " ".join(tags) if len(tags) <= 3 else f"{' '.join(tags[:2])} +{len(tags) - 2}"


def on_site_groups(plan: ShopPlan, unit: System) -> Iterator[Group]:
    """Return joints between sections in order of erection: members at their own joints, bars sawn for transport."""
    tree = plan.tree
    for number, section in enumerate(plan.sections.sections, start=1):
        splice = section.splice
        if splice is None:
            continue
        on = f"ON SITE, S{number} onto S{section.parent + 1}"
        if splice.at_joint:
            yield Group(
                f"{on}: weld {tree.tags[splice.row]} on {tree.tags[tree.parents[splice.row]]}",
                (_welded(plan, splice.row, unit),),
            )
            continue
        cut = next(each for each in saw_cuts(plan, splice.row) if each.section == number)
        yield Group(
            f"{on}: join {tree.tags[splice.row]} where it is sawn, as on its card",
            (Item(str(tree.tags[splice.row]), cut_columns(cut, unit)),),
        )


def _onto(plan: ShopPlan, key: tuple[int, int], count: int, parted: bool) -> str:
    section, parent = key
    where = f"in the shop, S{section + 1}, onto" if parted else "onto"
    return f"{where} {plan.tree.tags[parent]}: {count} piece{'s' if count > 1 else ''}"


def stamp_groups(plan: ShopPlan) -> Iterator[Group]:
    """Return the names to stamp, design by design."""
    leaves = plan.tree.leaves
    for design in np.unique(leaves.designs).tolist():
        rows = [row for row in np.flatnonzero(leaves.designs == design).tolist() if leaves.names[row]]
        items = tuple(Item(str(leaves.tags[row]), (str(leaves.names[row]), str(design))) for row in rows)
        if items:
            yield Group(f"design {design}: {len(items)} leaves", items)


def hang_groups(plan: ShopPlan, unit: System) -> Iterator[Group]:
    """Return leaves branch by branch, on each twig in order from its start."""
    tree, leaves = plan.tree, plan.tree.leaves
    wire, how = loop_texts(plan, unit)
    yield Group(f"{len(leaves)} loops of {wire}", ())
    yield Group(how, ())
    yield Group(_APART[plan.loops.isolation], ())
    order = plan.loops.order
    parents = tree.parents[leaves.twigs[order]]
    for parent in np.unique(parents).tolist():
        rows = order[parents == parent].tolist()
        items = tuple(
            Item(
                str(leaves.tags[row]),
                (
                    format_length(float(leaves.stations[row]), unit),
                    hand(float(plan.loops.clocks[row])),
                    str(leaves.designs[row]),
                    str(leaves.names[row]),
                ),
            )
            for row in rows
        )
        yield Group(f"twigs on {tree.tags[parent]}: {len(items)} leaves", items)


def _heading(plan: ShopPlan, batch: Batch, count: int, unit: System) -> str:
    on = "the base" if batch.parent < 0 else str(plan.tree.tags[batch.parent])
    return f"batch {batch.number}: {count} x {RANKS[batch.rank]} on {on}, {' '.join(_bought(plan, batch, unit))}"


def _bought(plan: ShopPlan, batch: Batch, unit: System) -> tuple[str, str]:
    """Return the size of a batch as it is bought, of pipe exactly, and "bar" or "pipe"."""
    wall = float(plan.tree.walls[batch.rows[0]])
    return (size_text(batch.stock_mm, wall, unit), "pipe" if wall else "bar")
