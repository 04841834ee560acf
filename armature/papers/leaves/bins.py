"""Bins for cut leaves: a page and a sheet to count them on, and labels."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

from armature.commission import Commission
from armature.leaves import LeafPlan
from armature.papers import INK
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
