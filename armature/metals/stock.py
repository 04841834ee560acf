"""What can be bought: round bars, steel grades, sheet metals, read from the tables in `data/`.

Lengths are mm, masses kg, strengths MPa, moduli GPa. Names are matched without regard to capitals and spaces.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from armature.edge import StockError, UnitError, parse_length

_THINNEST, _THICKEST = 0.1, 10.0  # mm of leaf metal: foil below, plate above


@dataclass(frozen=True)
class Grade:
    """A steel: `yields` are (thickness up to mm, least yield strength MPa), thinnest first.

    stick, wire: what it is welded with by hand and by wire. is_stainless: it is welded without preheat.
    """

    name: str
    standard: str
    yields: tuple[tuple[float, float], ...]
    tensile_mpa: float
    density_kg_m3: float
    young_gpa: float
    shear_gpa: float
    stick: str
    wire: str
    is_stainless: bool

    def yield_mpa(self, thickness: ArrayLike) -> NDArray[np.float64]:
        """Return the least yield strength, MPa, at each thickness in mm, same shape as `thickness`.

        Raises StockError for a thickness beyond the table of the grade's standard.

        >>> grade("S235").yield_mpa([12.0, 20.0]).tolist()
        [235.0, 225.0]
        """
        wanted = np.asarray(thickness, dtype=np.float64)
        limits, values = np.asarray(self.yields, dtype=np.float64).T
        # A bar called 8 in must not fall off a table that ends at 203 mm.
        row = np.searchsorted(limits, wanted - 0.5)
        if np.any(row >= len(limits)):
            raise StockError(
                f"steel.grade: {self.name} is tabled to {limits[-1]:g} mm thick, got {np.max(wanted):g} mm"
            )
        return np.asarray(values[row])


@dataclass(frozen=True)
class Sheet:
    """Sheet metal for leaves."""

    metal: str
    gauge: str
    thickness_mm: float
    density_kg_m3: float

    @property
    def mass_kg_m2(self) -> float:
        """Mass of one square metre, kg."""
        return self.thickness_mm / 1000.0 * self.density_kg_m3


def grade(name: str) -> Grade:
    """Return the steel grade of that name, or raise StockError with the nearest one.

    >>> grade("a36").tensile_mpa
    400.0
    """
    table = _table("grades.toml")
    key = _known(name, table, "steel grade")
    row = table[key]
    yields = tuple((float(limit), float(value)) for limit, value in row["yields_mpa"])
    tensile, density, young, shear = (
        float(row[column]) for column in ("tensile_mpa", "density_kg_m3", "young_gpa", "shear_gpa")
    )
    return Grade(
        key, row["standard"], yields, tensile, density, young, shear, row["stick"], row["wire"], "stainless" in row
    )


def sheet(metal: str, gauge: str) -> Sheet:
    """Return the sheet of a metal by its gauge ("24 oz") or by its thickness with a unit ("0.8 mm").

    Raises StockError for an unknown metal or gauge, naming the nearest and what is listed.

    >>> round(sheet("copper", "24 oz").thickness_mm, 3)
    0.82
    """
    table = _table("sheets.toml")
    key = _known(metal, table, "sheet metal")
    gauges: dict[str, str] = table[key]["gauges"]
    density = float(table[key]["density_kg_m3"])
    try:
        listed = _known(gauge, gauges, f"{key} sheet")
    except StockError as missing:
        return Sheet(key, " ".join(gauge.split()), _thickness(gauge, missing), density)
    return Sheet(key, listed, parse_length(gauges[listed]), density)


def usual_bars() -> tuple[float, ...]:
    """Return the diameters, mm, of the bars that a shop is taken to have when it names none, thinnest first."""
    return tuple(sorted(parse_length(size) for size in _table("bars.toml")["usual"]))


def bar_masses(diameters: ArrayLike, density_kg_m3: float = 7850.0, walls: ArrayLike = 0.0) -> NDArray[np.float64]:
    """Return the mass of round bar or pipe, kg a metre, same shape as `diameters` (mm); walls (mm) are 0 for solid bar.

    >>> round(float(bar_masses(12.0)), 3)
    0.888
    """
    outside, wall = np.asarray(diameters, dtype=np.float64), np.asarray(walls, dtype=np.float64)
    bore = np.where(wall > 0.0, np.maximum(outside - 2.0 * wall, 0.0), 0.0)
    return np.asarray(np.pi / 4.0 * (outside**2 - bore**2) * 1e-6 * density_kg_m3)


def least_fillets(thicknesses: ArrayLike) -> NDArray[np.float64]:
    """Return the least leg of a fillet, mm, by the thickness of the thinner part joined, mm, same shape.

    AISC 360-16 table J2.4, from memory. It says nothing of how much a small part can take: cap it there.

    >>> least_fillets([6.35, 12.0, 25.4]).tolist()
    [3.175, 4.7625, 7.9375]
    """
    rows = _table("fillets.toml")["least"]
    limits = np.array([parse_length(row["to"]) for row in rows if "to" in row])
    legs = np.array([parse_length(row["leg"]) for row in rows])
    # A part that sums to a hair over a limit is of that limit: a thousandth of a mm is under any gauge.
    return np.asarray(legs[np.searchsorted(limits, np.asarray(thicknesses, dtype=np.float64) - 1e-3)])


def _thickness(gauge: str, missing: StockError) -> float:
    try:
        thickness = parse_length(gauge)
    except UnitError:
        raise StockError(f"{missing}; or give a thickness such as '0.8 mm'") from None
    if not _THINNEST <= thickness <= _THICKEST:
        raise StockError(f"leaf metal must be {_THINNEST:g} to {_THICKEST:g} mm thick, got {gauge!r}")
    return thickness


def _known(name: str, table: Iterable[str], what: str) -> str:
    names = {_bare(key): key for key in table}
    if (key := names.get(_bare(name))) is not None:
        return key
    near = get_close_matches(_bare(name), names, n=1)
    hint = f"; did you mean {names[near[0]]!r}?" if near else ""
    raise StockError(f"{name!r} is no {what} in the table (known: {', '.join(names.values())}){hint}")


def _bare(name: str) -> str:
    return "".join(name.lower().split())


@cache
def _table(file: str) -> dict[str, Any]:
    return tomllib.loads((files("armature") / "data" / file).read_text(encoding="utf-8"))
