"""made-steel.md: what came out otherwise than planned, what to do about it, and what changed on the cards."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from armature.answer import BACK, REMAKE, STANDS, Answer, Change, Revision, Trouble
from armature.edge import System, format_length
from armature.tree import TWIG

_MOST = 4


def changed_words(changes: Sequence[Change], units: System) -> str:
    """Return what changed on a card, the figures of the joint first: `at 312 mm, was 300 mm; lean 47°, was 45°`;
    nothing where it is less than a step of the paper."""
    told = []
    for each in changes:
        before, after = (_figure(each.kind, value, units) for value in (each.before, each.after))
        if before != after:
            told.append(f"{each.name} {after}, was {before}")
    more = [f"and {len(told) - _MOST} more"] if len(told) > _MOST else []
    return "; ".join([*told[:_MOST], *more])


def _figure(kind: str, value: float, units: System) -> str:
    return format_length(value, units) if kind == "mm" else f"{round(value)}°"


def made_steel_md(
    title: str,
    answer: Answer,
    troubles: Sequence[Trouble],
    revisions: Mapping[str, Revision],
    helps: Sequence[str],
    units: System,
) -> str:
    """Return the report in the shop's units. helps: what helps made steel that fails a check, a line each."""
    return "\n".join([*_lines(title, answer, troubles, revisions, helps, units), ""])


def _lines(
    title: str,
    answer: Answer,
    troubles: Sequence[Trouble],
    revisions: Mapping[str, Revision],
    helps: Sequence[str],
    units: System,
) -> Iterator[str]:
    yield from (f"# {title}: steel that exists", "", counted_words(answer), "", _tips(answer, units), "")
    yield from ("## In order of trouble", "")
    if not troubles:
        yield from ("Nothing was measured.", "")
    else:
        yield from ("| member | do | off its line | how | why |", "| --- | --- | --- | --- | --- |")
        for each in troubles:
            off = format_length(each.off_mm, units)
            yield f"| {each.tag} | {each.verdict} | {off} | {_how(each, units)} | {_why(each)} |"
        yield ""
    if helps:
        yield from ("## Made steel that fails a check", "", *(f"- {line}" for line in helps), "")
    yield from ("## Cards that changed", "")
    if not revisions:
        yield "None: every card holds."
        return
    last = max(each.round for each in revisions.values())
    yield from (f"Round {last} is the latest; `shop/again.pdf` has its cards. A stamped tag never changes.", "")
    yield from ("| card | revision | round | why | what |", "| --- | --- | --- | --- | --- |")
    for tag in sorted(revisions, key=lambda one: (-revisions[one].round, one)):
        own = revisions[tag]
        yield f"| {tag} | {own.number} | {own.round} | {own.reason} | {own.changed} |"


def counted_words(answer: Answer) -> str:
    """Return how many members exist, and how many of the rest keep their cards."""
    left = int((~answer.exists).sum())
    stand = int((answer.ways[~answer.exists] == STANDS).sum())
    return (
        f"{int(answer.exists.sum())} members exist, {int(answer.measured.sum())} of them measured. Of {left} that are"
        f" still to be made {stand} keep their cards."
    )


def _tips(answer: Answer, units: System) -> str:
    moved = answer.moved[answer.tree.ranks == TWIG]
    if not len(moved):
        return "There are no twigs."
    half, most = (format_length(float(np.quantile(moved, share)), units) for share in (0.5, 0.95))
    near = "" if not answer.meetings else f" {len(answer.meetings)} pairs of made members come nearer than asked."
    return f"Tips of twigs are {half} from their places at the median, 95 % of them within {most}.{near}"


def _how(each: Trouble, units: System) -> str:
    if each.verdict == BACK:
        way = "more" if each.by_deg > 0.0 else "less"
        left = format_length(each.left_mm, units)
        return f"bend {each.bend} by {abs(each.by_deg):.0f}° {way}: {left} are then left"
    return "no one bend mends it" if each.verdict == REMAKE else "the rest is planned around it"


def _why(each: Trouble) -> str:
    said = []
    if each.lost:
        more = f" and {len(each.lost) - _MOST} more" if len(each.lost) > _MOST else ""
        said.append(f"{', '.join(each.lost[:_MOST])}{more} cannot keep their places")
    if each.touches:
        said.append(f"too near to {', '.join(each.touches[:_MOST])}")
    if np.isfinite(each.lean_deg):
        said.append(f"leans {each.lean_deg:.0f}°")
    return "; ".join(said) or "nothing is lost"
