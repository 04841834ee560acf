"""Side shoots: where on its parent each leaves, which way, and how long, drawn from its own tag.

Places are drawn evenly over the part of the parent that bears, which by itself gives the gaps of living shoots: their
standard deviation is (n - 1) / (n + 1) of their mean squared. Lengths follow a log-normal law: many spurs, few long
shoots. The lean is drawn as asked; of a few ways round the parent the one is taken that has most light: inside the
crown, away from other wood, and on the upper side as the habit favours it.

Size letters: B buds, K ways tried, Q queries.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from armature.grow.envelope import Envelope
from armature.seeds import keys, normal, uniform
from armature.tree import Floats, Ints, Strings, Tree, locate, row_norms

_UP = np.array([0.0, 0.0, 1.0])
_SIDES, _WAVES = 8, 2
_SAMPLES = np.array([0.4, 0.7, 0.85, 1.0])
# What a side of the parent is worth: to keep its length, to be in the open, to lead outward.
_ROOM, _OPEN, _OUT = 4.0, 0.9, 0.35
# How a shoot turns toward what is worth more: steps, radians a step at a usual slope, and the slope that slows it.
_STEPS, _TURN, _SLACK = 12, 0.25, 0.5
# By how much more of a turn, and of a deviation of its lean, each further way strays from the first.
_ASTRAY = 0.2
# A shoot is never longer than this share of what bears it.
LONGEST = 0.72


@dataclass(frozen=True, eq=False)
class Sprouting:
    """How the shoots of one rank run: the lean asked and its deviation (deg), turn and upper side by habit, wind and
    layers; neighbours: a search tree of points of other wood, or None; leans: (least, most) drawn, deg."""

    lean: float
    lean_sd: float
    turn: float
    upper: float
    wind: float
    flatten: float
    leans: tuple[float, float]
    neighbours: cKDTree | None


@dataclass(frozen=True, eq=False)
class Ways:
    """Where B shoots end and lean: targets (B, 3) mm, leans (B,) deg."""

    targets: Floats
    leans: Floats


def bell_within(low: float, high: float, mean: float, sd: float, luck: Floats) -> Floats:
    """Return draws (Q,) of a bell curve of the asked mean and deviation, from luck (Q,) of a normal law, bent so that
    they stay within low and high and keep both as near as they can.

    Draws past a limit are folded back from it: clipped they would pile up there.
    """
    values = mean + sd * luck
    span = high - low
    folded = np.mod(values - low, 2.0 * span)
    return np.asarray(low + np.where(folded > span, 2.0 * span - folded, folded))


def lengths_of(tree: Tree, parents: Ints, tags: Strings, share: float, sd: float, place: float, seed: int) -> Floats:
    """Return how long shoots want to be, (B,) mm, before room decides."""
    from armature.grow.deals import drawn_lengths

    where = places(seed, tags)
    lengths = share * tree.lengths[parents] * np.exp(sd * drawn_lengths(seed, tags) - place * (where - 0.5))
    return np.asarray(np.minimum(lengths, LONGEST * tree.lengths[parents]))


def places(seed: int, tags: Strings) -> Floats:
    """Return where on the bearing part of its parent each tag sits, 0 to 1: (B,)."""
    return np.asarray(uniform(keys(seed, tags, "place"), 1)[:, 0])


def bare_starts(seed: int, tags: Strings, bare: float) -> Floats:
    """Return the share of each parent (Q,) before its first shoot can sit: log-normal about `bare`."""
    luck = normal(keys(seed, tags, "bare"), 1)[:, 0]
    return np.asarray(np.clip(bare * np.exp(0.55 * luck), 0.02, 0.45))


def ways(
    tree: Tree,
    canopy: Envelope,
    sprouting: Sprouting,
    seed: int,
    tags: Strings,
    parents: Ints,
    stations: Floats,
    lengths: Floats,
    least: Floats,
    attempt: int,
) -> Ways:
    """Return the way each shoot takes from its station, at an attempt (0 the first), and never shorter than
    `least` (B,) mm."""
    own, key = keys(seed, tags, "way 0"), keys(seed, tags, f"way {attempt}")
    # What looks again looks near the way that it was drawn first, and only bit by bit farther from it.
    bell = normal(own, 1)[:, 0] + _ASTRAY * attempt * normal(key, 1)[:, 0]
    side = uniform(own, 1, 40)[:, 0] + _ASTRAY * attempt * (uniform(key, 1, 40)[:, 0] - 0.5)
    leans = bell_within(*sprouting.leans, sprouting.lean, sprouting.lean_sd, bell)
    origins, tangents, _ = locate(tree.chains, parents, stations)
    stem = Stems(origins, tangents, *_square(tangents), np.radians(leans), lengths)
    clocks = np.broadcast_to(2.0 * np.pi * np.arange(_SIDES) / _SIDES, (len(tags), _SIDES))
    chords, upward = _chords(stem, clocks, canopy, sprouting)
    worth = _ROOM * np.minimum(_room(canopy, origins, chords, lengths), 1.0) + sprouting.upper * upward
    worth += _OUT * _outward(origins, chords) + _OPEN * _open(sprouting, origins, chords, lengths)
    # In a crowd all that turn to the light stand in each other's: what looks again turns less.
    turned = _turned_to_light(worth, 2.0 * np.pi * side, 1.0 / (1.0 + _ASTRAY * attempt))
    chords, _ = _chords(stem, turned[:, None], canopy, sprouting)
    room = _room(canopy, origins, chords, lengths)[:, 0]
    # What lies inside the parent is no part of the shoot.
    inside = tree.diameters_at(parents, stations) / 2.0 / np.sin(np.clip(np.radians(leans), 0.5, np.pi / 2.0))
    reach = np.maximum(lengths * np.clip(room, 0.25, 1.0), least) + inside
    return Ways(origins + reach[:, None] * chords[:, 0], leans)


@dataclass(frozen=True, eq=False)
class Stems:
    """Where B shoots leave: origins (B, 3) mm, the parent's direction and two square to it (B, 3), leans (B,) rad,
    lengths (B,) mm."""

    origins: Floats
    tangents: Floats
    x: Floats
    y: Floats
    leans: Floats
    lengths: Floats


def _chords(stem: Stems, clocks: Floats, canopy: Envelope, sprouting: Sprouting) -> tuple[Floats, Floats]:
    """Return the chords (B, K, 3) of shoots at clocks (B, K) rad round their parents, and how far up each side is
    (B, K)."""
    around = np.cos(clocks)[:, :, None] * stem.x[:, None] + np.sin(clocks)[:, :, None] * stem.y[:, None]
    if canopy.form.flat:
        around[:, :, 1] *= 0.35
        around /= np.maximum(np.sqrt(np.sum(around**2, axis=2, keepdims=True)), 1e-9)
    lean = stem.leans[:, None, None]
    return _turned(np.cos(lean) * stem.tangents[:, None] + np.sin(lean) * around, sprouting), around[:, :, 2]


def _turned_to_light(worth: Floats, clocks: Floats, share: float) -> Floats:
    """Return the clocks (B,) rad of shoots that started at clocks (B,) and turned toward what is worth more.

    worth: (B, K) at K sides evenly round; between them it is taken as its first waves. share: of the usual turn.
    """
    waves = np.arange(1, _WAVES + 1)
    parts = np.fft.rfft(worth, axis=1)[:, 1 : _WAVES + 1] / worth.shape[1]
    steepest = np.sqrt(2.0 * np.sum(np.abs(waves * parts) ** 2, axis=1))
    rate = share * _TURN / (_SLACK + steepest)
    for _ in range(_STEPS):
        slope = 2.0 * np.sum((1j * waves * parts * np.exp(1j * waves * clocks[:, None])).real, axis=1)
        clocks = clocks + rate * slope
    return clocks


def _square(tangents: Floats) -> tuple[Floats, Floats]:
    """Return two unit directions (Q, 3) square to each tangent: the upper side and what lies beside it."""
    up = _UP - tangents * tangents[:, 2:]
    size = row_norms(up)
    # An upright parent has no upper side: east stands in, blended so that nothing jumps.
    east = np.array([1.0, 0.0, 0.0]) - tangents * tangents[:, :1]
    x = up + np.maximum(0.15 - size, 0.0)[:, None] * east
    x /= np.maximum(row_norms(x), 1e-9)[:, None]
    return x, np.cross(tangents, x)


def _turned(axes: Floats, sprouting: Sprouting) -> Floats:
    """Return the chords (B, K, 3) of shoots that leave along axes (B, K, 3): turned up, into layers, with the wind."""
    chords = axes.copy()
    chords[:, :, 2] = chords[:, :, 2] * (1.0 - sprouting.flatten) + sprouting.turn
    chords[:, :, 0] += sprouting.wind
    return np.asarray(chords / np.maximum(np.sqrt(np.sum(chords**2, axis=2, keepdims=True)), 1e-9))


def _room(canopy: Envelope, origins: Floats, chords: Floats, lengths: Floats) -> Floats:
    """Return the share (B, K) of its length that each way keeps inside the crown and out of keep-outs."""
    count, ways_tried, _ = chords.shape
    share = np.ones((count, ways_tried))
    before = np.zeros((count, ways_tried))
    open_to = np.ones((count, ways_tried), dtype=bool)
    last = 0.0
    for part in _SAMPLES:
        points = origins[:, None] + (part * lengths)[:, None, None] * chords
        cover = canopy.cover(points.reshape(-1, 3)).reshape(count, ways_tried) - 12.0
        if len(canopy.free_boxes):
            free = canopy.free_of_boxes(points.reshape(-1, 3), 12.0).reshape(count, ways_tried)
            cover = np.where(free, cover, -1e3)
        out = open_to & (cover < 0.0)
        crossing = np.where(before > 0.0, before / np.maximum(before - cover, 1e-9), 0.0)
        share = np.where(out, last + (part - last) * crossing, share)
        open_to &= ~out
        before, last = np.maximum(cover, 0.0), part
    return share


def _outward(origins: Floats, chords: Floats) -> Floats:
    flat = origins.copy()
    flat[:, 2] *= 0.15
    flat /= np.maximum(row_norms(flat), 1.0)[:, None]
    return np.asarray(np.einsum("bki,bi->bk", chords, flat))


def _open(sprouting: Sprouting, origins: Floats, chords: Floats, lengths: Floats) -> Floats:
    """Return how far from other wood each way ends, over its length, 0 to 1: (B, K)."""
    if sprouting.neighbours is None:
        return np.zeros(chords.shape[:2])
    points = origins[:, None] + lengths[:, None, None] * chords
    away = np.asarray(sprouting.neighbours.query(points.reshape(-1, 3))[0])
    return np.asarray(np.minimum(away.reshape(chords.shape[:2]) / np.maximum(lengths, 1.0)[:, None], 1.0))
