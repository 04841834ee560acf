"""The first page of the packet: how to read a card, how true the work has to be, and the cautions."""

from __future__ import annotations

import numpy as np

from armature.edge import format_length
from armature.metals import grade
from armature.papers import ACCENT, GREY, INK, PAGES, Sheet
from armature.papers.shop.glossary import HIGH, draw_glossary
from armature.papers.shop.notes import loop_texts
from armature.shop import ShopPlan

_READING = (
    ("Order", "Every card is read from top to bottom: 1 saw, 2 draw, 3 punch, 4 bend, 5 weld, 6 check."),
    (
        "Chalk line",
        "A line along the bar, drawn while it is straight. Chalk burns off: punch it, dot by dot, after drawing",
    ),
    ("", "out and before bending. All clocks count from it."),
    (
        "DRAW TO",
        "Draw the bar to this length, heel and all; then the caliper reads what stands under it, from START on.",
    ),
    ("START", "A punch mark on the bar, so far from the foot's end. All marks count from it: hook the tape there."),
    ("", "What lies behind it is the heel, which the saddle takes."),
    (
        "Begin, end",
        "Where a bend begins and ends: between the two marks the bar is bent, before and behind it is straight.",
    ),
    (
        "Clock",
        "Which way, round the bar from its chalk line: R clockwise looking toward the tip, else L. Skin is the same",
    ),
    ("", "as a length round the bar: lay a paper tape round it. The first bend goes toward the chalk line."),
    ("Inside R", "The inside radius that follows from the two marks; the tool is one that this shop has."),
    ("1° moves", "How far one degree more or less of that bend moves the tip."),
    (
        "Weld on, at",
        "The member that it goes on, and the mark from that member's START where its own START comes to lie on",
    ),
    ("", "the skin; clock is round that member from its chalk line."),
    (
        "Lean, roll",
        "Lean is the angle away from the parent as it runs at the mark, toward its tip; a jig goes out so far. Roll",
    ),
    ("", "turns it about itself, R clockwise looking toward its tip; at roll 0 its chalk line faces the root side."),
    (
        "Check",
        "Tape from the tip to three points that stand already, and plumb to the setting-out grid. Turn it at the",
    ),
    ("", "tack until they read so. A bar made otherwise that looks right is measured and taken in as made."),
    (
        "By eye",
        "Snap a line on the floor from START to tip. Rise is how far the bar stands off it, lift how high above.",
    ),
    ("Loops", "Rings for the leaves, in order from START, each with the way round the twig from its chalk line."),
    (
        "Travels",
        "The section it leaves the shop in. Saw what is sawn when all is bent and fitted; mark both sides first.",
    ),
)
_CAUTIONS = (
    "Hot work, fumes and dust: eyes, ears, lungs, gloves. Zinc smoke from galvanised stock makes ill: strip it first.",
    "Never stand under what hangs. Local codes rule; a licensed engineer checks and signs what can fall on someone.",
)


def draw_legend(sheet: Sheet, plan: ShopPlan) -> None:
    """Draw the page on how to read the cards."""
    sheet.add_page()
    width, height = PAGES[plan.page]
    x, right = 14.0, width - 14.0
    sheet.ink(INK)
    sheet.fitted(x, 21.0, plan.title, 28, right - x, bold=True)
    sheet.ink(GREY)
    sheet.words(x, 28.0, f"Bend cards, {len(plan.tree)} members", 16)
    sheet.rule(x, 31.0, right - x, 0.8)
    y = 38.5
    sheet.ink(INK)
    sheet.words(x, y, "How to read a card", 18, bold=True)
    wire = f"{'; '.join(loop_texts(plan, plan.commission.units))}."
    told = [("", line) for line in sheet.wrapped(wire, 11.0, right - x - 25.0)] if len(plan.tree.leaves) else []
    at = next(n for n, (name, _) in enumerate(_READING) if name == "Loops") + 1
    for name, text in (*_READING[:at], *told, *_READING[at:], ("Steel", _steel(plan))):
        y += 5.7 if name else 4.5
        sheet.ink(ACCENT)
        sheet.words(x, y, name, 11.5, bold=True)
        sheet.ink(INK)
        sheet.fitted(x + 25.0, y, text, 11, right - x - 25.0)
    draw_glossary(sheet, x, y + 5.0, right - x)
    _truth(sheet, plan, x, y + HIGH + 11.0, right)
    y = height - 26.0
    sheet.rule(x, y, right - x, 0.8)
    for caution in _CAUTIONS:
        y += 6.5
        sheet.ink(INK)
        sheet.fitted(x, y, caution, 11, right - x)


def _steel(plan: ShopPlan) -> str:
    steel = grade(plan.commission.steel.grade)
    return f"All bars are {steel.standard}: strength counts on it. Keep the certificates; mix in no other steel."


def _truth(sheet: Sheet, plan: ShopPlan, x: float, y: float, right: float) -> None:
    truth, unit = plan.truth, plan.commission.units
    sheet.ink(INK)
    sheet.words(x, y, "How true it will come out", 18, bold=True)
    lines = [
        (
            "These cards are rounded so that errors cancel. Made exactly as printed, tips land off by at most",
            float(truth.paper.max()),
        )
    ]
    if truth.copies:
        lines += [
            ("With the errors of a real anvil and no measuring, nearly all tips land within", _most(truth.most)),
            ("Fitted to their checks, nearly all tips land within", _most(truth.fitted_most)),
        ]
    for text, value in lines:
        y += 6.4
        sheet.ink(INK)
        width = sheet.words(x, y, text, 11)
        sheet.fraction(x + width + 2.0, y, format_length(value, unit), 13, bold=True)
    sheet.ink(GREY)
    if plan.clashes:
        y += 6.4
        worst = ", ".join(f"{clash.first} and {clash.second}" for clash in plan.clashes[:4])
        sheet.fitted(x, y, f"Most likely to touch: {worst}. Look before these are welded.", 11, right - x)


def _most(values: np.ndarray[tuple[int], np.dtype[np.float64]]) -> float:
    return float(np.quantile(values, 0.95))
