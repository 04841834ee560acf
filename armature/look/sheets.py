"""What a survey leaves behind: a contact sheet of the best trees that differ, and a table of all."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path

from PIL import Image, ImageDraw

from armature.commission import Commission, changed
from armature.grow import grow
from armature.look.drawings import ACCENT, INK, PAPER, draw_tree, font_of, framed
from armature.look.skeleton import skeleton_of
from armature.look.survey import Grown

_CELL, _HEAD, _FINE, _COLUMNS = (360, 420), 90, 2, 4


def contact_sheet(commission: Commission, best: Sequence[Grown], all_of: int) -> Image.Image:
    """Return a picture of the trees, four a row, each from a quarter view with its seed and its overall."""
    rows = max((len(best) + _COLUMNS - 1) // _COLUMNS, 1)
    size = (_CELL[0] * _COLUMNS, _HEAD + _CELL[1] * rows)
    sheet = Image.new("RGB", (size[0] * _FINE, size[1] * _FINE), PAPER)
    paper = ImageDraw.Draw(sheet)
    paper.text((30 * _FINE, 20 * _FINE), commission.title, fill=INK, font=font_of(26))
    told = f"the {len(best)} best that differ, of {all_of} grown"
    paper.text((30 * _FINE, 56 * _FINE), told, fill=INK, font=font_of(15))
    for number, grown in enumerate(best):
        left = (number % _COLUMNS) * _CELL[0] * _FINE
        top = (_HEAD + number // _COLUMNS * _CELL[1]) * _FINE
        tree = skeleton_of(grow(changed(commission, {**grown.values, "seed": grown.seed})))
        box = (left, top, left + _CELL[0] * _FINE, top + (_CELL[1] - 50) * _FINE)
        draw_tree(paper, tree, framed(tree, 35.0, box, margin=0.04))
        middle = left + _CELL[0] * _FINE / 2.0
        below = top + (_CELL[1] - 34) * _FINE
        paper.text((middle, below), f"seed {grown.seed}", fill=INK, font=font_of(15), anchor="rm")
        paper.text((middle + 10 * _FINE, below), f"{grown.overall:.0f}", fill=ACCENT, font=font_of(15), anchor="lm")
        changes = ", ".join(f"{key.split('.')[-1]} {value}" for key, value in grown.values.items())
        paper.text((middle, below + 18 * _FINE), changes[:52], fill=INK, font=font_of(11), anchor="mm")
    return sheet.resize(size, Image.Resampling.LANCZOS)


def survey_csv(found: Sequence[Grown], best: Sequence[Grown]) -> str:
    """Return the table: seed, values, overall, kept, families, worst findings; trees that could not be grown come
    last."""
    kept = {grown.key for grown in best}
    values = list(dict.fromkeys(key for grown in found for key in grown.values))
    families = list(dict.fromkeys(name for grown in found for name in grown.families))
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow(["seed", *values, "overall", "kept", *families, "findings", "failed"])
    for grown in found:
        scores = [grown.families.get(name, "") for name in families]
        own = [grown.values.get(key, "") for key in values]
        named = " ".join(grown.faults)
        table.writerow([grown.seed, *own, grown.overall, int(grown.key in kept), *scores, named, grown.failed])
    return text.getvalue()


def write_survey(folder: Path, commission: Commission, found: Sequence[Grown], best: Sequence[Grown]) -> list[Path]:
    """Return the files written: survey.csv and sheet.png, each put in place whole."""
    folder.mkdir(parents=True, exist_ok=True)
    table, sheet = folder / "survey.csv", folder / "sheet.png"
    aside = folder / ".sheet.png"
    contact_sheet(commission, best, len(found)).save(aside, format="PNG")
    aside.replace(sheet)
    aside = folder / ".survey.csv"
    aside.write_text(survey_csv(found, best), encoding="utf-8")
    aside.replace(table)
    return [table, sheet]
