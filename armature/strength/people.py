"""People on the tree: how far up they get, how many pull at once, and a limb rocked in its own rhythm.

Size letters: M members, N nodes. N, mm, Hz.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.strength.conditions import Conditions
from armature.strength.frame import Frame
from armature.strength.resistance import Resistance
from armature.strength.sways import Sways
from armature.tree import BRANCH, LIMB, Floats, Ints

# A foot finds a hold on what is as thick as a broom handle and not steeper than this; common practice, no source.
HOLD_MM, STEEP_DEG, STEP_UP_MM = 30.0, 60.0, 1000.0
# A person's push in rhythm, as an amplitude: 250 N to 2.5 Hz, nothing from 5 Hz on, by a hand that moves no more than
# 150 mm either way, for 20 swings. ISO 10137 annex A has bouncing and swaying within the same 1 to 3.5 Hz, from memory;
# the force and the stroke are common practice, no source.
PUSH_N, SLOW_HZ, FAST_HZ, STROKE_MM, SWINGS = 250.0, 2.5, 5.0, 150.0, 20.0


def crowd_share(persons: int) -> float:
    """Return the pull of some persons over that of one: n m_n (1 + 1 / n) by EN 1176-1 annex A, from memory.

    Mass n 53.8 + 1.64 x 9.6 root n kg, dynamic factor 1 + 1 / n; one person is 1391 N, two 1948, three 2516.

    >>> [round(1391.0 * crowd_share(n)) for n in (1, 2, 3)]
    [1391, 1948, 2516]
    """
    if persons < 1:
        return 1.0

    def load(n: int) -> float:
        return float((n * 53.8 + 1.64 * 9.6 * np.sqrt(n)) * 10.0 * (1.0 + 1.0 / n))

    return load(persons) / load(1)


def holds(frame: Frame) -> Floats:
    """Return the heights of all places that a foot can stand on, lowest first: (n,) mm."""
    slope = np.abs(frame.tangents[:, 2]) < np.sin(np.radians(STEEP_DEG))
    ranks = frame.tree.ranks[frame.members]
    stands = slope & (frame.diameters >= HOLD_MM) & (ranks <= BRANCH)
    return np.sort(frame.points[stands, 2])


def climbed(frame: Frame, conditions: Conditions) -> float:
    """Return how high hands get, mm: the reach from the ground, and from every hold that can be stepped up to.

    Nobody climbs where `site.climbers` is 0, or where no limb starts low enough to step on.
    """
    reach = conditions.reach
    if conditions.climbers < 1:
        return reach
    for height in holds(frame).tolist():
        if height > reach - STEP_UP_MM:
            break
        reach = max(reach, height + conditions.reach)
    return reach


@dataclass(frozen=True, eq=False)
class Rocked:
    """Members rocked at their own rhythm: rows (R,), frequencies (R,) Hz, swings (R,) mm at the hand, moments (R,) N mm
    at the foot, ratios (R,) with weight."""

    rows: Ints
    frequencies: Floats
    swings: Floats
    moments: Floats
    ratios: Floats


def push_at(frequencies: Floats) -> Floats:
    """Return the amplitude of a person's push at a rhythm, N.

    >>> push_at(np.array([1.0, 3.75, 6.0])).tolist()
    [250.0, 125.0, 0.0]
    """
    return np.asarray(PUSH_N * np.clip((FAST_HZ - frequencies) / (FAST_HZ - SLOW_HZ), 0.0, 1.0))


def magnified(damping: Floats) -> Floats:
    """Return by how much a push in rhythm is magnified in a number of swings: (1 - exp(-2 pi z n)) / 2 z.

    Any vibration text (Chopra, Dynamics of Structures, 3.2, from memory).

    >>> magnified(np.array([0.05, 0.002])).round(2).tolist()
    [9.98, 55.56]
    """
    return np.asarray((1.0 - np.exp(-2.0 * np.pi * damping * SWINGS)) / (2.0 * damping))


def rocked(
    frame: Frame, sway: Sways, conditions: Conditions, dead: Floats, limit: Resistance, air: Floats | None
) -> Rocked:
    """Return trunk and limbs within reach from the ground, rocked by persons in step with their own sway.

    dead: (M, 6) forces at the feet under weight. air: (M,) damping by still air, share of critical, for a root mean
    square speed of 1 m/s; None where drag is not known. The hand's stroke bounds the swing, and the push is the most
    that a hand can do, so that it takes a factor of 1, as an extraordinary event does: ASCE 7-16 2.5, EN 1990 eq. 6.11.
    """
    none = np.zeros(0)
    rows, spots = _grips(frame, sway, conditions)
    if conditions.pull <= 0.0 or not len(rows):
        return Rocked(np.zeros(0, dtype=np.int64), none, none, none, none)
    frequencies = sway.frequencies[rows]
    omega, spot = 2.0 * np.pi * np.maximum(frequencies, 1e-9), np.maximum(spots, 1e-9)
    push = push_at(frequencies) * max(conditions.climbers, 1) * spot / (sway.moving[rows] * 1e-3)
    each = np.zeros_like(frequencies) if air is None else air[rows]
    middle = np.sqrt(sway.moving[rows] / np.maximum(sway.masses[rows], 1e-9)) / 1000.0
    quick = np.zeros_like(frequencies)
    # Still air damps a large swing more: a few rounds settle it.
    for _ in range(20):
        damping = conditions.damping + each * quick / omega * middle
        wanted = np.minimum(push * magnified(damping), STROKE_MM / spot * omega**2)
        quick = np.where(push > 0.0, (quick + wanted) / 2.0, 0.0)
    moments = quick * sway.moments[frame.tree.depths[rows], rows]
    weight = np.linalg.norm(dead[rows, 3:], axis=1)
    on_dead = 1.2 if conditions.is_american else 1.0
    ratios = (on_dead * weight + moments) / limit.bending[rows]
    return Rocked(rows, frequencies, quick * spot / omega**2, moments, ratios)


def _grips(frame: Frame, sway: Sways, conditions: Conditions) -> tuple[Ints, Floats]:
    """Return trunk and limbs within reach, and how far each moves at the best place for a hand, in its own shape."""
    within = np.flatnonzero((frame.points[:, 2] <= conditions.reach) & (frame.tree.ranks[frame.members] <= LIMB))
    members = frame.members[within]
    shape = sway.shapes[frame.tree.depths[members], within]
    along = np.abs(np.sum(shape[:, :2] * sway.toward[members], axis=1))
    best = np.zeros(len(frame.tree))
    np.maximum.at(best, members, along)
    rows = np.unique(members)
    return rows, best[rows]


def lowest(frame: Frame, areas: Floats) -> tuple[float, str]:
    """Return the lowest height, mm, of steel beyond the trunk or of a leaf's edge, and whose it is.

    A leaf hangs by its loop, 25 mm, and its length, that of an ellipse twice as long as broad.
    """
    off = frame.members > 0
    if not off.any():
        return float("inf"), str(frame.tree.tags[0])
    heights = np.where(off, frame.points[:, 2] - frame.diameters / 2.0, np.inf)
    leaves = np.full(len(frame), np.inf)
    np.minimum.at(leaves, frame.hangs, frame.points[frame.hangs, 2] - 25.0 - np.sqrt(8.0 * areas / np.pi))
    heights = np.minimum(heights, leaves)
    at = int(np.argmin(heights))
    return float(heights[at]), str(frame.tree.tags[frame.members[at]])
