"""Quantities as people write them, read on exact fractions.

Glossary: a quantity is one or more terms, largest unit first ("12 ft 6 in"); a term is a number and a unit; a number is
whole ("12"), decimal ("3.5"), a fraction ("1/4") or mixed ("1 1/4", "1-1/4"). Inside the program a length is in mm, an
angle in degrees, a speed in m/s, a mass in kg, a force in N, a stress in MPa, a share as a plain fraction of one.
"""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import pairwise
from math import pi
from typing import Literal

from armature.edge.errors import UnitError
from armature.edge.unit_sizes import INCH, LBF, MPH, POUND, PSI

Kind = Literal["length", "angle", "speed", "mass", "force", "stress", "share"]

_DEGREE_PER_RADIAN = Fraction(180.0 / pi)

_SPELLINGS: dict[Kind, dict[str, Fraction]] = {
    "length": {
        "mm millimetre millimetres millimeter millimeters": Fraction(1),
        "cm centimetre centimetres centimeter centimeters": Fraction(10),
        "m metre metres meter meters": Fraction(1000),
        'in inch inches "': INCH,
        "ft foot feet '": 12 * INCH,
        "yd yard yards": 36 * INCH,
    },
    "angle": {"deg degree degrees °": Fraction(1), "rad radian radians": _DEGREE_PER_RADIAN},
    "speed": {
        "m/s": Fraction(1),
        "km/h kph": Fraction(1000, 3600),
        "mph mi/h": MPH,
        "ft/s": INCH * 12 / 1000,
        "kn knot knots": Fraction(1852, 3600),
    },
    "mass": {
        "kg": Fraction(1),
        "g": Fraction(1, 1000),
        "t tonne tonnes": Fraction(1000),
        "lb lbs pound pounds": POUND,
        "oz ounce ounces": POUND / 16,
    },
    "force": {"n": Fraction(1), "kn": Fraction(1000), "lbf": LBF, "kip kips": 1000 * LBF},
    "stress": {
        "mpa n/mm2": Fraction(1),
        "kpa": Fraction(1, 1000),
        "pa": Fraction(1, 1_000_000),
        "ksi": 1000 * PSI,
        "psi": PSI,
        "psf": PSI / 144,
    },
    "share": {"% percent": Fraction(1, 100)},
}
_UNITS = {
    kind: {name: size for names, size in table.items() for name in names.split()} for kind, table in _SPELLINGS.items()
}
_EXAMPLES: dict[Kind, str] = {
    "length": "'3.5 m', '6 mm', '1 1/4 in' or '12 ft 6 in'",
    "angle": "'50 deg'",
    "speed": "'115 mph' or '26 m/s'",
    "mass": "'20 kg' or '45 lb'",
    "force": "'2 kN' or '450 lbf'",
    "stress": "'250 MPa' or '36 ksi'",
    "share": "'2.5 %'",
}
_ALIKE = str.maketrans(
    {"\u2033": '"', "”": '"', "\u2032": "'", "’": "'", "−": "-", "\u00a0": " ", "\u202f": " ", "\u2009": " "}
)
_VULGAR = {
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
    "⅓": "1/3", "⅔": "2/3", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5", "⅙": "1/6", "⅚": "5/6",
}  # fmt: skip
_NUMBER = r"(?:(?P<whole>\d+)(?:\s+|-))?(?P<top>\d+)\s*/\s*(?P<bottom>\d+)|(?P<decimal>\d+(?:\.\d+)?|\.\d+)"
_UNIT = r"[a-z]+(?:/[a-z]+2?)?|[°%\"']"
_TERM = re.compile(rf"\s*(?P<number>{_NUMBER})\s*(?P<unit>{_UNIT}|(?=\s|$|\d))(?P<dash>-?)", re.ASCII)
_MOST_DIGITS = 40  # any float over 1e-20 can be written in full; a number longer than that is a slip


def parse_length(text: str) -> float:
    """Return a length in mm; a leading minus is kept, as for a place left of or below the origin.

    >>> parse_length("1 1/4 in"), parse_length("12 ft 6 in"), parse_length("3.5 m")
    (31.75, 3810.0, 3500.0)
    """
    return parse(text, "length")


def parse_angle(text: str) -> float:
    """Return an angle in degrees.

    >>> parse_angle("50 deg")
    50.0
    """
    return parse(text, "angle")


