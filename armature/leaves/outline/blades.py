"""Blade margins, drawn densely: the curves that arcs are then fitted to.

A blade lies in its own frame: x to the right, s from the base of the blade to its apex, mm. Each side runs from
base to apex on positive x; the left side is mirrored by the caller.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity
from shapely.geometry import Polygon

from armature.leaves.outline.forms import Form, half_width

Points = NDArray[np.float64]
STEP = 0.3


def blade(form: Form) -> Polygon:
    """Return the blade of any family as one dense polygon in (x, s), mm."""
    drawing = {"pinnate": _pinnate, "palmate": _palmate, "fan": _fan}[form.family](form)
    return drawing if drawing.is_valid else drawing.buffer(0)


def even(points: Points, step: float = STEP) -> Points:
    """Return the polyline resampled at an even spacing of about `step` mm, ends kept."""
    length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    at = np.linspace(0.0, length[-1], max(int(np.ceil(length[-1] / step)), 2) + 1)
    return np.stack([np.interp(at, length, points[:, k]) for k in (0, 1)], axis=1)


def side(form: Form, uneven: float = 0.0) -> Points:
    """Return one half's margin from base to apex, teeth and lobes included: (N, 2)."""
    u = (1 - np.cos(np.linspace(0, np.pi, 4001))) / 2
    t = u**2 * (3 - 2 * u)
    x = half_width(form, t) * (1 + uneven)
    s = t * form.length
    if form.lobes:
        x, s = _lobed(form, t, x, s)
    if form.cordate:
        # The base dips behind the stalk and comes back within the first third of the blade.
        dip = t / 0.07 * np.exp(1 - t / 0.07)
        s = s - form.cordate * form.length * dip
    margin = even(np.stack([x, s], axis=1))
    return toothed(margin, form.margin, int(form.teeth), form.tooth * form.length) if form.teeth else margin


def toothed(margin: Points, kind: str, count: int, depth: float) -> Points:
    """Return the margin with teeth raised outward from it: serrate (leaning to the apex), dentate or crenate."""
    margin = even(margin, STEP / 2)
    length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(margin, axis=0).T))])
    share = length / length[-1]
    low, high = 0.1, 0.985
    v = np.clip((share - low) / (high - low), 0, 1)
    phase = (v**0.92) * count
    part = phase - np.floor(phase)
    height = depth * np.sin(np.pi * np.clip(v, 0, 1)) ** 0.55 * _tooth(kind, part)
    along = np.gradient(margin, axis=0)
    along /= np.hypot(*along.T)[:, None]
    outward = np.stack([along[:, 1], -along[:, 0]], axis=1)
    lean = {"serrate": 0.75, "dentate": 0.1}.get(kind, 0.0)
    return np.asarray(margin + height[:, None] * (outward + lean * along))


def _tooth(kind: str, part: NDArray[np.float64]) -> NDArray[np.float64]:
    if kind == "serrate":
        return np.where(part < 0.82, (part / 0.82) ** 1.25, (1 - part) / 0.18)
    if kind == "dentate":
        return np.asarray((1 - np.abs(2 * part - 1)) ** 1.15)
    return np.asarray(np.sin(np.pi * part) ** 0.8)


def _lobed(form: Form, t: Points, x: Points, s: Points) -> tuple[Points, Points]:
    wave = 0.5 - 0.5 * np.cos(2 * np.pi * form.lobes * np.clip((t - 0.16) / 0.84, 0, 1) ** 0.92)
    wave = np.where(t < 0.16, 0.0, wave)
    crest = wave**0.75
    narrow = 1 - form.lobe * (1 - crest) * np.clip((t - 0.05) / 0.2, 0, 1)
    return x * narrow, s + form.sweep * x * (crest - 0.5) * narrow


def _pinnate(form: Form) -> Polygon:
    right, left = side(form, form.oblique), side(form, -form.oblique)
    left = left * [-1.0, 1.0]
    # Rounded, so that the last digits of another processor's sines cut no other vertices below.
    return Polygon(np.round(np.concatenate([right, left[-2:0:-1]]), 6))


LOBES = ((0.0, 1.0), (48.0, 0.88), (100.0, 0.58))


def lobe_axes(form: Form) -> list[tuple[float, float]]:
    """Return the main veins of a palmate blade: angle from the midrib in degrees (right positive), length in mm."""
    return [(sign * a, r * form.length) for a, r in LOBES for sign in ((1,) if a == 0 else (1, -1))]


def _palmate(form: Form) -> Polygon:
    parts = []
    for angle, length in lobe_axes(form):
        slim = Form(
            "lobe",
            "pinnate",
            length,
            2.5 / form.ratio,
            0,
            form.base,
            form.apex,
            margin=form.margin,
            teeth=form.teeth,
            tooth=form.tooth,
            oblique=form.oblique,
        )
        parts.append(affinity.rotate(_pinnate(slim), -angle, origin=(0, 0)))
    hand = shapely.union_all([part.buffer(0) for part in parts])
    fillet = 0.05 * form.length
    webbed = hand.buffer(fillet, quad_segs=32).buffer(-fillet, quad_segs=32)
    largest: Polygon = max(shapely.get_parts(webbed), key=lambda p: p.area)
    return largest


def _fan(form: Form) -> Polygon:
    half = np.arcsin(min(form.width / 2 / form.length, 0.95))
    angle = np.linspace(-half, half, 2001)
    share = angle / half
    ripple = 1 + 0.012 * np.cos(9 * np.pi * share) - 0.05 * np.abs(share) ** 2.2
    notch = form.lobe * np.exp(-(((share + form.oblique) / 0.05) ** 2)) * (1 - np.abs(share))
    r = form.length * ripple * (1 - notch)
    rim = np.stack([r * np.sin(angle), r * np.cos(angle)], axis=1)
    corner = rim[-1]
    t = np.linspace(0, 1, 400)[:, None]
    pull = np.array([0.10 * form.width, 0.52 * form.length])
    flank = 2 * t * (1 - t) * pull + t**2 * corner
    ring = np.concatenate([flank * [-1, 1], rim[1:-1], flank[:0:-1]])
    sharp = Polygon(np.round(even(ring, STEP), 6))
    soft = 0.03 * form.length
    return sharp.buffer(-soft, quad_segs=32).buffer(2 * soft, quad_segs=32).buffer(-soft, quad_segs=32)
