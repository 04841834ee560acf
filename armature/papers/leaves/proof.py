"""The proof of names, on paper and as a page: what the office goes through and signs before a blow is struck."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from armature.commission import Commission
from armature.leaves import LeafPlan, kept_rows, places_of
from armature.leaves.naming import Wish, changes_since, met
from armature.papers import GREY, INK, PALE, drawable
from armature.papers.leaves.folio import EDGE, Folio
from armature.papers.leaves.places import SIDES, named_places, stamp_text
from armature.papers.leaves.shell import one_page

# Columns of a row, mm from the edge, and the type of what is struck, points.
_NUMBER, _STRUCK, _WHERE, _LARGE = 8.0, 17.0, 118.0, 13.0


@dataclass(frozen=True)
class ProofLine:
    """A name as it goes to proof: its number on the list, leaf, lines as struck, letters, what was said of it, where
    it hangs, what of its wish is missed, and how it differs from what was signed."""

    number: int
    name: str
    leaf: str
    lines: tuple[str, ...]
    letters: str
    family: str
    gift: str
    wish: str
    where: str
    missed: str
    change: str
    signed: bool


def proof_lines(plan: LeafPlan, commission: Commission) -> list[ProofLine]:
    """Return the names that hang, in order of the names."""
    tree, names = plan.tree, plan.names
    rows = _rows_of(plan)
    changes = {c.leaf: c for c in changes_since(plan.bench.signed, plan.struck_lines) if c.what != "gone"}
    signed = {s.leaf for s in plan.bench.signed} - set(changes)
    middle = plan.hung.eyes.mean(axis=0) if len(tree.leaves) else np.zeros(3)
    lines = []
    for number, place in enumerate(named_places(plan, commission.units), 1):
        setting, k = plan.settings[place.row], rows.get(place.row, -1)
        family, gift, wish, wished = "", "", "", Wish()
        if names is not None and k >= 0:
            family, gift, wish, wished = names.families[k], names.gifts[k], names.wish_texts[k], names.wishes[k]
        missed = met(wished, plan.hung.eyes[place.row], middle, commission.leaves.lettering.reach)
        letters = "" if setting is None else f"{stamp_text(setting.height, commission.units)}, {setting.method}"
        where = f"{place.tag}, limb {place.limb}, {place.high}, {SIDES[place.side]}"
        change = changes[place.tag].words if place.tag in changes else ""
        lines.append(
            ProofLine(
                number,
                place.name,
                place.tag,
                setting.lines if setting else (),
                letters,
                family,
                gift,
                wish,
                where,
                ", ".join(missed),
                change,
                place.tag in signed,
            )
        )
    return lines


def _rows_of(plan: LeafPlan) -> dict[int, int]:
    """Row of the list by row of the leaf, for names that hang."""
    if plan.names is None:
        return {}
    if plan.assignment is not None:
        return {leaf: k for k, leaf in enumerate(plan.assignment.leaves.tolist()) if leaf >= 0}
    leaves = plan.tree.leaves
    hung = [(t, n) for t, n in zip(leaves.tags.tolist(), leaves.names.tolist(), strict=True) if n]
    rows = kept_rows(plan.names, places_of(plan.hung, plan.grades, plan.worth), hung)
    return {leaf: k for k, leaf in rows.items()}


def write_proof(file: Path, plan: LeafPlan, commission: Commission, missing: list[str]) -> None:
    """Write the proof as PDF: a line a name with a box to tick, changes since signing first, a place to sign."""
    lines = proof_lines(plan, commission)
    shown = [line.name for line in lines] + [text for line in lines for text in (*line.lines, line.family, line.gift)]
    folio = Folio(commission.title, "Proof of names", commission.units, [drawable(t, missing) for t in shown])
    folio.say(
        "Please read every name letter by letter, as it will be struck. Tick it where it is right; write beside "
        "it where it "
        "is not. What is signed here is what is struck: a blow cannot be taken back."
    )
    gone = [c for c in changes_since(plan.bench.signed, plan.struck_lines) if c.what == "gone"]
    changed = [line for line in lines if line.change]
    if plan.bench.signed:
        folio.say(
            f"{sum(line.signed for line in lines)} of {len(lines)} names are signed as they stand. "
            f"Changed since signing: {len(changed)}; gone: {len(gone)}."
        )
    if changed or gone:
        folio.heading("Changed since signing")
        rows = [(drawable(c.name, missing), drawable(c.change, missing)) for c in changed]
        folio.grid(("name", "change"), (2, 4), rows + [(drawable(c.name, missing), c.words) for c in gone])
    folio.heading("Names")
    _heads(folio)
    for line in lines:
        _row(folio, line, missing)
    _sign_here(folio)
    folio.saved(file)


def _heads(folio: Folio) -> None:
    folio.ink(GREY)
    for x, text in (
        (_NUMBER, "no."),
        (_STRUCK, "as it is struck; below it as it was given"),
        (_WHERE, "letters, place"),
    ):
        folio.words(EDGE + x, folio.down, text, 9)
    folio.words(EDGE + folio.room, folio.down, "signed", 9, align="R")
    folio.rule(EDGE, folio.down + 1.6, folio.room, 0.3)
    folio.down += 7.2


def _row(folio: Folio, line: ProofLine, missing: list[str]) -> None:
    """Write a name: the box, the letters large as they are struck, what was said of it, where it hangs."""
    room = _WHERE - _STRUCK - 4.0
    struck = folio.broken(drawable(" / ".join(line.lines), missing), _LARGE, room)
    given = folio.broken(drawable(_given(line), missing), 9.5, room)
    beside = folio.broken(line.where, 9.5, folio.room - _WHERE - 14.0)
    high = max(5.4 * len(struck) + 4.4 * len(given), 4.4 * (1 + len(beside))) + 1.8
    if folio.down + high > folio.low + 4.0:
        folio.next_page()
        _heads(folio)
    y = folio.down
    folio.tick(EDGE, y - 3.9, 4.6, 0.4)
    folio.ink(GREY)
    folio.words(EDGE + _NUMBER, y, str(line.number), 9.5)
    folio.words(EDGE + folio.room, y, _state(line), 9.5, align="R")
    for number, text in enumerate([line.letters, *beside]):
        folio.fraction(EDGE + _WHERE, y + 4.4 * number, text, 9.5)
    folio.ink(INK)
    for number, text in enumerate(struck):
        folio.fitted(EDGE + _STRUCK, y + 5.4 * number, text, _LARGE, room, bold=True)
    for number, text in enumerate(given):
        folio.fitted(EDGE + _STRUCK, y + 5.4 * len(struck) - 0.6 + 4.4 * number, text, 9.5, room)
    folio.down += high
    folio.rule(EDGE, folio.down - 4.9, folio.room, 0.1, PALE)


def _given(line: ProofLine) -> str:
    """Return a name as it was given, with gift, family and wish."""
    family, wish = line.family and f"family {line.family}", line.wish and f"wish: {line.wish}"
    said = "; ".join(text for text in (line.name, line.gift, family, wish) if text)
    return said + (f" (not met: {line.missed})" if line.missed else "")


def _state(line: ProofLine) -> str:
    return "yes" if line.signed else "changed" if line.change and line.change != "not signed" else "no"


def _sign_here(folio: Folio) -> None:
    folio.need(34.0)
    folio.down += 8.0
    for words in ("Signed for the client, all names ticked", "Name in capitals", "Date"):
        folio.ink(INK)
        folio.words(EDGE, folio.down, words, 10.5)
        folio.rule(EDGE + 75.0, folio.down + 0.8, 95.0, 0.25)
        folio.down += 11.0


def proof_page(plan: LeafPlan, commission: Commission) -> str:
    """Return proof.html: the same list as a page that hands back what was checked, as a CSV for `leaves sign`."""
    body = (
        "<main><h1>Names, as they will be struck</h1><p>Read every name letter by letter. Tick it where it is "
        "right, or "
        "spell it. Then save the list and send it back. What is signed is what is struck: a blow cannot be "
        "taken back.</p>"
        '<div id="list"></div></main><div class="foot"><button id="save" type="button">Save the list</button>'
        '<span id="told" role="status"></span></div>'
    )
    keys = ("name", "leaf", "lines", "family", "gift", "wish", "where", "missed", "change", "signed")
    names = [{key: getattr(line, key) for key in keys} for line in proof_lines(plan, commission)]
    return one_page(f"{commission.title}: names", body, "desk.css", "proof.js", {"names": names})
