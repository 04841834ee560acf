"""Quantities as the shop reads them, the one place where they are put into words: for papers, pictures and console.

`system` is what the job's papers are read in, "inch" or "mm". Inches come with feet, pounds, ksi and °F; where a figure
goes into a calculation its SI stands beside it.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from math import floor
from typing import Literal

from armature.edge.unit_sizes import INCH, LBF, MPH, POUND, PSI

System = Literal["inch", "mm"]


def format_length(mm: float, system: System, *, fine: bool = False, feet: bool = False) -> str:
    """Return a length as the shop reads it: the nearest 1/16 in or whole mm; `fine` halves the step.

    Halves round up. With `feet`, a foot and more is written in feet and inches.

    >>> format_length(312.7, "inch"), format_length(3810, "inch", feet=True), format_length(312.7, "mm")
    ('12 5/16"', '12\\' 6"', '313 mm')
    """
    return _steps_told(_steps(mm, system, fine), system, fine, feet)


@lru_cache(maxsize=65_536)
def _steps_told(steps: int, system: System, fine: bool, feet: bool) -> str:
    """The same few lengths come back on every paper, and fractions are slow."""
    sign, steps = ("-" if steps < 0 else ""), abs(steps)
    if system == "mm":
        return f"{sign}{steps // 2}.5 mm" if fine and steps % 2 else f"{sign}{steps // (2 if fine else 1)} mm"
    inches = Fraction(steps, 32 if fine else 16)
    if feet and inches >= 12:
        return f"{sign}{int(inches // 12)}' {_mixed(inches % 12)}\""
    return f'{sign}{_mixed(inches)}"'


def format_mass(kg: float, system: System) -> str:
    """Return a mass as the shop weighs it: pounds or kilograms to three figures or so; little in ounces or grams.

    >>> format_mass(100.0, "inch"), format_mass(99.6, "mm"), format_mass(1.5, "mm"), format_mass(0.05, "inch")
    ('220 lb', '100 kg', '1.50 kg', '1.8 oz')
    """
    value, unit = (kg / float(POUND), "lb") if system == "inch" else (kg, "kg")
    if value < 1.0:
        return f"{value * 16.0:.1f} oz" if system == "inch" else f"{value * 1000.0:.0f} g"
    return f"{value:.{0 if value >= 20.0 else 1 if value >= 2.0 else 2}f} {unit}"


def format_force(kn: float, system: System) -> str:
    """Return a force: pounds with kN beside, or kN; small ones in N.

    >>> format_force(1.0, "inch"), format_force(0.25, "mm"), format_force(2.5, "mm")
    ('225 lbf (1.00 kN)', '250 N', '2.50 kN')
    """
    metric = f"{kn:.2f} kN" if kn >= 1.0 else f"{kn * 1000.0:.0f} N"
    return f"{kn * 1000.0 / float(LBF):.0f} lbf ({kn:.2f} kN)" if system == "inch" else metric


def format_moment(kn_m: float, system: System) -> str:
    """Return a moment: foot pounds with kN m beside, or kN m.

    >>> format_moment(0.28, "inch"), format_moment(0.28, "mm")
    ('207 ft-lbf (0.28 kN m)', '0.28 kN m')
    """
    foot_pound = float(LBF * INCH * 12) / 1e6
    return f"{kn_m / foot_pound:.0f} ft-lbf ({kn_m:.2f} kN m)" if system == "inch" else f"{kn_m:.2f} kN m"


def format_stress(mpa: float, system: System) -> str:
    """Return a stress: ksi, or psi under one of them, with MPa beside; or MPa.

    >>> format_stress(250.0, "inch"), format_stress(2.0, "inch"), format_stress(250.0, "mm")
    ('36.3 ksi (250 MPa)', '290 psi (2.0 MPa)', '250 MPa')
    """
    metric = f"{mpa:.0f} MPa" if mpa >= 10.0 else f"{mpa:.1f} MPa"
    psi = mpa / float(PSI)
    return (
        f"{f'{psi / 1000.0:.1f} ksi' if psi >= 1000.0 else f'{psi:.0f} psi'} ({metric})" if system == "inch" else metric
    )


def format_wind(m_s: float, system: System) -> str:
    """Return a wind speed that is borne, rounded down.

    >>> format_wind(10.0, "inch"), format_wind(10.0, "mm")
    ('22 mph', '10 m/s')
    """
    return f"{int(m_s / float(MPH) + 1e-9)} mph" if system == "inch" else f"{int(m_s + 1e-9)} m/s"


def format_heat(celsius: float, system: System) -> str:
    """Return a temperature as the shop reads it.

    >>> format_heat(110.0, "inch"), format_heat(65.0, "mm")
    ('230 °F (110 °C)', '65 °C')
    """
    return f"{celsius * 1.8 + 32.0:.0f} °F ({celsius:.0f} °C)" if system == "inch" else f"{celsius:.0f} °C"


def format_side(mm: float, system: System) -> str:
    """Return a side of a box, rounded up: whole inches in feet, or cm.

    >>> print(format_side(2000.0, "inch"), "or", format_side(2001.0, "mm"))
    6' 7" or 2.01 m
    """
    if system == "inch":
        inches = -int(-mm // 25.4)
        return f"{inches // 12}' {inches % 12}\""
    return f"{-int(-mm // 10.0) / 100.0:.2f} m"


def format_run(mm: float, system: System) -> str:
    """Return a length of many bars in all: feet or metres to a tenth.

    >>> format_run(4876.8, "inch"), format_run(4876.8, "mm")
    ('16.0 ft', '4.9 m')
    """
    return f"{mm / float(INCH) / 12.0:.1f} ft" if system == "inch" else f"{mm / 1000.0:.1f} m"


def format_height(mm: float, system: System) -> str:
    """Return a size of a whole tree, which nobody reads to the sixteenth: feet and whole inches, or metres.

    >>> format_height(3810.0, "inch"), format_height(3810.0, "mm")
    ('12\\' 6"', '3.81 m')
    """
    if system == "inch":
        return format_length(round(mm / float(INCH)) * float(INCH), system, feet=True)
    return f"{mm / 1000.0:.2f} m"


def format_inches(mm: float, places: int = 3) -> str:
    """Return a length in decimal inches, as a cutting table reads it, to stand beside one in mm.

    >>> format_inches(3.0), format_inches(1.8, 4)
    ('0.118 in', '0.0709 in')
    """
    return f"{mm / float(INCH):.{places}f} in"


def format_thin(mm: float, system: System) -> str:
    """Return the size of wire, pin or sheet, which no rule reads: thousandths of an inch with mm beside, or mm.

    >>> format_thin(1.9, "inch"), format_thin(1.9, "mm")
    ('0.075" (1.9 mm)', '1.9 mm')
    """
    return f'{mm / 25.4:.3f}" ({mm:g} mm)' if system == "inch" else f"{mm:g} mm"


def exact_length(mm: float, system: System = "mm") -> str:
    """Return text that `parse_length` reads back as the very same float: inches to 1/64 where that is exact, else mm.

    >>> exact_length(4876.8, "inch"), exact_length(31.75, "inch"), exact_length(31.7, "inch")
    ('16 ft', '1 1/4 in', '31.7 mm')
    """
    if system == "inch" and abs(mm) < 1e9:
        sign, sixty_fourths = ("-" if mm < 0 else ""), round(abs(mm) / 25.4 * 64)
        inches = Fraction(sixty_fourths, 64)
        if float(inches * INCH) == abs(mm):
            return sign + _feet_and_inches(inches)
    return f"{exact_number(mm)} mm"


def exact_number(value: float) -> str:
    """Return the shortest decimal text, without an exponent, that reads back as the same float.

    >>> exact_number(50.0), exact_number(1e-7), exact_number(0.1)
    ('50', '0.0000001', '0.1')
    """
    text = f"{Decimal(repr(float(value))).normalize():f}"
    return "0" if text == "-0" else text


def _step(system: System, fine: bool) -> float:
    return (25.4 / 16 if system == "inch" else 1.0) / (2.0 if fine else 1.0)


def _steps(mm: float, system: System, fine: bool) -> int:
    return floor(mm / _step(system, fine) + 0.5)


def _mixed(number: Fraction) -> str:
    whole, rest = divmod(number, 1)
    if not rest:
        return str(whole)
    return f"{whole} {rest}" if whole else str(rest)


def _feet_and_inches(inches: Fraction) -> str:
    feet, rest = divmod(inches, 12)
    if feet < 4:
        return f"{_mixed(inches)} in"
    return f"{feet} ft {_mixed(rest)} in" if rest else f"{feet} ft"
