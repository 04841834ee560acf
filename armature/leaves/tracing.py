"""A drawing on paper, or a real leaf, on a marked sheet: traced to an outline with veins, smooth and in true size."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from armature.edge import FileError
from armature.marks import Flat, MarkedSheet, flattened, grey, marked_sheet, read_photo

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
# Share of what an outline encloses that is dark on a filled leaf; less is a line drawing.
_FILLED = 0.5
# Smoothing (Taubin, Computer Graphics Proceedings 1995, from memory): steps in and out, so that nothing shrinks.
_IN, _OUT, _TURNS = 0.5, -0.53, 14
_STEP = 0.5
_LEAST_VEIN = 8.0


@dataclass(frozen=True, eq=False)
class Traced:
    """What was traced: outline (N, 2) mm, closed, x to the right and y up, its top at y = 0; veins as (M, 2) mm lines;
    drawn: whether it was a line drawing; line: its stroke, mm; error: mm, of the sheet's markers."""

    outline: Floats
    veins: tuple[Floats, ...]
    drawn: bool
    line: float
    error: float


def trace(path: Path, paper: str = "A4") -> Traced:
    """Return the outline of what lies, apex toward the lower edge, between the markers of a photographed sheet.

    paper: A4 or Letter. Raises FileError where markers are not seen, or nothing or more than one thing lies on it.
    """
    sheet = marked_sheet(paper)
    flat = flattened(read_photo(path), sheet, path)
    dark, offset = _dark(flat, sheet)
    body, share = _body(dark, path)
    drawn = share < _FILLED
    line = _stroke(dark, body) / flat.scale if drawn else 0.0
    ring = _ring(body, flat.scale)
    if drawn:
        ring = _moved_in(ring, line / 2.0)
    veins = _veins(flat, dark, body, offset, drawn)
    middle = np.array([ring[:, 0].mean(), ring[:, 1].min()])

    def upright(points: Floats) -> Floats:
        return np.asarray((points - middle) * [1.0, -1.0])

    return Traced(upright(ring), tuple(upright(vein) for vein in veins), drawn, line, flat.error)


