"""Vein lines for chasing: single arcs, so that a liner chisel can follow them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from armature.leaves.outline.blades import lobe_axes
from armature.leaves.outline.forms import Form, half_width

SPACING = 13.0


def veins(form: Form, start: float) -> list[NDArray[np.float64]]:
    """Return veins as triples of points on an arc (3, 2) in (x, s), s from the base of the blade, mm.

    start: s at which the midrib begins, negative on the stalk. The midrib comes first.
    """
    drawing = {"pinnate": _pinnate, "palmate": _palmate, "fan": _fan}[form.family]
    return drawing(form, start)


def _midrib(form: Form, start: float) -> NDArray[np.float64]:
    end = 0.95 * form.length
    return np.array([[0.0, start], [0.0, (start + end) / 2], [0.0, end]])


def _pinnate(form: Form, start: float) -> list[NDArray[np.float64]]:
    veins = [_midrib(form, start)]
    # A chasing tool needs about a centimetre between two lines, and a name needs some room.
    most = max(int(0.6 * form.length / SPACING), 2)
    pairs = int(form.lobes or min(form.pairs, most))
    low, high = (0.2, 0.7) if form.lobes else (0.08 if form.base < 0.6 else 0.14, 0.70)
    step = (high - low) / max(pairs - 0.5, 1)
    for side in (1, -1):
        for k in range(pairs):
            # Low veins of a blade leave more openly than those near the apex.
            t0 = low + step * (k + (form.alternate if side < 0 else 0.0))
            rise = np.deg2rad(form.rise * (1.12 - 0.3 * t0))
            veins.append(_side_vein(form, t0, rise, side))
    return veins


def _side_vein(form: Form, t0: float, rise: float, side: int) -> NDArray[np.float64]:
    """From the midrib outward at `rise` radians, curving up to end at nine tenths of the way to the margin."""
    s0 = t0 * form.length
    reach = np.linspace(0.0, form.width, 400)[1:]
    s = s0 + reach / np.tan(rise) * (1 + 0.35 * reach / form.width)
    inside = reach < 0.9 * half_width(form, s / form.length)
    last = int(np.argmin(inside)) if not inside.all() else len(inside) - 1
    x, y = reach[: last + 1], s[: last + 1]
    middle = len(x) // 2
    return np.array([[0.0, s0], [side * x[middle], y[middle]], [side * x[-1], y[-1]]])


def _palmate(form: Form, start: float) -> list[NDArray[np.float64]]:
    veins = [_midrib(form, start)]
    for angle, length in lobe_axes(form):
        a = np.deg2rad(angle)
        along, across = np.array([np.sin(a), np.cos(a)]), np.array([np.cos(a), -np.sin(a)])
        if angle:
            veins.append(np.array([0 * along, 0.46 * length * along, 0.92 * length * along]))
        for side in (1, -1):
            for t in (0.4, 0.58):
                tip = along * (t + 0.17) + across * side * 0.15
                mid = along * (t + 0.075) + across * side * 0.08
                veins.append(length * np.array([along * t, mid, tip]))
    return veins


def _fan(form: Form, start: float) -> list[NDArray[np.float64]]:
    half = np.arcsin(min(form.width / 2 / form.length, 0.95))
    veins = []
    for share in (-0.86, -0.66, -0.47, -0.29, -0.12, 0.12, 0.29, 0.47, 0.66, 0.86):
        angle = share * half
        end = 0.93 * form.length * np.array([np.sin(angle), np.cos(angle)])
        first = np.array([0.02 * share * form.width, 0.06 * form.length])
        pull = np.array([-0.035 * share * form.width, 0.02 * form.length])
        veins.append(np.array([first, (first + end) / 2 + pull, end]))
    return veins
