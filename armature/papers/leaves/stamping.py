"""Stamping drawings: each named leaf full size, with its panel, guide lines and letters, in batches for a bench."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path as File
from typing import TYPE_CHECKING

import numpy as np

from armature.leaves import LeafPlan
from armature.leaves.naming import Panel, Setting, Stamping, advance, batches, line_depths
from armature.leaves.outline import Design
from armature.papers import add_fonts, drawable, fitted_size, printed, text_width, write_at
from armature.papers.leaves.drawn import curve
from armature.papers.leaves.places import stamp_text

if TYPE_CHECKING:
    from fpdf import FPDF

_EDGE, _HEAD, _GAP = 12.0, 24.0, 6.0
# Least width of a leaf's place on the sheet, mm: its tag, design and name are read from the bench.
_LEAST = 40.0
_MADE = datetime(2000, 1, 1, tzinfo=UTC)


def write_stamping_drawings(
    file: File, plan: LeafPlan, title: str, paper: str = "a4", head: str = "stamping, batch"
) -> list[str]:
    """Write the stamping drawings as PDF; return the signs that no font on hand could draw.

    Leaves come by letter size, so that one set of stamps serves a batch of at most 24; every page is full size when
    printed without scaling, with a 100 mm rule to check it by. head: what stands over each batch before its number.
    """
    from fpdf import FPDF

    pdf = FPDF(unit="mm", format=paper)
    pdf.set_creation_date(_MADE)
    pdf.set_auto_page_break(False)
    names = plan.tree.leaves.names.tolist()
    missing = add_fonts(pdf, [*names, title])
    plan = _drawable(plan, missing)
    for number, batch in enumerate(batches(plan.settings, plan.tree.leaves.tags.tolist()), 1):
        _batch(pdf, plan, batch, f"{title}: {head} {number}")
    if not pdf.pages:
        pdf.add_page()
        pdf.cell(0, 8, "No names to stamp.")
    file.write_bytes(printed(pdf))
    return missing


def _drawable(plan: LeafPlan, missing: Sequence[str]) -> LeafPlan:
    """Return the plan with a box for each sign that no font draws."""
    if not missing:
        return plan
    leaves = plan.tree.leaves
    names = np.array([drawable(name, missing) for name in leaves.names.tolist()], dtype=np.str_)
    settings = [
        replace(s, setting=replace(s.setting, lines=tuple(drawable(line, missing) for line in s.lines))) if s else None
        for s in plan.settings
    ]
    return replace(plan, tree=plan.tree.hung(replace(leaves, names=names)), settings=tuple(settings))


def _batch(pdf: FPDF, plan: LeafPlan, rows: list[int], head: str) -> None:
    setting = plan.settings[rows[0]]
    assert setting is not None
    x = y = deep = 0.0
    for row in rows:
        design = plan.designs[int(plan.tree.leaves.designs[row]) - 1]
        low_x, low_y, high_x, high_y = design.shape.bounds
        wide, high = max(high_x - low_x, _LEAST) + _GAP, high_y - low_y + 18.0
        if x + wide > pdf.w - _EDGE:
            x, y, deep = _EDGE, y + deep, 0.0
        if x == 0.0 or y + high > pdf.h - _EDGE:
            _page(pdf, head, setting, len(rows))
            x, y, deep = _EDGE, _HEAD, 0.0
        _leaf(pdf, plan, row, design, (x - low_x, y + 12.0 + high_y))
        x, deep = x + wide, max(deep, high)


def _page(pdf: FPDF, head: str, setting: Stamping, count: int) -> None:
    pdf.add_page()
    pdf.set_font("plain", "B", 13)
    fitted_size(pdf, head, pdf.w - 2.0 * _EDGE)
    write_at(pdf, _EDGE, 12.5, head)
    pdf.set_font("plain", "", 9.5)
    leaves = f"{count} leaves" if count > 1 else "1 leaf"
    letters = stamp_text(setting.height, "inch" if pdf.w > 212.0 else "mm")
    write_at(pdf, _EDGE, 18.0, f"{leaves}, letters {letters}, {setting.method}. Wear eye and ear protection.")
    low = pdf.h - 8.0
    pdf.set_line_width(0.2)
    pdf.set_draw_color(0)
    pdf.line(_EDGE, low, _EDGE + 100.0, low)
    for end in (_EDGE, _EDGE + 100.0):
        pdf.line(end, low - 1.5, end, low + 1.5)
    write_at(pdf, _EDGE + 103.0, low + 1.0, "100 mm (3 15/16 in): print without scaling")


def _leaf(pdf: FPDF, plan: LeafPlan, row: int, design: Design, at: tuple[float, float]) -> None:
    setting = plan.settings[row]
    assert setting is not None
    curve(pdf, design.outline, at, 90)
    curve(pdf, design.eye_path, at, 90)
    for vein in design.veins:
        curve(pdf, vein, at, 185, 0.15)
    _text_lines(pdf, setting.setting, setting.panel, at)
    leaves = plan.tree.leaves
    pdf.set_text_color(0)
    pdf.set_font("plain", "B", 10)
    low_x, _, high_x, high_y = design.shape.bounds
    left, top, tag = at[0] + low_x, at[1] - high_y, f"{leaves.tags[row]} "
    write_at(pdf, left, top - 7.6, tag)
    shift = text_width(pdf, tag)
    pdf.set_font("plain", "", 9)
    write_at(pdf, left + shift, top - 7.6, f"design {design.number}")
    pdf.set_font("plain", "", 10)
    name = str(leaves.names[row])
    fitted_size(pdf, name, max(high_x - low_x, _LEAST))
    write_at(pdf, left, top - 3.0, name)


def _text_lines(pdf: FPDF, setting: Setting, panel: Panel, at: tuple[float, float]) -> None:
    """Guide lines above and below each line, and the letters at the pitch of the stamps, along the panel."""
    height = setting.height
    depth = float(line_depths(len(setting.lines))[-1]) * height
    tops = depth / 2 - (line_depths(len(setting.lines)) - 1.0) * height
    corner = at[0] + panel.x, at[1] - panel.y
    with pdf.rotation(panel.turn_deg, *corner):
        pdf.set_draw_color(120, 150, 200)
        pdf.set_line_width(0.1)
        for text, top in zip(setting.lines, tops.tolist(), strict=True):
            for guide in (top, top - height):
                pdf.line(corner[0] - panel.width / 2, corner[1] - guide, corner[0] + panel.width / 2, corner[1] - guide)
            _letters(pdf, setting, text, (corner[0], corner[1] - top + height))


def _letters(pdf: FPDF, setting: Setting, text: str, base: tuple[float, float]) -> None:
    """One line: letter by letter at the stamps' pitch, or as written where the name is chased."""
    # A capital of the plain font is 0.73 of its size high.
    size = setting.height / 0.73 / 0.352778
    pdf.set_text_color(20, 20, 20)
    pdf.set_font("plain", "", size)
    left = base[0] - advance(text) * setting.height / 2
    if setting.method == "chase":
        whole = text_width(pdf, text)
        room = advance(text) * setting.height
        pdf.set_font("plain", "", size * min(1.0, room / max(whole, 1e-6)))
        write_at(pdf, base[0] - text_width(pdf, text) / 2, base[1], text)
        return
    for k, sign in enumerate(_with_marks(text)):
        wide = min(text_width(pdf, sign), setting.height)
        if sign.strip():
            write_at(pdf, left + (k + 0.5) * setting.height - wide / 2, base[1], sign)


def _with_marks(text: str) -> list[str]:
    """Letters, each with the marks that follow it."""
    lines: list[str] = []
    for sign in text:
        if lines and unicodedata.combining(sign):
            lines[-1] += sign
        else:
            lines.append(sign)
    return lines
