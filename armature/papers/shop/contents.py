"""What stands before the cards of a packet: what has to be settled first, and on which page each batch begins."""

from __future__ import annotations

from collections.abc import Sequence

from armature.papers import ACCENT, GREY, INK, PAGES, PALE, Sheet
from armature.papers.shop.batches import Batch
from armature.papers.shop.joint_words import LEAST_ONLY
from armature.papers.shop.words import size_text
from armature.shop import TOE, ShopPlan
from armature.tree import RANKS

_X, _TOP, _LOW, _ROW, _GAP, _HEADS = 14.0, 22.0, 16.0, 5.2, 8.0, 13.0
# Columns of the list, mm from its left edge: number, what is made, its bar or pipe; count and page stand to the right.
_WHAT, _BAR, _COUNT = 9.0, 37.0, 14.0


def contents_pages(sheet: Sheet, plan: ShopPlan, count: int) -> int:
    """Return how many pages the contents of so many batches take."""
    width, height = PAGES[plan.page]
    first = _room(height, _faults_height(sheet, plan, width))
    left = count - 2 * max(first, 0)
    return 1 + max(-(-left // (2 * _room(height, 0.0))), 0)


def draw_contents(sheet: Sheet, plan: ShopPlan, batches: Sequence[Batch], pages: Sequence[int]) -> None:
    """Draw what has to be settled first, then the batches in two columns; pages: on which each of them begins."""
    width, height = PAGES[plan.page]
    sheet.add_page()
    y = _faults(sheet, plan, width)
    at = 0
    while True:
        deep = int((height - _LOW - y - _HEADS) // _ROW)
        y = _heads(sheet, y, width, 1 if len(batches) - at <= deep else 2)
        for column in range(2):
            some = slice(at, at + deep)
            _column(sheet, plan, batches[some], pages[some], _left(column, width), y)
            at += deep
        if at >= len(batches):
            return
        sheet.add_page()
        y = _TOP


def _room(height: float, faults: float) -> int:
    """Return how many batches go into one column under so many mm of faults."""
    return int((height - _LOW - (_TOP + faults + _HEADS)) // _ROW)


def _left(column: int, width: float) -> float:
    return _X + column * (width / 2.0 - _X + _GAP / 2.0)


def _wide(width: float) -> float:
    return (width - 2.0 * _X - _GAP) / 2.0


def _told(sheet: Sheet, plan: ShopPlan, width: float) -> list[str]:
    faults = (*(() if plan.welds.known else (LEAST_ONLY,)), *_trials(plan), *plan.faults)
    lines = [line for fault in faults for line in sheet.wrapped(fault, 11.0, width - 2.0 * _X, "    ")]
    # Half a page of them at most: the batches are to be found below.
    most = 20
    return lines if len(lines) <= most else [*lines[: most - 1], f"and {len(lines) - most + 1} more, in plan.json"]


def _trials(plan: ShopPlan) -> list[str]:
    tags = plan.tree.tags[plan.preparations.ways == TOE].tolist()
    return [f"weld a trial joint and saw it lengthwise before these, acute at the heel: {', '.join(tags)}"] * bool(tags)


def _faults_height(sheet: Sheet, plan: ShopPlan, width: float) -> float:
    lines = _told(sheet, plan, width)
    return 5.2 * len(lines) + 14.0 if lines else 0.0


def _faults(sheet: Sheet, plan: ShopPlan, width: float) -> float:
    """Write what has to be settled first; return where the next goes."""
    if not (lines := _told(sheet, plan, width)):
        return _TOP
    sheet.ink(ACCENT)
    sheet.words(_X, _TOP, "To be settled first", 18, bold=True)
    sheet.ink(INK)
    for number, line in enumerate(lines, 1):
        sheet.words(_X, _TOP + 1.0 + 5.2 * number, line, 11)
    return _TOP + _faults_height(sheet, plan, width)


def _heads(sheet: Sheet, y: float, width: float, columns: int) -> float:
    sheet.ink(INK)
    sheet.words(_X, y, "Batches, in the order of the cards", 18, bold=True)
    for column in range(columns):
        x, right = _left(column, width), _left(column, width) + _wide(width)
        sheet.ink(GREY)
        low = y + _HEADS - 6.0
        sheet.words(x, low, "no.", 9)
        sheet.words(x + _WHAT, low, "what", 9)
        sheet.words(x + _BAR, low, "bar", 9)
        sheet.words(right - _COUNT, low, "pieces", 9, align="R")
        sheet.words(right, low, "page", 9, align="R")
        sheet.rule(x, low + 1.5, right - x, 0.3)
    return y + _HEADS


def _column(sheet: Sheet, plan: ShopPlan, batches: Sequence[Batch], pages: Sequence[int], x: float, y: float) -> None:
    right = x + _wide(PAGES[plan.page][0])
    for batch, page in zip(batches, pages, strict=True):
        on = "the base" if batch.parent < 0 else str(plan.tree.tags[batch.parent])
        bar = size_text(batch.stock_mm, float(plan.tree.walls[batch.rows[0]]), plan.commission.units)
        sheet.ink(INK)
        sheet.words(x, y, str(batch.number), 11, bold=True)
        sheet.fitted(x + _WHAT, y, f"{RANKS[batch.rank]} on {on}", 11, _BAR - _WHAT - 1.5)
        sheet.fraction(x + _BAR, y, bar, 11, room=right - _COUNT - 10.0 - x - _BAR)
        sheet.words(right - _COUNT, y, str(len(batch.rows)), 11, align="R")
        sheet.words(right, y, str(page), 11, bold=True, align="R")
        sheet.rule(x, y + 1.4, right - x, 0.1, PALE)
        y += _ROW
