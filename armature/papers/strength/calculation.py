"""calculation.pdf: a calculation that one can follow with a pencil, assumptions first.

Then, for one member of each rank, every number from leaf area to ratio; the sums that check the whole; tables of all
members; where to look for rust and cracks; the foot. Each figure stands in two units side by side.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from armature.papers.sheet import Sheet
from armature.papers.strength.foot_sketch import draw_foot
from armature.papers.strength.hot_spots import draw_hot_spots
from armature.strength import (
    CAUTION,
    Assessment,
    Followed,
    Step,
    checks,
    coupons,
    first_worst,
    followed,
    inspection_plan,
    spares,
    verdict,
    whole_sums,
)

_MARGIN, _LINE = 16.0, 4.6
# Print in points, and the next line of a cell, mm.
_PRINT, _CELL = 9.0, 3.8
# What stands beside: factor and unit of the other system.
_OTHER = {
    "mm": (1.0 / 25.4, "in"),
    "mm2": (1.0 / 645.16, "in2"),
    "mm3": (1.0 / 16387.064, "in3"),
    "m": (1.0 / 0.3048, "ft"),
    "m2": (1.0 / 0.09290304, "ft2"),
    "m/s": (1.0 / 0.44704, "mph"),
    "kg": (1.0 / 0.45359237, "lb"),
    "N": (1.0 / 4.4482216, "lbf"),
    "kN": (1.0 / 4.4482216, "kip"),
    "N m": (1.0 / 1.3558179, "ft-lbf"),
    "kN m": (1.0 / 1.3558179, "kip-ft"),
    "Pa": (1.0 / 47.880259, "psf"),
    "MPa": (1.0 / 6.8947573, "ksi"),
}


def calculation_pdf(assessment: Assessment, title: str) -> bytes:
    """Return the calculation as a PDF, Letter for a shop in inches and A4 for one in millimetres."""
    page = "Letter" if assessment.conditions.units == "inch" else "A4"
    sheet = Sheet(page, f"{title}: calculation", (title, CAUTION))
    book = _Book(sheet, title)
    book.turn()
    _opening(book, assessment)
    for each in followed(assessment):
        _member(book, each)
    _whole(book, assessment)
    _tables(book, assessment)
    _years(book, assessment)
    book.turn()
    book.heading("Where to look: the worst ratio of each member")
    draw_hot_spots(sheet, assessment, (_MARGIN, book.y, book.wide, sheet.page_size[1] - book.y - 20.0))
    book.turn()
    book.heading("The foot")
    draw_foot(sheet, assessment, (_MARGIN, book.y, book.wide, sheet.page_size[1] - book.y - 20.0))
    return sheet.printed()


class _Book:
    """A sheet filled from top to bottom, with a head and a caution on each page."""

    def __init__(self, sheet: Sheet, title: str) -> None:
        self.sheet, self.title, self.y, self.number = sheet, title, 0.0, 0
        self.wide = sheet.page_size[0] - 2.0 * _MARGIN

    def turn(self) -> None:
        """Begin a page."""
        self.number += 1
        self.sheet.add_page()
        high = self.sheet.page_size[1]
        self.sheet.words(_MARGIN, 12.0, f"{self.title}: will it stand", 9.0, bold=True)
        self.sheet.words(_MARGIN + self.wide, 12.0, f"page {self.number}", 9.0, align="R")
        self.sheet.rule(_MARGIN, 14.0, self.wide)
        self.sheet.fitted(_MARGIN, high - 9.0, CAUTION, _PRINT, self.wide)
        self.y = 22.0

    def room(self, lines: float) -> None:
        """Begin a page where fewer lines are left."""
        if self.y + lines * _LINE > self.sheet.page_size[1] - 16.0:
            self.turn()

    def heading(self, text: str, keep: float = 4.0) -> None:
        """Write a heading that stays with what follows."""
        self.room(keep + 2.0)
        self.y += 2.5
        self.sheet.fitted(_MARGIN, self.y, text, 12.0, self.wide, bold=True)
        self.y += _LINE + 1.6

    def prose(self, text: str, size: float = _PRINT) -> None:
        """Write a text in lines as wide as the page."""
        line = ""
        for word in [*text.split(), ""]:
            if not word or self.sheet.width(f"{line} {word}", size) > self.wide:
                self.room(1.0)
                self.sheet.words(_MARGIN, self.y, line, size)
                self.y += _LINE
                line = word
            else:
                line = f"{line} {word}".strip()

    def row(self, cells: Sequence[str], shares: Sequence[float], bold: bool = False) -> None:
        """Write one line of a table, each cell in its share of the width."""
        columns = [self._lines(cell, share * self.wide - 1.5, bold) for cell, share in zip(cells, shares, strict=True)]
        deep = max(len(lines) for lines in columns)
        self.room(deep)
        at = _MARGIN
        for lines, share in zip(columns, shares, strict=True):
            for number, line in enumerate(lines):
                self.sheet.fitted(at, self.y + _CELL * number, line, _PRINT, share * self.wide - 1.5, bold=bold)
            at += share * self.wide
        self.y += _LINE + _CELL * (deep - 1)

    def _lines(self, cell: str, wide: float, bold: bool) -> list[str]:
        """Return a cell broken between words into lines as wide as its column."""
        lines = [""]
        for word in cell.split():
            longer = f"{lines[-1]} {word}".strip()
            if lines[-1] and self.sheet.width(longer, _PRINT, bold) > wide:
                lines.append(word)
            else:
                lines[-1] = longer
        return lines


def _opening(book: _Book, assessment: Assessment) -> None:
    rows = checks(assessment)
    judged = verdict(assessment, rows)
    book.heading("Verdict")
    shown = "; ".join(f"{name.replace('_', ' ')} {value:.3f}" for name, value in judged.ratios.items())
    book.prose(f"{judged.word}. Worst ratio (over 1 fails): {shown}.")
    for text in (*judged.reasons[:8], *judged.gaps):
        book.prose(f"- {text}")
    book.heading("Assumed: nobody gave these values")
    for each in assessment.conditions.assumed:
        book.row((each.what, each.value, each.why), (0.26, 0.24, 0.5))
    book.heading("Standards")
    conditions = assessment.conditions
    steel = "AISC 360-16, LRFD" if conditions.is_american else "EN 1993-1-1, 1-8, 1-9"
    book.prose(
        f"Loads {conditions.standard}; steel {steel}; {conditions.grade.standard} ({conditions.grade.name})."
        " The texts were not at hand: all clauses and constants here are from memory, but for AISC 360-16 F11, read in"
        " a transcription. Compare each with its text before signing."
    )
    book.heading("Combinations")
    for combo in assessment.combos:
        book.row((combo.name, combo.clause), (0.5, 0.5))
    book.heading("Checks, worst first")
    shares = (0.42, 0.12, 0.1, 0.09, 0.27)
    book.row(("check", "value", "limit", "ratio", "at, by"), shares, bold=True)
    for row in rows:
        value, limit = (
            f"{number:.4g} {row.unit}" if row.unit else f"{number:.4g}" for number in (row.value, row.limit)
        )
        aside = " (not in the verdict)" if row.aside else ""
        book.row((row.title + aside, value, limit, f"{row.ratio:.3f}", f"{row.member}, {row.clause}"), shares)


def _member(book: _Book, each: Followed) -> None:
    book.heading(
        f"{each.tag}, {each.rank}, at its foot: {each.combination}, wind toward {each.toward_deg:.0f} deg", 8.0
    )
    _steps(book, each.steps)


def _steps(book: _Book, steps: Sequence[Step]) -> None:
    shares = (0.33, 0.27, 0.12, 0.12, 0.16)
    for step in steps:
        book.row((step.what, step.how, *_two(step), step.clause), shares)


def _two(step: Step) -> tuple[str, str]:
    """Return a value in its own unit and in the other system's."""
    # What is nothing by symmetry comes with the last digits of a sum.
    value = 0.0 if abs(step.value) < 1e-9 else step.value
    own = f"{value:.6g} {step.unit}".strip()
    if step.unit not in _OTHER:
        return own, ""
    factor, unit = _OTHER[step.unit]
    return own, f"{value * factor:.5g} {unit}"


