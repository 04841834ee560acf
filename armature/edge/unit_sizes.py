"""How large units are, exactly, in the program's own."""

from __future__ import annotations

from fractions import Fraction

INCH = Fraction(254, 10)  # mm, exact by the international yard and pound agreement of 1959
POUND = Fraction(45359237, 100_000_000)  # kg, exact by the same agreement
LBF = POUND * Fraction(980665, 100_000)  # N, standard gravity 9.80665 m/s2 (ISO 80000-3)
PSI = LBF / (INCH * INCH)  # N/mm2
MPH = INCH * 63360 / 1000 / 3600  # m/s
