"""packet.pdf: how to read a card, then a card for every member, batch by batch."""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches
from typing import NamedTuple

from armature.edge import CommissionError
from armature.papers import GREY, INK, PAGES, Sheet
from armature.papers.shop.batches import Batch, batches
from armature.papers.shop.cards import MARGIN, Place, card_height, draw_card
from armature.papers.shop.contents import contents_pages, draw_contents
from armature.papers.shop.legend import draw_legend
from armature.shop import ShopPlan
from armature.tree import TWIG


def lost_card(plan: ShopPlan, tag: str) -> bytes:
    """Return the PDF of one card alone. Raises CommissionError for a tag that is no member of the tree."""
    if tag not in plan.tree.rows:
        near = get_close_matches(tag, list(plan.tree.rows), n=1)
        hint = f": did you mean {near[0]}?" if near else ""
        raise CommissionError("--tag", f"is no member of this tree{hint}", tag)
    row = plan.tree.rows[tag]
    sheet = Sheet(plan.page, f"{plan.title}: card of {tag}", [plan.title])
    width, height = PAGES[plan.page]
    batch = next(each for each in batches(plan, every=True) if row in each.rows)
    sheet.add_page()
    number = batch.rows.index(row) + 1
    draw_card(sheet, plan, row, Place(0.0, 0.0, width, height, batch.number, number, len(batch.rows)))
    return sheet.printed()


def packet(plan: ShopPlan) -> bytes:
    """Return the PDF of all cards, after their contents; twigs two to a page, all others a page each."""
    sheet = Sheet(plan.page, f"{plan.title}: bend cards", [plan.title])
    own = batches(plan)
    pages = _pages(sheet, plan, own)
    draw_legend(sheet, plan)
    before = sheet.page + contents_pages(sheet, plan, len(own))
    begins: dict[int, int] = {}
    for number, cards in enumerate(pages, before + 1):
        for card in cards:
            begins.setdefault(card.batch, number)
    draw_contents(sheet, plan, own, [begins[batch.number] for batch in own])
    _draw(sheet, plan, pages)
    return sheet.printed()


def packet_again(plan: ShopPlan) -> bytes | None:
    """Return the PDF of the cards that changed in the latest round, a list of them first; None where none did."""
    last = max((each.round for each in plan.revisions.values()), default=0)
    tags = plan.tree.tags.tolist()
    rows = {row for row, tag in enumerate(tags) if tag in plan.revisions and plan.revisions[tag].round == last}
    if not rows:
        return None
    sheet = Sheet(plan.page, f"{plan.title}: cards again, round {last}", [plan.title])
    pages = _pages(sheet, plan, batches(plan, every=True), rows)
    _listed(sheet, plan, sorted(rows), last)
    _draw(sheet, plan, pages)
    return sheet.printed()


def _listed(sheet: Sheet, plan: ShopPlan, rows: list[int], last: int) -> None:
    """List the cards that are printed again: revision, why, what changed."""
    width, height = PAGES[plan.page]
    lines = [
        line
        for own in (plan.revisions[str(plan.tree.tags[row])] for row in rows)
        for line in sheet.wrapped(f"{own.tag}, revision {own.number}: {own.reason}. {own.changed}", 10.5, width - 28.0)
    ]
    base = height
    for line in lines:
        if base + 5.2 > height - 14.0:
            sheet.add_page()
            sheet.ink(INK)
            sheet.words(14.0, 20.0, f"Cards again, round {last}: put these in place of the old ones", 16, bold=True)
            base = 26.0
        base += 5.2
        sheet.fraction(14.0, base, line, 10.5, room=width - 28.0)


def _draw(sheet: Sheet, plan: ShopPlan, pages: list[list[_Card]]) -> None:
    """Draw cards page by page."""
    width, height = PAGES[plan.page]
    for cards in pages:
        sheet.add_page()
        if cards[0].high < height:
            _cut_line(sheet, width, height)
        for place, card in enumerate(cards):
            at = Place(0.0, place * height / 2.0, width, card.high, card.batch, card.number, card.of)
            draw_card(sheet, plan, card.row, at)
        sheet.ink(GREY)
        sheet.words(width - MARGIN, height - 3.5, f"page {sheet.page}", 9, align="R")


class _Card(NamedTuple):
    """A member's card: its batch, its number in it `of` so many, and how high it is, mm."""

    row: int
    batch: int
    number: int
    of: int
    high: float


def _pages(sheet: Sheet, plan: ShopPlan, own: Sequence[Batch], only: set[int] | None = None) -> list[list[_Card]]:
    """Return the cards of each page, in order of the batches; a half that is left open takes the next low card.

    only: the rows that are drawn, where not all are.
    """
    width, height = PAGES[plan.page]
    low = height / 2.0
    pages: list[list[_Card]] = []
    half: list[_Card] | None = None
    for batch in own:
        for number, row in enumerate(batch.rows, start=1):
            if only is not None and row not in only:
                continue
            tall = batch.rank != TWIG or card_height(sheet, plan, row, width) > low
            card = _Card(row, batch.number, number, len(batch.rows), height if tall else low)
            if tall:
                pages.append([card])
            elif half is None:
                half = [card]
                pages.append(half)
            else:
                half.append(card)
                half = None
    return pages


def _cut_line(sheet: Sheet, width: float, height: float) -> None:
    sheet.ink(GREY, 0.2)
    sheet.set_dash_pattern(dash=2, gap=2)
    sheet.line(MARGIN / 2.0, height / 2.0, width - MARGIN / 2.0, height / 2.0)
    sheet.set_dash_pattern()
