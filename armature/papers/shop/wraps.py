"""Wraps for saddles: the end of each bar unrolled, to wind round it, chalk the curve and grind to it."""

from __future__ import annotations

import numpy as np

from armature.edge import System, format_length
from armature.papers import ACCENT, GREY, INK, PALE, Sheet
from armature.shop import Saddle, ShopPlan, chalk_place, saddle

EDGE, FOOT = 10.0, 34.0
# A wrap round a thinner bar is smaller than the fingers that hold it: those saddles are ground by eye.
THINNEST_WRAP = 10.0


def draw_wraps(sheet: Sheet, plan: ShopPlan, width: float, height: float, unit: System) -> None:
    """Draw the wraps: cut out, wind round the bar, heel mark on the acute side, chalk the curve, grind to it."""
    tree, joint = plan.tree, plan.joints
    thick = (tree.parents >= 0) & (tree.start_diameters >= THINNEST_WRAP) & (plan.kinds == "weld")
    x, y, tallest = EDGE, height, 0.0
    for row in np.flatnonzero(thick).tolist():
        shape = saddle(float(tree.start_diameters[row]), float(joint.parent_diameters[row]), float(joint.leans[row]))
        wide, deep = float(shape.around[-1]), float(shape.cut.max()) + 22.0
        if x + wide > width - EDGE:
            x, y, tallest = EDGE, y + tallest + 11.0, 0.0
        if y + deep > height - FOOT:
            _frame_of_wraps(sheet, width, height, unit)
            x, y, tallest = EDGE, 24.0, 0.0
        obtuse = bool(joint.leans[row] > 90.0)
        chalk = chalk_place(float(tree.start_diameters[row]), float(joint.rolls[row]))
        _wrap(sheet, str(tree.tags[row]), shape, (x, y, deep), chalk, ("toe", "heel") if obtuse else ("heel", "toe"))
        x += wide + 8.0
        tallest = max(tallest, deep)


def _wrap(
    sheet: Sheet, tag: str, shape: Saddle, place: tuple[float, float, float], chalk: float, names: tuple[str, str]
) -> None:
    """Draw one wrap at (x, y), so many mm deep; names: what its edges are, and its middle."""
    x, y, deep = place
    wide = float(shape.around[-1])
    curve = [(x + a, y + c) for a, c in zip(shape.around.tolist(), shape.cut.tolist(), strict=True)]
    sheet.path([*curve, (x + wide, y + deep), (x, y + deep), curve[0]], 0.3, INK)
    middle = x + wide / 2.0
    sheet.ink(GREY, 0.15)
    sheet.line(middle, curve[len(curve) // 2][1], middle, y + deep)
    sheet.words(x + 0.8, y + deep - 1.2, names[0], 9)
    sheet.words(middle + 0.8, y + deep - 1.2, names[1], 9)
    top = y + float(np.interp(chalk, shape.around, shape.cut))
    sheet.ink(ACCENT, 0.5)
    sheet.line(x + chalk, top, x + chalk, y + deep)
    sheet.words(x + chalk, y + deep + 3.6, "chalk", 9, align="C")
    sheet.ink(INK)
    # The tag stands in the half that the chalk line leaves free.
    free = middle + 1.0 if chalk < wide / 2.0 - 1.0 else x + 1.0
    sheet.fitted(free, y + deep - 6.0, tag, 12, wide / 2.0 - 2.0, bold=True)


def _frame_of_wraps(sheet: Sheet, width: float, height: float, unit: System) -> None:
    sheet.add_page()
    sheet.ink(INK)
    sheet.words(EDGE, 14.0, "SADDLE WRAPS", 18, bold=True)
    sheet.ink(GREY)
    sheet.words(
        EDGE,
        20.0,
        "Wind round the end of the bar, print outside, curve at the end, red line on its chalk line; heel: the "
        "acute side. Grind to the curve.",
        10,
    )
    sheet.rule(EDGE, height - FOOT + 2.0, width - 2.0 * EDGE, 0.2, PALE)
    side = 25.4 if unit == "inch" else 25.0
    sheet.ink(INK, 0.2)
    sheet.rect(EDGE, height - FOOT + 4.0, side, side)
    sheet.words(EDGE + side + 3.0, height - FOOT + 9.0, f"This square is {format_length(side, unit)} each way.", 9)
