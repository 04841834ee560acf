"""benches.pdf: what can be handed over, and batches of names by person, anvil and day."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

from armature.commission import Commission
from armature.leaves import LeafPlan
from armature.leaves.naming import Batch, dealt_batches, stations
from armature.papers.leaves.folio import Folio
from armature.papers.leaves.places import stamp_text


def write_benches(file: Path, plan: LeafPlan, commission: Commission) -> None:
    """Write the stations of leaf work with skill, tools and hours, and the batches of names by person."""
    folio = Folio(commission.title, "Benches: who can do what", commission.units)
    dealt = dealt_batches(plan.settings, plan.tree.leaves.tags.tolist(), commission.leaves.lettering.people)
    folio.say("Hours are common practice, no source, and of good hands: take your own after the first fifty.")
    laid = sum(len(p) for p in plan.layout.plates) if plan.layout else len(plan.tree.leaves)
    counts = {"cut": laid, "hung": len(plan.tree.leaves)}
    struck = sum(batch.hours for batch in dealt)
    for station in stations():
        hours = struck if station.minutes == 0.0 else station.minutes * counts[station.counts] / 60.0
        folio.heading(f"{station.name[0].upper()}{station.name[1:]}: {hours:.0f} h")
        folio.say(f"Skill: {station.skill}. Tools: {station.tools}.", indent=6.0)
        folio.say(f"Hand over {station.hand_over}.", indent=6.0)
    folio.say(
        "Eyes and ears at every anvil; extraction where copper is heated or ground; gloves until edges are filed."
    )
    if dealt:
        _batches(folio, dealt, plan, commission)
    folio.saved(file)


def _batches(folio: Folio, dealt: list[Batch], plan: LeafPlan, commission: Commission) -> None:
    people = commission.leaves.lettering.people
    folio.next_page("Names: batches by person")
    days = max(batch.day for batch in dealt)
    folio.say(
        f"{sum(len(b.rows) for b in dealt)} names, {sum(b.letters for b in dealt):,} letters, "
        f"{sum(b.hours for b in dealt):.1f} hours: {days} day{'s' if days > 1 else ''} for "
        f"{people} {'people' if people > 1 else 'person'}. Batches are those of stamping.pdf."
    )
    sets = Counter({(b.height, b.day, b.person): 1 for b in dealt if b.method != "chase"})
    need: Counter[float] = Counter()
    for day in range(1, days + 1):
        for height in {h for h, d, _ in sets if d == day}:
            need[height] = max(need[height], sum(1 for h, d, _ in sets if (h, d) == (height, day)))
    units = commission.units
    words = ", ".join(f"{n} of {stamp_text(height, units)}" for height, n in sorted(need.items(), reverse=True))
    folio.say(f"Sets of letter stamps for that: {words}. An anvil or a steel block for each person.")
    tags = plan.tree.leaves.tags
    for person in range(1, people + 1):
        own = [b for b in dealt if b.person == person]
        if not own:
            continue
        folio.heading(f"Person {person}, anvil {person}: {sum(b.hours for b in own):.1f} h")
        rows = [
            (str(b.day), str(b.number), stamp_text(b.height, units), b.method, str(len(b.rows)), str(b.letters),
            f"{b.hours:.1f}",
             f"{tags[b.rows[0]]} to {tags[b.rows[-1]]}", "[ ]")
            for b in own
        ]  # fmt: skip
        heads = ("day", "batch", "set", "how", "leaves", "letters", "hours", "leaves by tag", "done")
        folio.grid(heads, (0.6, 0.8, 1.2, 1.8, 0.9, 1, 0.8, 2.6, 0.7), rows, right=(4, 5, 6))
