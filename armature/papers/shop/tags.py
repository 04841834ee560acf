"""tags.pdf: a tag for every member and every section, to cut out and wire on."""

from __future__ import annotations

from dataclasses import dataclass

from armature.edge import System, format_length, format_mass
from armature.papers import GREY, INK, PAGES, Sheet
from armature.papers.shop.batches import batches
from armature.papers.shop.words import size_text
from armature.shop import ShopPlan
from armature.tree import RANKS

_ACROSS, _DOWN, _EDGE = 3, 8, 8.0


@dataclass(frozen=True)
class Tag:
    """What one tag says: its tag, in words below, and the text of its code."""

    tag: str
    words: str
    more: str


def tags(plan: ShopPlan) -> bytes:
    """Return the PDF of tags, 24 a page, in the order of the cards, then the sections."""
    sheet = Sheet(plan.page, f"{plan.title}: tags", [plan.title])
    width, height = PAGES[plan.page]
    across, down = (width - 2.0 * _EDGE) / _ACROSS, (height - 2.0 * _EDGE) / _DOWN
    for number, tag in enumerate(_tags(plan)):
        place = number % (_ACROSS * _DOWN)
        if place == 0:
            sheet.add_page()
        column, line = place % _ACROSS, place // _ACROSS
        _draw(sheet, tag, _EDGE + column * across, _EDGE + line * down, across, down)
    return sheet.printed()


def _tags(plan: ShopPlan) -> list[Tag]:
    tree = plan.tree
    unit: System = "inch" if plan.paper.unit == "inch" else "mm"
    tags = []
    for batch in batches(plan):
        for row in batch.rows:
            on = "the base" if batch.parent < 0 else str(tree.tags[batch.parent])
            travels = f", S{plan.sections.of_member[row] + 1}" if len(plan.sections.sections) > 1 else ""
            site = ", on site" if plan.on_site[row] else ""
            own = plan.revisions.get(str(tree.tags[row]))
            words = (
                f"{RANKS[batch.rank]} on {on}{travels}{site}{'' if own is None else f', card revision {own.number}'}"
            )
            size = size_text(batch.stock_mm, float(tree.walls[row]), unit)
            cut = format_length(float(plan.cut[row]), unit)
            bar = f"{'pipe' if tree.walls[row] else 'bar'} {size}, cut {cut}"
            tags.append(Tag(str(tree.tags[row]), words, bar))
    if len(plan.sections.sections) > 1:
        tags += [
            Tag(f"S{number}", "section", format_mass(section.mass, unit))
            for number, section in enumerate(plan.sections.sections, start=1)
        ]
    return tags


def _draw(sheet: Sheet, tag: Tag, x: float, y: float, width: float, height: float) -> None:
    sheet.ink(GREY, 0.2)
    sheet.rect(x, y, width, height)
    sheet.circle(x + 6.0, y + height / 2.0, 2.0)
    sheet.line(x + 4.5, y + height / 2.0, x + 7.5, y + height / 2.0)
    sheet.line(x + 6.0, y + height / 2.0 - 1.5, x + 6.0, y + height / 2.0 + 1.5)
    side = min(18.0, height - 10.0)
    sheet.qr(x + width - side - 4.0, y + (height - side) / 2.0, side, tag.tag)
    sheet.ink(INK)
    room = width - side - 20.0
    sheet.fitted(x + 12.0, y + height / 2.0 + 1.0, tag.tag, 32, room, bold=True)
    sheet.fitted(x + 12.0, y + height / 2.0 + 6.5, tag.words, 10, room)
    sheet.ink(GREY)
    sheet.fraction(x + 12.0, y + height / 2.0 + 11.0, tag.more, 9)
