"""The last step of a card: what tape and plumb line read when the member is held to its place, and what then."""

from __future__ import annotations

from armature.edge import System, format_length
from armature.papers import ACCENT, GREY, INK, Sheet
from armature.shop import ShopPlan

CHECK_HEIGHT = 20.5
# Beyond so many times the fit a distance is no matter of fitting: a figure was misread, or a bend is wrong.
WRONG = 3.0


def draw_checks(sheet: Sheet, plan: ShopPlan, row: int, x: float, y: float, right: float, unit: System) -> float:
    """Draw the checks of a member; return what is under them."""
    sheet.rule(x, y, right - x, 0.6)
    poses, fit = plan.poses, plan.commission.shop.anvil.fit
    sheet.ink(ACCENT)
    wide = sheet.words(x, y + 4.4, "6", 11, bold=True)
    sheet.words(x + wide + 1.2, y + 4.4, "CHECK", 9, bold=True)
    sheet.ink(GREY)
    sheet.words(x + 18.0, y + 4.4, "tip to", 9)
    at = x + 28.0
    lane = (right - at) / 3.0
    for name, distance in zip(poses.names[row].tolist(), poses.distances[row].tolist(), strict=True):
        sheet.ink(INK)
        wide = sheet.fraction(at, y + 4.6, format_length(distance, unit), 14, bold=True)
        sheet.ink(GREY)
        sheet.fitted(at + wide + 1.5, y + 4.6, name, 11, lane - wide - 3.0)
        at += lane
    tip, middle = poses.tips[row].tolist(), poses.middles[row].tolist()
    half = format_length(float(poses.halves[row]), unit)
    for line, (name, point) in enumerate((("plumb, tip", tip), (f"plumb, {half} from START", middle))):
        base = y + 9.4 + 4.7 * line
        sheet.ink(GREY)
        sheet.fraction(x + 18.0, base, name, 9)
        sheet.ink(INK)
        sheet.fraction(x + 62.0, base, place_text(point, unit), 13, bold=True, room=right - x - 62.0)
    good, wrong = format_length(fit, unit), format_length(WRONG * fit, unit)
    first = int(plan.bend_rows(row)[0]) if len(plan.bend_rows(row)) else None
    back = "read it again, then back to the fire at the bend that moves the tip so"
    if first is None:
        back = "the joint is read wrong: break the tack"
    text = f"Off by {good}: good. To {wrong}: turn it at the tack. More: {back}."
    sheet.ink(INK)
    sheet.fraction(x, y + 18.9, text, 9.5, room=right - x)
    return y + CHECK_HEIGHT


def place_text(point: list[float], unit: System) -> str:
    """Return a place on the setting-out grid: so far east or west, north or south of the foot's middle, so high.

    >>> place_text([-100.0, 250.4, 1000.0], "mm")
    'W 100 mm, N 250 mm, up 1000 mm'
    """
    east, north, up = point
    return ", ".join(
        f"{word} {format_length(abs(value), unit)}"
        for word, value in (("E" if east >= 0.0 else "W", east), ("N" if north >= 0.0 else "S", north), ("up", up))
    )
