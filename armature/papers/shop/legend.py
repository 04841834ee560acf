"""The first page of the packet: how to read a card, how true the work has to be, and the cautions."""

from __future__ import annotations

import numpy as np

from armature.papers import ACCENT, GREY, INK, PAGES, Sheet
from armature.papers.shop.joint_words import LEAST_ONLY
from armature.shop import ShopPlan
from armature.units import System, format_length

_READING = (
    (
        "Chalk line",
        "Every bar carries a line along it, drawn while it is straight. Chalk burns off: punch it, dot by dot,",
    ),
    ("", "after drawing out and before bending. All angles refer to it."),
    ("Mark", "Distance from the start of the finished member to where a bend begins. Hook the tape on the start."),
    (
        "Clock",
        "Which way the bend goes, round the bar from its chalk line: R clockwise looking toward the tip, else L.",
    ),
    ("", "Punch mark and clock of every bend while the bar is straight. The first bend goes toward the chalk line."),
    (
        "Turn",
        "The same from the bend before, for those who turn the bar in the fork. It may differ by a rounded degree.",
    ),
    ("Bend", "The angle of the bend. Radius is to the middle of the bar; how says cold or hot, and over what."),
    (
        "At, clock",
        "Where it is welded on: distance along the parent to where it meets the skin, and the way round it from the",
    ),
    ("", "parent's chalk line, R clockwise looking toward the parent's tip."),
    (
        "Lean, roll",
        "Lean is the angle away from the parent's axis toward its tip. Roll turns the member about itself, R clockwise",
    ),
    ("", "looking toward its tip; at roll 0 its chalk line faces away from the parent, toward the root side."),
    (
        "By eye",
        "Snap a line on the floor from start to tip. Rise is how far the bar stands off it, lift how high above it.",
    ),
    ("Joint", "The weld: the leg of the fillet, all round, or a groove ground and welded through the whole bar."),
    ("Check", "Measure tip to tip before the tack holds, and turn the member until it fits."),
    ("Loops", "Rings for the leaves, in order from the start, each with the way round the twig from its chalk line."),
    (
        "Travels",
        "The section that it leaves the shop in. Leave off what is welded on site. Saw what is sawn when all is bent",
    ),
    ("", "and fitted, and mark both sides of the cut before it: an engineer designs what joins them."),
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
    sheet.fitted(x, 26.0, plan.title, 34, right - x, bold=True)
    sheet.ink(GREY)
    sheet.words(x, 35.0, f"Bend cards, {len(plan.tree)} members", 16)
    sheet.rule(x, 40.0, right - x, 0.8)
    y = 50.0
    sheet.ink(INK)
    sheet.words(x, y, "How to read a card", 18, bold=True)
    for name, text in _READING:
        y += 7.0 if name else 5.2
        sheet.ink(ACCENT)
        sheet.words(x, y, name, 11.5, bold=True)
        sheet.ink(INK)
        sheet.fitted(x + 25.0, y, text, 11, right - x - 25.0)
    y = _truth(sheet, plan, x, y + 14.0, right)
    _faults(sheet, plan, x, y + 10.0, height - 34.0)
    y = height - 26.0
    sheet.rule(x, y, right - x, 0.8)
    for caution in _CAUTIONS:
        y += 6.5
        sheet.ink(INK)
        sheet.fitted(x, y, caution, 11, right - x)


def _truth(sheet: Sheet, plan: ShopPlan, x: float, y: float, right: float) -> float:
    truth, unit = plan.truth, _unit(plan)
    sheet.ink(INK)
    sheet.words(x, y, "How true it will come out", 18, bold=True)
    lines = [
        (
            "These cards are rounded. Bent and welded exactly as printed, the tips land off by at most",
            float(truth.paper.max()),
        )
    ]
    if truth.copies:
        lines += [
            ("With the errors of a real anvil and no measuring, nearly all tips land within", _most(truth.most)),
            ("Fitted to the check dimensions, nearly all tips land within", _most(truth.fitted_most)),
        ]
    for text, value in lines:
        y += 7.5
        sheet.ink(INK)
        width = sheet.words(x, y, text, 11)
        sheet.fraction(x + width + 2.0, y, format_length(value, unit), 13, bold=True)
    sheet.ink(GREY)
    if plan.clashes:
        y += 7.5
        worst = ", ".join(f"{clash.first} and {clash.second}" for clash in plan.clashes[:4])
        sheet.fitted(x, y, f"Most likely to touch: {worst}. Look before these are welded.", 11, right - x)
    return y


def _faults(sheet: Sheet, plan: ShopPlan, x: float, y: float, bottom: float) -> None:
    faults = (*(() if plan.welds.known else (LEAST_ONLY,)), *plan.faults)
    if not faults:
        return
    sheet.ink(ACCENT)
    sheet.words(x, y, "To be settled first", 18, bold=True)
    sheet.ink(INK)
    room = int((bottom - y) // 6.0) - 1
    shown = faults if len(faults) <= room else faults[: max(room - 1, 0)]
    for fault in shown:
        y += 6.0
        sheet.fitted(x, y, fault, 11, 180.0)
    if len(shown) < len(faults):
        sheet.words(x, y + 6.0, f"and {len(faults) - len(shown)} more, in plan.json", 10)


def _most(values: np.ndarray[tuple[int], np.dtype[np.float64]]) -> float:
    return float(np.quantile(values, 0.95))


def _unit(plan: ShopPlan) -> System:
    return "inch" if plan.paper.unit == "inch" else "mm"
