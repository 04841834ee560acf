"""What the job costs, on one page, with what was assumed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from armature.commission import Buying, Crew


@dataclass(frozen=True)
class Line:
    """One line of an estimate: what, how much in which unit, the price of one, and the sum; None without a price."""

    what: str
    quantity: float
    unit: str
    price: float | None
    total: float | None


@dataclass(frozen=True)
class Estimate:
    """The lines, the sum of those that have a price, what is added for trouble, the total, and the assumptions."""

    lines: tuple[Line, ...]
    subtotal: float
    spare: float
    total: float
    currency: str
    assumptions: tuple[str, ...]


def estimate(
    bar_kg: float, plate_kg: float, leaf_kg: float, hours: float, buying: Buying, crew: Crew, weld_kg: float = 0.0
) -> Estimate:
    """Return the estimate; `hours` are those without anything spared for trouble. Weld metal is told, never priced.

    >>> from armature.commission import Buying, Crew
    >>> buying, crew = Buying(steel_price=2.0, currency="EUR"), Crew(hour_price=50.0, spare="10 %")
    >>> one = estimate(100.0, 0.0, 0.0, 10.0, buying, crew)
    >>> one.subtotal, round(one.total, 2)
    (700.0, 770.0)
    """
    asked = [
        ("steel bar, as bought", bar_kg, "kg", buying.steel_price),
        ("steel plate, the base", plate_kg, "kg", buying.steel_price),
        ("leaf metal", leaf_kg, "kg", buying.leaf_price),
    ]
    asked.append(("labour, all operations", hours, "h", crew.hour_price))
    lines = tuple(
        Line(what, quantity, unit, price, None if price is None else quantity * price)
        for what, quantity, unit, price in asked
        if quantity > 0.0
    )
    if weld_kg > 0.0:
        lines += (Line("weld metal, laid down", weld_kg, "kg", None, None),)
    subtotal = sum(line.total or 0.0 for line in lines)
    unpriced = [what for what, quantity, _, price in asked if quantity > 0.0 and price is None]
    assumptions = [
        "Hours are those of the rates table; they are common practice without a source until your own stand in it.",
        f"{crew.spare:.0%} is added for what goes wrong.",
        "Bar is counted as bought, rests included. Gas, electricity, finish, transport and crane are not in it.",
        "Weld metal is what stays in the joints: rod or wire is not in the cost, and more of it is bought.",
        "Design, engineering checks, permits and tax are not in it.",
    ]
    if unpriced:
        assumptions.insert(0, f"No price was given for: {', '.join(unpriced)}. The total leaves it out.")
    spare = subtotal * crew.spare
    return Estimate(lines, subtotal, spare, subtotal + spare, buying.currency, tuple(assumptions))
