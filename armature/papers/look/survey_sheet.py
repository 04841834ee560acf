"""What a survey leaves behind: a contact sheet of the best trees that differ, and a table of all."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import astuple

from PIL import Image, ImageDraw

from armature.commission import Commission
from armature.look import TRAITS, Character, Grown, alike, grown_again, in_words, tied
from armature.papers.look.drawings import ACCENT, INK, PAPER, draw_skeleton, font_of, framed

_CELL, _HEAD, _FINE, _COLUMNS = (360, 440), 114, 2, 4


def contact_sheet(commission: Commission, crowns: Sequence[Grown], best: Sequence[Grown], by: str = "") -> Image.Image:
    """Return a picture of the best, four a row, each from a quarter view with its seed, its overall and its character
    in words, by the thirds of all that were found."""
    rows = max((len(best) + _COLUMNS - 1) // _COLUMNS, 1)
    size = (_CELL[0] * _COLUMNS, _HEAD + _CELL[1] * rows)
    sheet = Image.new("RGB", (size[0] * _FINE, size[1] * _FINE), PAPER)
    paper = ImageDraw.Draw(sheet)
    paper.text((30 * _FINE, 20 * _FINE), commission.title, fill=INK, font=font_of(26))
    paper.text((30 * _FINE, 56 * _FINE), _told(crowns, best, by), fill=INK, font=font_of(15))
    same = alike(_characters(crowns))
    paper.text((30 * _FINE, 80 * _FINE), f"alike in all: {', '.join(same)}" if same else "", fill=INK, font=font_of(13))
    said = words_by_key(crowns)
    for number, grown in enumerate(best):
        left = (number % _COLUMNS) * _CELL[0] * _FINE
        top = (_HEAD + number // _COLUMNS * _CELL[1]) * _FINE
        skeleton = grown_again(commission, grown)
        box = (left, top, left + _CELL[0] * _FINE, top + (_CELL[1] - 70) * _FINE)
        draw_skeleton(paper, skeleton, framed(skeleton, 35.0, box, margin=0.04))
        middle = left + _CELL[0] * _FINE / 2.0
        below = top + (_CELL[1] - 54) * _FINE
        paper.text((middle, below), f"seed {grown.seed}", fill=INK, font=font_of(15), anchor="rm")
        paper.text((middle + 10 * _FINE, below), f"{grown.overall:.0f}", fill=ACCENT, font=font_of(15), anchor="lm")
        changes = ", ".join(f"{key.split('.')[-1]} {value}" for key, value in grown.values.items())
        words = " · ".join(said[grown.key])
        paper.text((middle, below + 20 * _FINE), words, fill=INK, font=font_of(13), anchor="mm")
        paper.text((middle, below + 38 * _FINE), changes[:52], fill=INK, font=font_of(11), anchor="mm")
    return sheet.resize(size, Image.Resampling.LANCZOS)


def words_by_key(crowns: Sequence[Grown]) -> dict[str, tuple[str, ...]]:
    """Return the character of each tree in words, by its key; none of those that could not be grown."""
    grown = [each for each in crowns if each.character is not None]
    return dict(zip((each.key for each in grown), in_words(_characters(crowns)), strict=True))


def _characters(crowns: Sequence[Grown]) -> list[Character]:
    return [each.character for each in crowns if each.character is not None]


def _told(crowns: Sequence[Grown], best: Sequence[Grown], by: str) -> str:
    told = f"the {len(best)} most {by}" if by else f"{len(best)} that differ"
    return "; ".join(part for part in (f"{told}, of {len(crowns)} grown", tied(best)) if part)


def survey_csv(crowns: Sequence[Grown], best: Sequence[Grown]) -> str:
    """Return the table: seed, values, overall, typical, kept, character in numbers and words, families, worst findings;
    trees that could not be grown come last."""
    kept = {grown.key for grown in best}
    values = list(dict.fromkeys(key for grown in crowns for key in grown.values))
    families = list(dict.fromkeys(name for grown in crowns for name in grown.families))
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\n")
    said = words_by_key(crowns)
    traits = [f"{name}_mm" if name == "spread" else name for name in TRAITS]
    head = ["seed", *values, "overall", "typical", "kept", *traits, "character", *families, "findings", "failed"]
    table.writerow(head)
    for grown in crowns:
        scores = [grown.families.get(name, "") for name in families]
        own = [grown.values.get(key, "") for key in values]
        named = " ".join(grown.faults)
        trait = astuple(grown.character) if grown.character else [""] * len(traits)
        read = [grown.overall, grown.typical, int(grown.key in kept), *trait, " ".join(said.get(grown.key, ()))]
        table.writerow([grown.seed, *own, *read, *scores, named, grown.failed])
    return text.getvalue()


def survey_files(
    commission: Commission, crowns: Sequence[Grown], best: Sequence[Grown], by: str = ""
) -> dict[str, bytes]:
    """Return what a survey leaves behind, by the name of its file: survey.csv and sheet.png."""
    packed = io.BytesIO()
    contact_sheet(commission, crowns, best, by).save(packed, format="PNG")
    return {"survey.csv": survey_csv(crowns, best).encode(), "sheet.png": packed.getvalue()}
