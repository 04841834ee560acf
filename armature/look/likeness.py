"""What repeats: halves that mirror, sides that turn into each other, members alike.

The crown's map holds the length of wood in boxes about the upright through the foot: A azimuths, H heights, R rings.
"""

from __future__ import annotations

import numpy as np
from scipy.spatial import cKDTree

from armature.look.figures import Reading, nothing
from armature.look.skeleton import Skeleton
from armature.tree import Floats, Ints, row_norms

AZIMUTHS, HEIGHTS, RINGS = 24, 8, 4
_FOLDS = (2, 3, 4, 5, 6, 8)
_AXIS = 0.03
# Shapes no farther apart than this, in the measure of `_shapes`, are alike.
_ALIKE, _MOST_MATES = 0.004, 2000


def crown_map(skeleton: Skeleton) -> Floats:
    """Return the length of wood by azimuth, height and ring about the upright through the foot: (24, 8, 4) mm.

    Only what lies off the axis by more than 3 % of the height: the trunk has no side.
    """
    out = skeleton.middles - skeleton.foot
    away = np.hypot(out[:, 0], out[:, 1])
    crown = away > _AXIS * skeleton.height
    if not crown.any():
        return np.zeros((AZIMUTHS, HEIGHTS, RINGS))
    out, away, spans = out[crown], away[crown], skeleton.spans[crown]
    low, top = out[:, 2].min(), out[:, 2].max()
    turn = np.arctan2(out[:, 1], out[:, 0]) / (2.0 * np.pi) % 1.0
    level = (out[:, 2] - low) / max(top - low, 1e-9)
    ring = away / max(float(away.max()), 1e-9)
    filled: Floats = np.histogramdd(
        np.stack([turn, level, ring], axis=1),
        bins=(AZIMUTHS, HEIGHTS, RINGS),
        range=((0.0, 1.0), (0.0, 1.0 + 1e-9), (0.0, 1.0 + 1e-9)),
        weights=spans,
    )[0]
    return filled


def mirror_strongest(skeleton: Skeleton, around: Floats) -> Reading:
    """Return the highest correlation of the crown's map with its own mirror image, over 24 upright planes through the
    foot.

    The correlation is taken about the mean of each height and ring, so that a round crown is not called a mirror.
    """
    flat = _freed(around)
    if flat is None or len(skeleton) < 12:
        return nothing(len(skeleton))
    at = np.arange(AZIMUTHS)
    # Reflecting in the plane at half of s bins takes bin i to bin s - 1 - i.
    likenesses = np.array([_likeness(flat, flat[(s - 1 - at) % AZIMUTHS]) for s in range(AZIMUTHS)])
    best = int(likenesses.argmax())
    plane = best / 2.0 * 360.0 / AZIMUTHS
    return Reading(float(likenesses[best]), len(skeleton), high_rows=_on_left(skeleton, plane), azimuth=plane % 360.0)


def turn_strongest(skeleton: Skeleton, around: Floats) -> Reading:
    """Return the highest correlation of the crown's map with itself turned by a half, a third, ... an eighth."""
    flat = _freed(around)
    if flat is None or len(skeleton) < 12:
        return nothing(len(skeleton))
    likenesses = [_turned_likeness(flat, fold) for fold in _FOLDS]
    fold = _FOLDS[int(np.argmax(likenesses))]
    out = skeleton.tips - skeleton.foot
    first = np.degrees(np.arctan2(out[:, 1], out[:, 0])) % 360.0 >= 360.0 / fold
    return Reading(float(max(likenesses)), len(skeleton), high_rows=np.flatnonzero(first & (skeleton.parents >= 0)))


def side_maps(skeleton: Skeleton, azimuths: Floats, cells: int = 16) -> Floats:
    """Return maps of member length in side views from the azimuths (K,) deg: (K, cells, cells), columns left to right
    of the foot.

    Only what lies off the axis by more than 3 % of the height: on the border of the two halves the trunk would fall to
    either by a hair.
    """
    out = skeleton.middles - skeleton.foot
    wood = np.hypot(out[:, 0], out[:, 1]) > _AXIS * skeleton.height
    if not wood.any():
        return np.zeros((len(azimuths), cells, cells))
    out, spans = out[wood], skeleton.spans[wood]
    top = max(float(np.ptp(out[:, 2])), 1e-9)
    row = np.clip(((out[:, 2] - out[:, 2].min()) / top * cells).astype(np.int64), 0, cells - 1)
    maps = np.zeros((len(azimuths), cells, cells))
    for number, azimuth in enumerate(np.radians(azimuths)):
        across = out[:, 1] * np.cos(azimuth) - out[:, 0] * np.sin(azimuth)
        half = max(float(np.abs(across).max()), 1e-9)
        column = np.clip(((across / half + 1.0) / 2.0 * cells).astype(np.int64), 0, cells - 1)
        flat = np.bincount(row * cells + column, weights=spans, minlength=cells * cells)
        maps[number] = flat.reshape(cells, cells)
    return maps


