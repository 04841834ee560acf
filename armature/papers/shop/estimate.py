"""estimate.pdf: what the job takes and costs."""

from __future__ import annotations

import numpy as np

from armature.edge import format_mass
from armature.papers import ACCENT, GREY, INK, PAGES, PALE, Sheet
from armature.papers.shop.buying import draw_buying
from armature.shop import OPERATIONS, Line, ShopPlan

_EDGE = 14.0


def estimate_sheet(plan: ShopPlan) -> bytes:
    """Return the PDF: hours by operation and their weeks, the estimate, steel to buy, hours of boughs."""
    sheet = Sheet(plan.page, f"{plan.title}: hours and estimate", [plan.title, plan.estimate.currency])
    width, _ = PAGES[plan.page]
    sheet.add_page()
    sheet.ink(INK)
    sheet.fitted(_EDGE, 24.0, plan.title, 26, width - 2.0 * _EDGE, bold=True)
    sheet.ink(GREY)
    labour = plan.labour
    a_week = labour.hours / max(labour.weeks, 1e-9)
    words = f"{labour.hours:.0f} hours with what goes wrong: {labour.weeks:.1f} weeks of {a_week:.0f} hours, all hands"
    sheet.fitted(_EDGE, 32.0, words, 14, width - 2.0 * _EDGE)
    y = _hours(sheet, plan, 42.0, width)
    _money(sheet, plan, y + 12.0, width)
    draw_buying(sheet, plan)
    _boughs(sheet, plan, width)
    return sheet.printed()


def _hours(sheet: Sheet, plan: ShopPlan, y: float, width: float) -> float:
    labour = plan.labour
    weeks = max(labour.weeks, 1e-9)
    left, room = _EDGE + 108.0, width - 2.0 * _EDGE - 108.0
    sheet.ink(GREY)
    for name, shift in (("OPERATION", 0.0), ("COUNT", 76.0), ("HOURS", 91.0), ("WEEKS", 108.0)):
        sheet.words(_EDGE + shift, y, name, 9)
    for work, (_, start, end) in zip(labour.works, labour.spans, strict=True):
        y += 6.5
        sheet.ink(INK)
        sheet.fitted(_EDGE, y, OPERATIONS[work.operation], 12, 76.0)
        sheet.words(_EDGE + 87.0, y, f"{work.count:.0f}", 12, align="R")
        sheet.words(_EDGE + 103.0, y, f"{work.hours:.1f}", 12, bold=True, align="R")
        sheet.set_fill_color(*ACCENT)
        sheet.rect(left + start / weeks * room, y - 3.6, max((end - start) / weeks * room, 0.4), 4.0, style="F")
        sheet.rule(_EDGE, y + 1.6, width - 2.0 * _EDGE, 0.12, PALE)
    sheet.ink(GREY)
    step = max(round(weeks / 8.0), 1)
    for week in range(0, int(weeks) + 1, step):
        sheet.words(left + week / weeks * room, y + 6.0, str(week), 9, align="C")
    return _sums(sheet, plan, y + 7.0)


def _boughs(sheet: Sheet, plan: ShopPlan, width: float) -> None:
    """Draw the hours of the trunk's own bar and of each member on it with all that it carries."""
    tree, hours = plan.tree, np.sum(list(plan.labour.members.values()), axis=0)
    bough = np.arange(len(tree))
    for row in range(len(tree)):
        parent = int(tree.parents[row])
        if parent >= 0 and tree.parents[parent] >= 0:
            bough[row] = bough[parent]
    sheet.add_page()
    sheet.ink(INK)
    sheet.words(_EDGE, 22.0, "Hours of each bough", 26, bold=True)
    sheet.ink(GREY)
    told = "What is done on bars, with all that each carries; hours.csv holds every bar, operation by operation."
    sheet.fitted(_EDGE, 30.0, told, 11, width - 2.0 * _EDGE)
    y = 36.0
    lane = (width - 2.0 * _EDGE) / 3.0
    for number, row in enumerate(np.unique(bough).tolist()):
        own = np.flatnonzero(bough == row)
        x, base = _EDGE + number % 3 * lane, y + 7.0 * (number // 3 + 1)
        sheet.ink(INK)
        sheet.words(x, base, str(tree.tags[row]), 13, bold=True)
        sheet.words(x + 16.0, base, f"{len(own)} bar{'s' if len(own) > 1 else ''}", 11)
        sheet.words(x + lane - 14.0, base, f"{float(hours[own].sum()):.1f} h", 12, bold=True, align="R")


def _sums(sheet: Sheet, plan: ShopPlan, y: float) -> float:
    """Write how the hours of all operations and those for trouble make the whole; return the line below."""
    work = sum(each.hours for each in plan.labour.works)
    spare = plan.labour.hours - work
    rows = (("all operations", work), (f"for what goes wrong, {spare / max(work, 1e-9):.0%}", spare))
    for words, hours in (*rows, ("in all", plan.labour.hours)):
        sheet.ink(INK)
        sheet.words(_EDGE, y, words, 12, bold=words == "in all")
        sheet.words(_EDGE + 103.0, y, f"{hours:.1f}", 12, bold=True, align="R")
        y += 6.5
    return y - 3.0


def _money(sheet: Sheet, plan: ShopPlan, y: float, width: float) -> None:
    estimate = plan.estimate
    right = width - _EDGE
    sheet.ink(INK)
    sheet.words(_EDGE, y, "Estimate", 18, bold=True)
    for line in estimate.lines:
        y += 7.0
        sheet.words(_EDGE, y, f"{line.what}: {_amount(line, plan)}", 12)
        total = "no price given" if line.total is None else f"{line.total:,.0f} {estimate.currency}"
        sheet.words(right, y, total, 12, align="R")
    if any(line.total is not None for line in estimate.lines):
        y += 7.0
        sheet.words(
            _EDGE, y, f"for what goes wrong, {estimate.spare / max(estimate.subtotal, 1e-9):.0%} of all above", 12
        )
        sheet.words(right, y, f"{estimate.spare:,.0f} {estimate.currency}", 12, align="R")
        sheet.rule(_EDGE, y + 2.5, right - _EDGE, 0.5)
        y += 9.5
        sheet.words(_EDGE, y, "Total", 15, bold=True)
        sheet.words(right, y, f"{estimate.total:,.0f} {estimate.currency}", 15, bold=True, align="R")
    y += 10.0
    sheet.ink(GREY)
    for text in estimate.assumptions:
        sheet.fitted(_EDGE, y, text, 11, right - _EDGE)
        y += 6.0


def _amount(line: Line, plan: ShopPlan) -> str:
    if line.unit == "kg" and plan.paper.unit == "inch":
        return f"{format_mass(line.quantity, 'inch')} ({line.quantity:.0f} kg)"
    return f"{line.quantity:.0f} {line.unit}"
