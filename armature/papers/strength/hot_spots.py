"""A drawn map of where a tree works hardest: elevation and side, each member in the shade of its worst ratio."""

from __future__ import annotations

import numpy as np

from armature.papers.ready import INK
from armature.papers.sheet import Sheet
from armature.strength import Assessment
from armature.tree import TWIG, sampled

Box = tuple[float, float, float, float]
_SHADES = ((0.5, (184, 189, 194)), (0.75, (115, 140, 166)), (0.9, (217, 140, 51)), (9e9, (191, 26, 26)))


def draw_hot_spots(sheet: Sheet, assessment: Assessment, box: Box) -> None:
    """Draw front and side in a box (x, y, width, height) mm, with the worst joints of the stouter ranks named."""
    left, top, wide, high = box
    line = sampled(assessment.tree.chains, 1.0)
    size = float(np.ptp(line.points, axis=0).max()) + 1.0
    scale = min(wide / 2.0 - 6.0, high - 24.0) / size
    stout = np.flatnonzero(assessment.tree.ranks < TWIG)
    worst = stout[np.argsort(-assessment.ratios[stout], kind="stable")][:10]
    for view, (across, name) in enumerate(((0, "seen from -y"), (1, "seen from +x"))):
        middle = left + wide * (0.25 + 0.5 * view)
        sheet.ink(INK)
        sheet.words(middle, top + 4.0, name, 9.0, align="C")
        foot = top + 8.0 + float(line.points[:, 2].max()) * scale
        for row in np.argsort(assessment.ratios, kind="stable").tolist():
            rows = range(int(line.offsets[row]), int(line.offsets[row + 1]))
            shade = next(colour for limit, colour in _SHADES if assessment.ratios[row] < limit)
            points = [
                (middle + float(line.points[at, across]) * scale, foot - float(line.points[at, 2]) * scale)
                for at in rows
            ]
            if len(points) > 1:
                sheet.path(points, 0.25 + float(assessment.tree.start_diameters[row]) * scale, shade)
        sheet.ink(INK, 0.35)
        for row in worst.tolist():
            x, z = float(assessment.tree.starts[row, across]), float(assessment.tree.starts[row, 2])
            sheet.circle(middle + x * scale, foot - z * scale, 1.6, style="D")
            sheet.words(middle + x * scale + 2.2, foot - z * scale, str(assessment.tree.tags[row]), 9.0, bold=True)
    sheet.ink(INK)
    key = (
        "red over 0.9 of what is allowed, orange to 0.9, blue to 0.75, grey under 0.5; ringed: ten joints to see first"
    )
    sheet.fitted(left, foot + 12.0, key, 9.0, wide)
