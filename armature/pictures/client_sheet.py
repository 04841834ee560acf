"""The client's sheet: pictures and facts of a tree on one page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from PIL import Image

from armature.pictures.lettering import PALE, PAPER, broken, lettered
from armature.pictures.stills import Picture

# A page in the proportions of ISO 216 paper, upright.
PAGE = (1754, 2480)
_EDGE, _GAP = 90, 26


@dataclass(frozen=True)
class Facts:
    """What a sheet says in words: the title, a line under it, rows of (label, value), and a line at the foot."""

    title: str
    under: str
    rows: tuple[tuple[str, str], ...]
    foot: str = ""


def sheet(facts: Facts, seen: Mapping[str, Picture]) -> Picture:
    """Return the page (H, W, 3) with a large `front`, and `quarter`, `bare`, `below` and `twig` beside and under it.

    Each picture is cut to its frame about its middle; one that is missing leaves its place empty.
    """
    page = Image.new("RGB", PAGE, PAPER)
    top = _title(page, facts)
    large = (1090, 1330)
    right = _EDGE + large[0] + _GAP
    beside = (PAGE[0] - _EDGE - right, (large[1] - _GAP) // 2)
    _framed(page, seen.get("front"), (_EDGE, top), large)
    _framed(page, seen.get("bare"), (right, top), beside)
    _framed(page, seen.get("quarter"), (right, top + beside[1] + _GAP), beside)
    under = top + large[1] + _GAP
    small = (PAGE[0] - 2 * _EDGE - 2 * _GAP) // 3
    for number, name in enumerate(("visitor", "below", "twig")):
        _framed(page, seen.get(name), (_EDGE + number * (small + _GAP), under), (small, 460))
    _rows(page, facts, under + 460 + 50)
    lettered(page, (_EDGE, PAGE[1] - 62), facts.foot, 20, PALE)
    return np.asarray(page)


def _title(page: Image.Image, facts: Facts) -> int:
    top = 84
    for line in broken(facts.title, 64, PAGE[0] - 2 * _EDGE)[:2]:
        lettered(page, (_EDGE, top), line, 64)
        top += 76
    lettered(page, (_EDGE, top + 6), facts.under, 26, PALE)
    return top + 66


def _rows(page: Image.Image, facts: Facts, top: int) -> None:
    """Write the facts in three columns, label above value."""
    wide, step = (PAGE[0] - 2 * _EDGE) // 3, 66
    deep = -(-len(facts.rows) // 3)
    step = min(step, (PAGE[1] - 84 - top) // max(deep, 1))
    for number, (label, value) in enumerate(facts.rows):
        place = (_EDGE + number // deep * wide, top + number % deep * step)
        lettered(page, place, label, 19, PALE)
        lettered(page, (place[0], place[1] + 24), value, 27)


def _framed(page: Image.Image, seen: Picture | None, corner: tuple[int, int], size: tuple[int, int]) -> None:
    if seen is None:
        return
    image = Image.fromarray(seen[..., :3])
    scale = max(size[0] / image.width, size[1] / image.height)
    wide, high = round(image.width * scale), round(image.height * scale)
    left, above = (wide - size[0]) // 2, (high - size[1]) // 2
    fitted = image.resize((wide, high), Image.Resampling.LANCZOS)
    page.paste(fitted.crop((left, above, left + size[0], above + size[1])), corner)