def mirror_mean(skeleton: Skeleton, maps: Floats, azimuths: Floats) -> Reading:
    """Return the mean correlation of the left half of the side maps (K, C, C), seen from azimuths (K,) deg, with the
    right half folded over."""
    half = maps.shape[2] // 2
    left, right = maps[:, :, :half].reshape(len(maps), -1), maps[:, :, : half - 1 : -1].reshape(len(maps), -1)
    left, right = left - left.mean(axis=1, keepdims=True), right - right.mean(axis=1, keepdims=True)
    scale = row_norms(left) * row_norms(right)
    alike = np.einsum("ij,ij->i", left, right) / np.maximum(scale, 1e-12)
    best = int(alike.argmax())
    azimuth = float(azimuths[best])
    return Reading(float(alike.mean()), len(skeleton), high_rows=_on_left(skeleton, azimuth), azimuth=azimuth)


def twins(skeleton: Skeleton) -> Reading:
    """Return the share of bent members, in per cent, that are alike another after some rotation or reflection.

    Alike: as long to 0.4 %, and off their own chord by the same at five stations, to 0.3 % of the length. Members that
    run nearly straight (path under 1.004 of the chord) are alike by nature and left out.
    """
    chords = np.maximum(row_norms(skeleton.tips - skeleton.starts), 1e-9)
    rows = np.flatnonzero((skeleton.lengths > 1.004 * chords) & (skeleton.lengths > 0.01 * skeleton.height))
    rows = rows[np.diff(skeleton.offsets)[rows] > 2]
    if len(rows) < 6:
        return nothing(len(rows))
    shape = _shapes(skeleton, rows)
    finder = cKDTree(shape)
    away = np.asarray(finder.query(shape, k=2, p=np.inf, distance_upper_bound=_ALIKE)[0])
    alike = np.flatnonzero(away[:, 1] <= _ALIKE)
    # Of very many alike, the pairs are without number: each counts those of its like among some of them.
    others = cKDTree(shape[alike[:: len(alike) // _MOST_MATES + 1]]) if len(alike) else finder
    mates = others.query_ball_point(shape[alike], _ALIKE, p=np.inf, return_length=True)
    return Reading(100.0 * len(alike) / len(rows), len(rows), high_rows=rows[alike[np.argsort(-mates, kind="stable")]])


def _shapes(skeleton: Skeleton, rows: Ints) -> Floats:
    """Return, for each member, its offsets from its chord at five stations over its length, and its log length: (K,
    11).

    The offsets are complex numbers about the chord, turned so that they mostly lie along the real axis, and reflected
    so that neither the turn nor the hand of the member matters.
    """
    lengths = skeleton.lengths[rows]
    shares = np.linspace(0.0, 1.0, 7)
    at = skeleton.located(np.repeat(rows, 7), np.outer(lengths, shares).ravel())[0].reshape(-1, 7, 3)
    at = (at - at[:, :1]) / lengths[:, None, None]
    chord = at[:, -1] / np.maximum(row_norms(at[:, -1]), 1e-12)[:, None]
    least = np.eye(3)[np.abs(chord).argmin(axis=1)]
    one = np.cross(chord, least)
    one /= np.maximum(row_norms(one), 1e-12)[:, None]
    two = np.cross(chord, one)
    off = np.einsum("kij,kj->ki", at[:, 1:-1], one) + 1j * np.einsum("kij,kj->ki", at[:, 1:-1], two)
    off *= np.exp(-0.5j * np.angle((off * off).sum(axis=1)))[:, None]
    tilt = np.arange(1.0, 6.0)
    off *= np.where((off.real @ tilt) < 0.0, -1.0, 1.0)[:, None]
    off = np.where(((off.imag @ tilt**2) < 0.0)[:, None], off.conj(), off)
    # A length within 0.4 % and an offset within 0.3 % of the length: one tolerance for both.
    scale = np.array([*[4.0 / 3.0] * 10, 1.0])
    return np.asarray(np.column_stack([off.real, off.imag, np.log(lengths)]) * scale)


def _freed(around: Floats) -> Floats | None:
    """Return the map in shares of its height and ring, less their mean over the azimuths; weights kept by the root."""
    weight = around.sum(axis=0, keepdims=True)
    if weight.sum() <= 0.0:
        return None
    # Neighbouring boxes are shared, so that a hair's breadth across a border does not hide a likeness.
    soft = around / 2.0 + (np.roll(around, 1, axis=0) + np.roll(around, -1, axis=0)) / 4.0
    return np.asarray((soft - soft.mean(axis=0, keepdims=True)) / np.sqrt(np.maximum(weight, 1e-9)))


def _likeness(one: Floats, other: Floats) -> float:
    scale = float(np.sqrt((one * one).sum() * (other * other).sum()))
    return float((one * other).sum()) / scale if scale > 1e-12 else 1.0


def _turned_likeness(flat: Floats, fold: int) -> float:
    shift = AZIMUTHS / fold
    low = int(np.floor(shift))
    share = shift - low
    turned = (1.0 - share) * np.roll(flat, low, axis=0) + share * np.roll(flat, low + 1, axis=0)
    return _likeness(flat, turned)


def _on_left(skeleton: Skeleton, azimuth: float) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    turn = np.radians(azimuth)
    out = skeleton.tips - skeleton.foot
    across = out[:, 1] * np.cos(turn) - out[:, 0] * np.sin(turn)
    return np.flatnonzero((across > 0.0) & (skeleton.parents >= 0))