def parse_speed(text: str) -> float:
    """Return a speed in m/s.

    >>> round(parse_speed("115 mph"), 4)
    51.4096
    """
    return parse(text, "speed")


def parse(text: str, kind: Kind) -> float:
    """Return the quantity that `text` writes, in the unit its kind has inside the program.

    Raises UnitError when the text is no such quantity or can be read in two ways; a comma is refused, since "2,500 mm"
    is two and a half to one reader and two and a half thousand to another.

    >>> parse("24.5 kN", "force")
    24500.0
    """
    plain = _plain(text, kind)
    negative = plain.startswith("-")
    terms = _terms(plain.removeprefix("-").strip(), kind)
    _check_order(terms, kind)
    total = sum((number * _UNITS[kind][unit] for number, unit in terms), Fraction(0))
    return -float(total) if negative else float(total)


def wants_unit(kind: Kind) -> str:
    """Return the rule for a bare number where a quantity is wanted, with examples.

    >>> wants_unit("angle")
    "needs a number with its unit, in quotes, such as '50 deg'"
    """
    return f"needs a number with its unit, in quotes, such as {_EXAMPLES[kind]}"


def _plain(text: str, kind: Kind) -> str:
    plain = text.translate(_ALIKE).strip().lower()
    for sign, spelled in _VULGAR.items():
        plain = plain.replace(sign, f" {spelled} ")
    plain = plain.replace("''", '"').replace("\u2044", "/")
    if not plain:
        raise UnitError(f"is empty; it {wants_unit(kind)}")
    if "," in plain:
        raise UnitError("holds a comma, which can be a decimal sign or a thousands sign: write a point, or nothing")
    if re.search(r"\b(nan|inf|infinity)\b", plain):
        raise UnitError("must be a finite number")
    return plain.strip()


def _terms(plain: str, kind: Kind) -> list[tuple[Fraction, str]]:
    terms, place = [], 0
    while place < len(plain):
        match = _TERM.match(plain, place)
        if match is None:
            raise UnitError(f"cannot be read as {_a(kind)}: it {wants_unit(kind)}")
        unit = match["unit"]
        if not unit:
            raise UnitError(f"has no unit after {match['number'].strip()!r}: it {wants_unit(kind)}")
        if unit not in _UNITS[kind]:
            raise UnitError(_wrong_unit(unit, kind))
        terms.append((_value(match), unit))
        place = match.end()
        if match["dash"] and place == len(plain):
            raise UnitError("ends in a dash")
    if not terms:
        raise UnitError(f"cannot be read as {_a(kind)}: it {wants_unit(kind)}")
    return terms


def _value(match: re.Match[str]) -> Fraction:
    if sum(sign.isdigit() for sign in match["number"]) > _MOST_DIGITS:
        raise UnitError(f"has more than {_MOST_DIGITS} digits in one number")
    if match["decimal"] is not None:
        return Fraction(match["decimal"])
    top, bottom = int(match["top"]), int(match["bottom"])
    if bottom == 0:
        raise UnitError("divides by zero")
    if match["whole"] is not None and top >= bottom:
        raise UnitError(f"has {top}/{bottom} after a whole number: that part must be under one")
    return int(match["whole"] or 0) + Fraction(top, bottom)


def _check_order(terms: list[tuple[Fraction, str]], kind: Kind) -> None:
    """Only a last term may be broken, and each is less than one of the unit before it: "12 ft 14 in" is a slip."""
    sizes = _UNITS[kind]
    for (number, unit), (after, smaller) in pairwise(terms):
        if sizes[smaller] >= sizes[unit] or (sizes[unit] / sizes[smaller]).denominator != 1:
            raise UnitError(f"has {smaller!r} after {unit!r}: write the larger unit first, both of one system")
        if number.denominator != 1:
            raise UnitError(f"has a broken number of {unit!r} before {smaller!r}")
        if after * sizes[smaller] >= sizes[unit]:
            raise UnitError(f"has {after} {smaller} after {unit!r}: that is one {unit!r} or more")


def _wrong_unit(unit: str, kind: Kind) -> str:
    for other, table in _UNITS.items():
        if other != kind and unit in table:
            return f"has {unit!r}, a unit of {other}: {kind} {wants_unit(kind)}"
    return f"has the unknown unit {unit!r}: {kind} {wants_unit(kind)}"


def _a(kind: Kind) -> str:
    return f"an {kind}" if kind == "angle" else f"a {kind}"
