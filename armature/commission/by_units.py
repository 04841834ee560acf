"""What a commission that says nothing else gets of the shop's own system: bars, plates, sheet, steel, letter stamps.

A shop that reads millimetres buys by the millimetre. Sizes are those that are stocked (common practice; bars EN 10060).
"""

from __future__ import annotations

from typing import Any

METRIC: dict[str, Any] = {
    "steel.grade": "S235",
    "steel.bars": [f"{mm} mm" for mm in (6, 8, 10, 12, 16, 20, 25, 30, 40, 50, 60, 80, 100)],
    "shop.bar_length": "6 m",
    "shop.transport.least_splice": "20 mm",
    "leaves.sheet": "0.8 mm",
    "leaves.plates.sizes": [["1000 mm", "2000 mm"]],
    "leaves.lettering.stamps": "mm",
}


def with_units(given: dict[str, Any]) -> dict[str, Any]:
    """Return the tables of a commission with what follows from `units` filled in where nothing is given.

    >>> with_units({"units": "inch"})
    {'units': 'inch'}
    >>> with_units({"steel": {"grade": "S355"}})["steel"]["grade"]
    'S355'
    """
    if given.get("units", "mm") != "mm":
        return given
    filled = dict(given)
    for dotted, value in METRIC.items():
        *path, last = dotted.split(".")
        table = filled
        for part in path:
            below = table.get(part, {})
            if not isinstance(below, dict):
                break
            table[part] = dict(below)
            table = table[part]
        else:
            table.setdefault(last, value)
    return filled
