"""hanging.pdf: which box holds what, then zone by zone from the top down what hangs on each twig, in two columns."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import groupby
from pathlib import Path

from armature.commission import Commission
from armature.edge import System, format_length
from armature.leaves import LeafPlan, Lift, lifts
from armature.leaves.naming import GRADES, SCRAP, pile_words
from armature.papers import ACCENT, GREY, INK, PALE, drawable
from armature.papers.leaves.folio import EDGE, Folio

_HEAD, _ROW, _NAME, _GUTTER = 8.0, 5.8, 4.6, 8.0
# Columns of a line, mm from its left edge: number of the loop, its station, what to take.
_LOOP, _AT, _TAKE = 6.5, 12.0, 38.0


def write_hang_list(file: Path, plan: LeafPlan, commission: Commission, missing: list[str]) -> None:
    """Write the hang list: zone by zone from the top down, a line a leaf with what to take from which pile, and which
    box holds what."""
    zones = lifts(plan.tree, plan.hung.eyes)
    leaves = plan.tree.leaves
    shown = [drawable(str(n), missing) for n in leaves.names.tolist() if n]
    folio = Folio(commission.title, "Hanging", commission.units, shown)
    folio.say(
        "From the top down, so that nothing is bumped twice. Under each twig stand its loops, counted from its foot, "
        "with their way from its START and the pile to take from: any leaf of it serves, but a name has its own, its "
        "tag struck on the back. Close each loop cold, sideways, and try the swing."
    )
    folio.say("Work at height: scaffold or lift, harness, nobody below, leaves handed up in their box.")
    folio.heading("Boxes")
    folio.say(
        "A box for each zone, lined, a sheet of soft paper between any two leaves, on edge and not stacked flat; named "
        "leaves on top in the order of hanging."
    )
    _boxes(folio, plan, zones)
    for zone in zones:
        folio.next_page(f"Zone {zone.number}, {zone.words(commission.units)}")
        _zone(folio, plan, zone, commission.units, missing)
    folio.saved(file)


def _boxes(folio: Folio, plan: LeafPlan, zones: Sequence[Lift]) -> None:
    """A row a box, a column a design: how many to lay in, by grade where cuts were graded."""
    designs = [d.number for d in plan.designs]
    dealt = plan.dealt is not None
    if dealt or len(designs) > 12:
        piles = ((str(z.number), z.side, str(len(z.rows)), str(_named(plan, z)), _words(plan, z)) for z in zones)
        folio.grid(("box", "zone", "leaves", "names", "leaves of each pile"), (0.7, 1.2, 0.9, 0.9, 7.0), piles, 9.5)
        return
    rows = (
        (str(z.number), z.side, str(len(z.rows)), str(_named(plan, z)), *(str(_count(plan, z, d)) for d in designs))
        for z in zones
    )
    heads = ("box", "zone", "leaves", "names", *(f"design {d}" for d in designs))
    folio.grid(heads, (0.7, 1.2, 0.9, 0.9, *(1.0 for _ in designs)), rows, 10.5, range(2, len(heads)))


def _named(plan: LeafPlan, zone: Lift) -> int:
    return sum(1 for k in zone.rows if plan.tree.leaves.names[k])


def _count(plan: LeafPlan, zone: Lift, design: int) -> int:
    return sum(1 for k in zone.rows if plan.tree.leaves.designs[k] == design)


def _words(plan: LeafPlan, zone: Lift) -> str:
    counts = Counter((int(plan.tree.leaves.designs[k]), GRADES[int(plan.grades[k])]) for k in zone.rows)
    return ", ".join(f"{n} of {design} {grade}" for (design, grade), n in sorted(counts.items()))


def _zone(folio: Folio, plan: LeafPlan, zone: Lift, units: System, missing: list[str]) -> None:
    """Set the twigs of a zone one after the other, down the left column and then down the right."""
    leaves, tags = plan.tree.leaves, plan.tree.tags
    wide = (folio.room - _GUTTER) / 2.0
    top, column = folio.down, 0
    for twig, some in groupby(zone.rows, key=lambda k: int(leaves.twigs[k])):
        rows = list(some)
        for k in rows:
            first = k == rows[0]
            need = _ROW + (_NAME if leaves.names[k] else 0.0) + (_HEAD if first else 0.0)
            if first and len(rows) < 8:
                need = max(need, _HEAD + sum(_ROW + (_NAME if leaves.names[each] else 0.0) for each in rows))
            moved = folio.down + need > folio.low + 4.0
            if moved:
                column = 1 - column
                if column == 0:
                    folio.next_page()
                folio.down = top
            x = EDGE + column * (wide + _GUTTER)
            if first or moved:
                _twig(folio, x, wide, f"{tags[twig]}{'' if first else ', on'}")
            _line(folio, plan, k, x, wide, units, missing)


def _twig(folio: Folio, x: float, wide: float, text: str) -> None:
    folio.ink(INK)
    folio.words(x, folio.down + 1.6, text, 13, bold=True)
    folio.rule(x, folio.down + 3.0, wide, 0.25)
    folio.down += _HEAD


def _line(folio: Folio, plan: LeafPlan, k: int, x: float, wide: float, units: System, missing: list[str]) -> None:
    leaves, y = plan.tree.leaves, folio.down
    folio.tick(x, y - 3.4, 3.8, 0.3)
    folio.ink(GREY)
    folio.words(x + _LOOP, y, str(leaves.tags[k]).rsplit("-", 1)[-1], 10)
    folio.ink(INK)
    folio.fraction(x + _AT, y, format_length(float(leaves.stations[k]), units), 11, bold=True)
    folio.fitted(x + _TAKE, y, _asked(plan, k), 11, wide - _TAKE)
    if name := str(leaves.names[k]):
        folio.ink(ACCENT)
        folio.fitted(x + _AT, y + _NAME, drawable(name, missing), 11, wide - _AT, bold=True)
        folio.down += _NAME
    folio.rule(x, folio.down + 1.5, wide, 0.1, PALE)
    folio.down += _ROW


def _asked(plan: LeafPlan, row: int) -> str:
    design, grade = int(plan.tree.leaves.designs[row]), int(plan.grades[row])
    if plan.dealt is None:
        return f"design {design}"
    return pile_words(design, grade) if grade != SCRAP else f"design {design}, to be cut again"
