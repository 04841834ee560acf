"""The tree coloured by what its checks say: where it is at its limit, at a glance."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw

from armature.centreline import Floats, sampled
from armature.pictures.lettering import lettered
from armature.tree import Tree

# Steps of the ratio and their colours, told apart by lightness as well as by hue.
STEPS = ((0.5, "#7d9aa6"), (0.8, "#4f7d63"), (1.0, "#d9a441"), (2.0, "#cc5a2b"), (np.inf, "#7a0f1d"))
_WORDS = ("under 0.5", "0.5 to 0.8", "0.8 to 1", "over its limit, to 2", "over twice its limit")
_PAPER, _EDGE, _SCALE = "#f6f3ec", 40, 2


def draw_ratios(tree: Tree, ratios: Floats, path: Path, side: int = 1400) -> Path:
    """Return the path of a PNG of the tree from the front: members in the colour of their ratio (M,), worst on top."""
    line = sampled(tree.chains, 0.5, 80.0)
    members = np.repeat(np.arange(len(tree)), np.diff(line.offsets))
    across, up = line.points[:, 0], line.points[:, 2]
    reach = max(float(up.max()), 2.0 * float(np.abs(across).max())) * 1.03
    unit = _SCALE * (side - 2 * _EDGE) / reach
    x, y = _SCALE * side / 2.0 + across * unit, _SCALE * (side - _EDGE) - up * unit
    width = np.maximum(tree.diameters_at(members, line.stations) * unit, _SCALE * 1.2)
    image = Image.new("RGB", (_SCALE * side, _SCALE * side), _PAPER)
    pen = ImageDraw.Draw(image)
    worth = np.nan_to_num(ratios, nan=0.0)
    pieces = np.flatnonzero(members[1:] == members[:-1])
    for piece in pieces[np.argsort(worth[members[pieces]], kind="stable")].tolist():
        colour = _colour(float(worth[members[piece]]))
        ends = [(x[piece], y[piece]), (x[piece + 1], y[piece + 1])]
        pen.line(ends, fill=colour, width=round(float(width[piece])))
        # Rounded at its ends, so that no crack shows where two pieces meet at an angle.
        half = float(width[piece]) / 2.0
        for across_end, up_end in ends if half > 2.0 else ():
            pen.ellipse((across_end - half, up_end - half, across_end + half, up_end + half), fill=colour)
    small = image.resize((side, side), Image.Resampling.LANCZOS)
    _legend(small)
    small.save(path)
    return path


def _colour(ratio: float) -> str:
    return next(colour for most, colour in STEPS if ratio <= most)


def _legend(image: Image.Image) -> None:
    pen = ImageDraw.Draw(image)
    lettered(image, (_EDGE, _EDGE), "Asked over allowed, the worst check of each member", 22)
    for row, ((_, colour), words) in enumerate(zip(STEPS, _WORDS, strict=True)):
        top = _EDGE + 44 + 32 * row
        pen.rectangle((_EDGE, top, _EDGE + 34, top + 20), fill=colour)
        lettered(image, (_EDGE + 46, top - 2), words, 18)
    lettered(image, (_EDGE, image.height - 30), "A design aid, not a certificate.", 16)
