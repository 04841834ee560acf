"""Bins for cut leaves: a page and a sheet to count them on, labels for bins and boxes, what to hang in which order."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

from armature.commission import Commission
from armature.leaves import LeafPlan, Lift, lifts
from armature.leaves.naming import GRADES, SCRAP, pile_words
from armature.papers import INK, drawable
from armature.papers.leaves.drawn import curve
from armature.papers.leaves.folio import EDGE, Folio
from armature.papers.leaves.shell import one_page

_BINS = ("best", "plain", "wild", "scrap")


def cut_counts(plan: LeafPlan) -> dict[int, int]:
    """Return how many leaves of each design come off the table, spares too; those that hang where no plate is laid."""
    counts = Counter({d.number: 0 for d in plan.designs})
    if plan.layout is None:
        counts.update(plan.tree.leaves.designs.tolist())
    for plate in plan.layout.plates if plan.layout else ():
        counts.update(plate.designs.tolist())
    return dict(counts)


def bins_page(plan: LeafPlan, commission: Commission) -> str:
    """Return bins.html: a page for a telephone to count the bins on, which hands back piles.csv."""
    cut, heaps = cut_counts(plan), plan.bench.piles
    designs = [
        {"number": d.number, "form": d.name, "cut": cut[d.number]}
        | ({grade: getattr(heaps[d.number], grade) for grade in _BINS} if d.number in heaps else {})
        for d in plan.designs
    ]
    heads = "".join(f"<th>{grade}</th>" for grade in _BINS)
    body = (
        "<main><h1>Count the bins</h1><p>Cuts are sorted by design and grade, and not tagged. Wild ones are "
        "good and odd: "
        f"they are scattered through the crown.</p><table><thead><tr><th>design</th>{heads}<th>in all</th></tr></thead>"
        '<tbody id="bins"></tbody></table></main><div class="foot"><button id="save" type="button">Save piles.csv'
        '</button><span id="told" role="status"></span></div>'
    )
    return one_page(f"{commission.title}: bins", body, "desk.css", "bins.js", {"designs": designs})


def write_bins(file: Path, plan: LeafPlan, commission: Commission) -> None:
    """Write a sheet to count on, and a label for each bin with its outline at full size."""
    cut = cut_counts(plan)
    folio = Folio(commission.title, "Bins: count what came off the table", commission.units)
    folio.say("Sort by design and grade. Nothing is tagged: a leaf is one of its pile until it hangs. Names get "
              "the best; "
              "wild cuts are good and odd, and are scattered through the crown. Wear gloves: edges cut.")  # fmt: skip
    rows = [(str(d.number), d.name, str(cut[d.number]), "", "", "", "") for d in plan.designs]
    folio.grid(("design", "form", "cut", *_BINS), (1, 2, 1, 1.4, 1.4, 1.4, 1.4), rows, 11.0, (2,), 10.5)
    folio.say("Each row must add up to what was cut. Then: armature leaves piles JOB piles.csv, with the "
              "columns design, "
              "best, plain, wild, scrap; or count on a telephone with bins.html.")  # fmt: skip
    for d in plan.designs:
        low_x, low_y, high_x, high_y = d.shape.bounds
        high = max(high_y - low_y, 30.0) + 14.0
        folio.need(high)
        top = folio.down
        curve(folio, d.outline, (EDGE - low_x + 4.0, top + high_y + 2.0))
        curve(folio, d.eye_path, (EDGE - low_x + 4.0, top + high_y + 2.0))
        at = EDGE + max(high_x - low_x + 14.0, 60.0)
        folio.ink(INK)
        folio.words(at, top + 14.0, f"Design {d.number}", 30, bold=True)
        folio.words(at, top + 22.0, f"{d.name}, {cut[d.number]} cut", 12)
        for k, grade in enumerate(_BINS):
            folio.tick(at + 24.0 * k, top + 28.0, 5.0, 0.4)
            folio.words(at + 24.0 * k + 7.0, top + 32.2, grade, 12)
        folio.down = top + high
        folio.rule(EDGE, folio.down - 5.0, folio.room, 0.15)
    folio.saved(file)


def write_hang_list(file: Path, plan: LeafPlan, commission: Commission, missing: list[str]) -> None:
    """Write the hang list: zone by zone from the top down, a line a leaf with what to take from which pile, and which
    box holds what."""
    zones = lifts(plan.tree, plan.hung.eyes)
    leaves = plan.tree.leaves
    shown = [drawable(str(n), missing) for n in leaves.names.tolist() if n]
    folio = Folio(commission.title, "Hanging", commission.units, shown)
    folio.say("From the top down, so that nothing is bumped twice. Take any leaf of the pile that the line asks "
              "for; only names "
              "have a tag of their own, struck on the back. Close each loop cold, sideways, and try its "
              "swing.")  # fmt: skip
    folio.say("Work at height: scaffold or lift, harness, nobody below, leaves handed up in their box.")
    folio.heading("Boxes")
    folio.say("A box for each zone, lined, a sheet of soft paper between any two leaves, on edge and not "
              "stacked flat; named "
              "leaves on top in the order of hanging.")  # fmt: skip
    folio.grid(
        ("box", "zone", "leaves", "names", "by pile"),
        (0.6, 2.4, 0.8, 0.8, 7.0),
        (_box(plan, z) for z in zones),
        9.0,
        (2, 3),
    )
    for zone in zones:
        folio.next_page(f"Hang: zone {zone.number}, {zone.words(commission.units)}")
        rows = []
        for k in zone.rows:
            name = str(leaves.names[k])
            tag = f"{leaves.tags[k]}: {drawable(name, missing)}" if name else ""
            at = f"{leaves.stations[k] / 25.4:.1f} in" if commission.units == "inch" else f"{leaves.stations[k]:.0f} mm"
            number = str(leaves.tags[k]).rsplit("-", 1)[-1]
            rows.append(("[ ]", str(plan.tree.tags[leaves.twigs[k]]), number, at, _asked(plan, k), tag))
        folio.grid(("", "twig", "loop", "from its foot", "take", "name"), (0.4, 1.3, 0.7, 1.3, 2.2, 4), rows, 9.5)
    folio.saved(file)


def _asked(plan: LeafPlan, row: int) -> str:
    design, grade = int(plan.tree.leaves.designs[row]), int(plan.grades[row])
    if plan.dealt is None:
        return f"design {design}"
    return pile_words(design, grade) if grade != SCRAP else f"design {design}, to be cut again"


def _box(plan: LeafPlan, zone: Lift) -> tuple[str, ...]:
    leaves = plan.tree.leaves
    rows = zone.rows
    counts: Counter[tuple[int, str]] = Counter()
    for k in rows:
        grade = GRADES[int(plan.grades[k])] if plan.dealt is not None else ""
        counts[int(leaves.designs[k]), grade] += 1
    words = ", ".join(f"{n} x {design}{' ' + grade if grade else ''}" for (design, grade), n in sorted(counts.items()))
    names = sum(1 for k in rows if leaves.names[k])
    return str(zone.number), zone.side, str(len(rows)), str(names), words