def _whole(book: _Book, assessment: Assessment) -> None:
    book.heading("Sums that check the whole", 8.0)
    _steps(book, whole_sums(assessment))
    book.heading("Forces at the base", 6.0)
    shares = (0.4, 0.15, 0.15, 0.15, 0.15)
    book.row(("combination", "down, kN", "shear, kN", "overturning, kN m", "torsion, kN m"), shares, bold=True)
    for each in assessment.base:
        values = (each.vertical / 1e3, each.shear / 1e3, each.overturning / 1e6, each.torsion / 1e6)
        book.row((each.name, *(f"{value:.3f}" for value in values)), shares)


def _tables(book: _Book, assessment: Assessment) -> None:
    book.heading("Every member: largest forces of all combinations where its bar works hardest; its worst ratio", 6.0)
    book.prose("N, V, T, M: each the largest of all, not of one combination. The ratio is the worst of all checks, by:")
    shares = (0.11, 0.08, 0.08, 0.1, 0.09, 0.09, 0.1, 0.12, 0.08, 0.15)
    head = ("member", "d, mm", "at, mm", "N, N", "V, N", "T, N m", "M, N m", "M held, N m", "ratio", "by")
    book.row(head, shares, bold=True)
    most, limit = assessment.worst.most, assessment.limit
    names = list(assessment.parts)
    by = first_worst(np.stack([assessment.parts[name] for name in names], axis=1))
    for row, at in enumerate(assessment.where.tolist()):
        cells = (
            str(assessment.tree.tags[row]),
            f"{assessment.cross_sections.values.diameter[at]:.1f}",
            f"{assessment.frame.stations[assessment.cross_sections.nodes[at]]:.0f}",
            f"{max(most['pull'][at], most['push'][at]):.0f}",
            f"{most['shear'][at]:.0f}",
            f"{most['torsion'][at] / 1e3:.1f}",
            f"{most['bending'][at] / 1e3:.1f}",
            f"{limit.bending[at] / 1e3:.1f}",
            f"{assessment.ratios[row]:.3f}",
            names[int(by[row])],
        )
        book.row(cells, shares)


def _years(book: _Book, assessment: Assessment) -> None:
    book.turn()
    book.heading("Inspection: when, and how much loss ends a member")
    for each in inspection_plan(assessment.conditions, assessment.loop_years):
        book.row((each["when"], each["what"]), (0.35, 0.65))
    book.prose("A member is at its end when it has lost this much of its diameter, mm (both sides together):")
    rows = [f"{tag} {loss:.1f}" for tag, loss in spares(assessment)]
    for first in range(0, len(rows), 8):
        book.row([*rows[first : first + 8], *[""] * (8 - len(rows[first : first + 8]))], [0.125] * 8)
    book.heading("Coupons from the forge")
    for text in coupons(assessment):
        book.prose(f"- {text}")
    bare = np.flatnonzero(assessment.lifetime.spare <= 0.0)
    if len(bare):
        book.prose(f"{len(bare)} members have nothing to lose: they fail new.")
