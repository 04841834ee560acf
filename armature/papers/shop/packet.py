"""packet.pdf: how to read a card, then a card for every member, batch by batch."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches

import numpy as np

from armature.edge import CommissionError
from armature.papers import GREY, PAGES, Sheet
from armature.papers.shop.cards import MARGIN, Place, card_height, draw_card
from armature.papers.shop.legend import draw_legend
from armature.shop import ShopPlan
from armature.tree import TWIG


@dataclass(frozen=True)
class Batch:
    """Members that are made in one go: the same rank, bar and parent; rows in order of their stations."""

    number: int
    rank: int
    stock_mm: float
    parent: int
    rows: tuple[int, ...]


def batches(plan: ShopPlan) -> list[Batch]:
    """Return all members in batches, thick before thin; tags keep their order."""
    tree = plan.tree
    order = np.lexsort((tree.stations, tree.parents, -tree.stock_diameters, tree.ranks))
    keys = np.stack([tree.ranks[order], tree.stock_diameters[order], tree.parents[order]])
    starts = np.flatnonzero(np.append(True, np.diff(keys, axis=1).any(axis=0)))
    return [
        Batch(
            number,
            int(tree.ranks[rows[0]]),
            float(tree.stock_diameters[rows[0]]),
            int(tree.parents[rows[0]]),
            tuple(rows.tolist()),
        )
        for number, rows in enumerate(np.split(order, starts[1:]), start=1)
    ]


def lost_card(plan: ShopPlan, tag: str) -> bytes:
    """Return the PDF of one card alone. Raises CommissionError for a tag that is no member of the tree."""
    if tag not in plan.tree.rows:
        near = get_close_matches(tag, list(plan.tree.rows), n=1)
        hint = f": did you mean {near[0]}?" if near else ""
        raise CommissionError("--tag", f"is no member of this tree{hint}", tag)
    row = plan.tree.rows[tag]
    sheet = Sheet(plan.page, f"{plan.title}: card of {tag}", [plan.title])
    width, height = PAGES[plan.page]
    batch = next(each for each in batches(plan) if row in each.rows)
    sheet.add_page()
    number = batch.rows.index(row) + 1
    draw_card(sheet, plan, row, Place(0.0, 0.0, width, height, batch.number, number, len(batch.rows)))
    return sheet.printed()


def packet(plan: ShopPlan) -> bytes:
    """Return the PDF of all cards; twigs two to a page, all others a page each."""
    sheet = Sheet(plan.page, f"{plan.title}: bend cards", [plan.title])
    width, height = PAGES[plan.page]
    draw_legend(sheet, plan)
    half = 0
    low = height / 2.0
    for batch in batches(plan):
        for number, row in enumerate(batch.rows, start=1):
            if batch.rank != TWIG or card_height(sheet, plan, row, width) > low:
                sheet.add_page()
                draw_card(sheet, plan, row, Place(0.0, 0.0, width, height, batch.number, number, len(batch.rows)))
                continue
            if half == 0:
                sheet.add_page()
                _cut_line(sheet, width, height)
            place = Place(0.0, half * height / 2.0, width, height / 2.0, batch.number, number, len(batch.rows))
            draw_card(sheet, plan, row, place)
            half = 1 - half
    return sheet.printed()


def _cut_line(sheet: Sheet, width: float, height: float) -> None:
    sheet.ink(GREY, 0.2)
    sheet.set_dash_pattern(dash=2, gap=2)
    sheet.line(MARGIN / 2.0, height / 2.0, width - MARGIN / 2.0, height / 2.0)
    sheet.set_dash_pattern()