def _dark(flat: Flat, sheet: MarkedSheet) -> tuple[Bools, Floats]:
    """What is darker than the paper between the markers, uneven light taken off, and where that cutting begins."""
    import cv2

    left, top, right, low = (round(v * flat.scale) for v in sheet.inside)
    part = flat.picture[top:low, left:right]
    # A green leaf is dark in its darkest colour, a pencil line in all three.
    shade = np.minimum(part.min(axis=2), grey(part)).astype(np.uint8)
    paper = cv2.morphologyEx(cv2.resize(shade, None, fx=0.125, fy=0.125, interpolation=cv2.INTER_AREA),
                             cv2.MORPH_CLOSE, np.ones((25, 25), np.uint8))  # fmt: skip
    light = cv2.GaussianBlur(paper, (0, 0), 9)
    light = cv2.resize(light, (shade.shape[1], shade.shape[0]), interpolation=cv2.INTER_LINEAR)
    level = np.percentile(shade, 98)
    even = np.clip(shade * 255.0 / np.maximum(np.maximum(light, 0.6 * level), 1.0), 0, 255).astype(np.uint8)
    limit, _ = cv2.threshold(cv2.GaussianBlur(even, (0, 0), 1.2), 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    dark = cv2.GaussianBlur(even, (0, 0), 1.2) < min(limit, 215)
    return np.asarray(dark), np.array([left, top], dtype=np.float64)


def _body(dark: Bools, path: Path) -> tuple[Bools, float]:
    """The largest thing, its inside filled, and the share of it that is dark."""
    import cv2

    closed = cv2.morphologyEx(dark.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((5, 5), np.uint8))
    outlines, _ = cv2.findContours(closed, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    large = sorted(outlines, key=cv2.contourArea, reverse=True)
    if not large or cv2.contourArea(large[0]) < 0.01 * dark.size:
        raise FileError(path, "shows nothing between the markers that closes to an outline")
    if len(large) > 1 and cv2.contourArea(large[1]) > 0.25 * cv2.contourArea(large[0]):
        raise FileError(path, "shows more than one thing between the markers: one leaf to a photograph")
    body = np.zeros(dark.shape, dtype=np.uint8)
    cv2.drawContours(body, [large[0]], -1, 1, cv2.FILLED)
    edge = np.concatenate([body[0], body[-1], body[:, 0], body[:, -1]])
    if edge.any():
        raise FileError(path, "shows a leaf that runs out of the room between the markers")
    filled = body.astype(bool)
    return filled, float((dark & filled).sum() / filled.sum())


def _stroke(dark: Bools, body: Bools) -> float:
    """Width of the outline's stroke, pixels: how far one goes in from outside before it is paper again."""
    import cv2

    deep = cv2.distanceTransform(body.astype(np.uint8), cv2.DIST_L2, 5)
    widths = []
    for k in range(24):
        band = (deep > k) & (deep <= k + 1)
        widths.append(float((dark & band).sum() / max(int(band.sum()), 1)))
    end = next((k for k, share in enumerate(widths) if share < 0.35), len(widths))
    return float(sum(widths[:end]))


def _ring(body: Bools, scale: float) -> Floats:
    """The edge of a body, evenly stepped and smoothed, mm from the cutting's corner."""
    import cv2

    soft = cv2.GaussianBlur(body.astype(np.float32), (0, 0), 1.5)
    outlines, _ = cv2.findContours((soft > 0.5).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    edge = max(outlines, key=cv2.contourArea).reshape(-1, 2).astype(np.float64)
    # The outline of pixels runs through their middles, half a pixel inside the edge.
    ring = _moved_in(_even((edge + 0.5) / scale, _STEP), -0.5 / scale)
    for _ in range(_TURNS):
        for share in (_IN, _OUT):
            ring = ring + share * ((np.roll(ring, 1, axis=0) + np.roll(ring, -1, axis=0)) / 2 - ring)
    return ring


def _even(ring: Floats, step: float) -> Floats:
    closed = np.concatenate([ring, ring[:1]])
    at = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    wanted = np.linspace(0.0, at[-1], max(int(at[-1] / step), 12), endpoint=False)
    return np.stack([np.interp(wanted, at, closed[:, k]) for k in (0, 1)], axis=1)


def _moved_in(ring: Floats, inward: float) -> Floats:
    from shapely.geometry import Polygon
    from shapely.geometry.polygon import orient

    shape = Polygon(ring).buffer(0).buffer(-inward, quad_segs=16)
    whole = max(getattr(shape, "geoms", [shape]), key=lambda s: s.area)
    return _even(np.asarray(orient(whole).exterior.coords)[:-1, :2], _STEP)


def _veins(flat: Flat, dark: Bools, body: Bools, offset: Floats, drawn: bool) -> list[Floats]:
    """Lines inside a body: strokes of a drawing, or the ridges of a real leaf, as smooth lines in mm."""
    import cv2

    inside = cv2.erode(body.astype(np.uint8), np.ones((5, 5), np.uint8), iterations=round(flat.scale * 0.8)).astype(
        bool
    )
    if drawn:
        lines = dark & inside
    else:
        x, y = (int(v) for v in offset)
        part = grey(flat.picture[y : y + body.shape[0], x : x + body.shape[1]])
        wide = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (13, 13))
        ridge = np.maximum(
            cv2.morphologyEx(part, cv2.MORPH_TOPHAT, wide), cv2.morphologyEx(part, cv2.MORPH_BLACKHAT, wide)
        )
        strength = cv2.GaussianBlur(ridge, (0, 0), 1.5)
        lines = (strength > max(float(np.percentile(strength[inside], 90)), 8.0)) & inside if inside.any() else inside
    return _lines(
        cv2.morphologyEx(lines.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8)).astype(bool), flat.scale
    )


def _lines(mask: Bools, scale: float) -> list[Floats]:
    """Middles of strokes as lines, cut at forks, short ones left out, mm."""
    thin = thinned(mask)
    spots = {(int(y), int(x)) for y, x in np.argwhere(thin)}

    def near(spot: tuple[int, int]) -> list[tuple[int, int]]:
        y, x = spot
        return [(y + a, x + b) for a in (-1, 0, 1) for b in (-1, 0, 1) if (a or b) and (y + a, x + b) in spots]

    forks = {spot for spot in spots if len(near(spot)) > 2}
    left = spots - forks
    lines = []
    while left:
        seed = min(left)
        run = [seed]
        left.discard(seed)
        for forward in (True, False):
            while steps := [s for s in near(run[-1] if forward else run[0]) if s in left]:
                step = min(steps)
                left.discard(step)
                run.insert(len(run) if forward else 0, step)
        line = (np.array(run, dtype=np.float64)[:, ::-1] + 0.5) / scale
        if len(line) > 2 and float(np.hypot(*np.diff(line, axis=0).T).sum()) >= _LEAST_VEIN:
            lines.append(_smooth(line))
    return lines


def _smooth(line: Floats) -> Floats:
    """A line of pixels as few points on a smooth curve, its ends kept."""
    count = max(len(line) // 12, 2)
    t = np.linspace(0.0, 1.0, len(line))
    base = np.stack([t**k for k in range(min(5, count + 1))], axis=1)
    fit, *_ = np.linalg.lstsq(base, line, rcond=None)
    u = np.linspace(0.0, 1.0, 13)
    return np.asarray(np.stack([u**k for k in range(base.shape[1])], axis=1) @ fit)


def thinned(mask: Bools) -> Bools:
    """Return the middles of strokes, one pixel wide.

    Zhang and Suen, Communications of the ACM 27, 1984 (from memory).
    """
    image = np.pad(mask, 1).astype(np.uint8)
    while True:
        gone = 0
        for phase in (0, 1):
            n = [np.roll(np.roll(image, dy, 0), dx, 1) for dy, dx in
                 ((1, 0), (1, -1), (0, -1), (-1, -1), (-1, 0), (-1, 1), (0, 1), (1, 1))]  # fmt: skip
            count = sum(v.astype(int) for v in n)
            turns = sum(((n[k] == 0) & (n[(k + 1) % 8] == 1)).astype(int) for k in range(8))
            a, b = ((0, 2, 4), (2, 4, 6)) if phase == 0 else ((0, 2, 6), (0, 4, 6))
            off = (image == 1) & (count >= 2) & (count <= 6) & (turns == 1)
            for three in (a, b):
                off &= (n[three[0]] * n[three[1]] * n[three[2]]) == 0
            gone += int(off.sum())
            image[off] = 0
        if not gone:
            return np.asarray(image[1:-1, 1:-1] == 1)


def traced_svg(traced: Traced) -> str:
    """Return the drawing that `leaves.outline.files` reads: mm, apex down, the outline and its veins in groups."""
    low = np.min(traced.outline, axis=0) - 2.0
    high = np.max(traced.outline, axis=0) + 2.0
    wide, tall = (float(v) for v in high - low)

    def points(line: Any) -> str:
        return " ".join(f"{x - low[0]:.3f},{high[1] - y:.3f}" for x, y in np.asarray(line).tolist())

    veins = "\n".join(f'<polyline points="{points(vein)}"/>' for vein in traced.veins)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.3f}mm" height="{tall:.3f}mm" '
        f'viewBox="0 0 {wide:.3f} {tall:.3f}">\n<g fill="none" stroke="#000" stroke-width="0.3">\n'
        f'<polygon id="outline" points="{points(traced.outline)}"/>\n<g id="veins">\n{veins}\n</g>\n</g>\n</svg>\n'
    )
