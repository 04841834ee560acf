"""How the crown sits over its foot: left against right, its centre, its bare sides, its top, its proportions."""

from __future__ import annotations

import numpy as np

from armature.look.figures import Reading, nothing
from armature.look.skeleton import Skeleton
from armature.look.spacing import azimuth_of
from armature.tree import Floats


def left_right_imbalance(skeleton: Skeleton, maps: Floats, azimuths: Floats) -> Reading:
    """Return the difference over the sum of member length left and right of the foot, mean over side maps (K, C, C)
    seen from azimuths (K,) deg.

    Spoilt by the members on the heavier side of the worst view.
    """
    half = maps.shape[2] // 2
    left, right = maps[:, :, :half].sum(axis=(1, 2)), maps[:, :, half:].sum(axis=(1, 2))
    uneven = np.abs(left - right) / np.maximum(left + right, 1e-12)
    worst = int(uneven.argmax())
    azimuth = float(azimuths[worst])
    turn = np.radians(azimuth)
    out = skeleton.tips - skeleton.foot
    across = (out[:, 1] * np.cos(turn) - out[:, 0] * np.sin(turn)) * (1.0 if right[worst] > left[worst] else -1.0)
    rows = np.argsort(-across, kind="stable")
    heavy = rows[across[rows] > 0.0][: max(len(skeleton) // 4, 1)]
    return Reading(float(uneven.mean()), len(skeleton), low_rows=heavy, high_rows=heavy, azimuth=azimuth)


def crown_offset(skeleton: Skeleton) -> Reading:
    """Return the level distance from the foot to the middle of the wood above the lowest fork, over the crown's half
    width."""
    wood = skeleton.parents[skeleton.members[skeleton.heads]] >= 0
    if wood.sum() < 5:
        return nothing(int(wood.sum()))
    centre = np.average(skeleton.middles[wood], axis=0, weights=skeleton.spans[wood])
    out = centre - skeleton.foot
    half = float(np.ptp(skeleton.tips[:, :2], axis=0).mean()) / 2.0
    away = skeleton.tips[:, :2] @ out[:2]
    return Reading(
        float(np.hypot(out[0], out[1])) / max(half, 1e-9),
        len(skeleton),
        high_rows=np.argsort(-away, kind="stable")[: max(len(skeleton) // 8, 1)],
        azimuth=(azimuth_of(skeleton, centre) + 90.0) % 360.0,
    )


def bare_side(skeleton: Skeleton, around: Floats) -> Reading:
    """Return the share of wood due to the barest quarter turn that is missing there: 0 for an even crown, 1 for a bare
    side.

    around: crown map (24, H, R). The place is the middle of that side at half the crown's height.
    """
    by_turn = around.sum(axis=(1, 2))
    total = by_turn.sum()
    if total <= 0.0 or len(skeleton) < 12:
        return nothing(len(skeleton))
    bins = len(by_turn) // 4
    quarter = np.array([np.roll(by_turn, -start)[:bins].sum() for start in range(len(by_turn))])
    # Of quarters equally bare, the one in the middle of the widest bare stretch.
    half = np.array([np.roll(by_turn, bins // 2 - start)[: 2 * bins].sum() for start in range(len(by_turn))])
    barest = int((quarter + 0.1 * half).argmin())
    azimuth = (barest + bins / 2.0) * 360.0 / len(by_turn) % 360.0
    out = skeleton.tips - skeleton.foot
    reach = float(np.quantile(np.hypot(out[:, 0], out[:, 1]), 0.8)) * 0.7
    level = float(np.median(skeleton.tips[:, 2]))
    turn = np.radians(azimuth)
    place = np.array([skeleton.foot[0] + reach * np.cos(turn), skeleton.foot[1] + reach * np.sin(turn), level])
    beside = np.argsort(-(out[:, :2] @ np.array([np.cos(turn), np.sin(turn)])), kind="stable")
    return Reading(
        1.0 - float(quarter[barest]) * 4.0 / float(total),
        len(skeleton),
        high_rows=beside[:8],
        high_places=place[None],
        azimuth=azimuth,
    )


def level_top(skeleton: Skeleton) -> Reading:
    """Return the share of tips, in per cent, in the top 2 % of the height; the highest tip itself is not counted.

    A rounded crown has few there; one cut level has many.
    """
    if len(skeleton) < 12:
        return nothing(len(skeleton))
    top = float(skeleton.tips[:, 2].max())
    high = np.flatnonzero(skeleton.tips[:, 2] > top - 0.02 * skeleton.height)
    high = high[np.argsort(-skeleton.tips[high, 2], kind="stable")]
    return Reading(
        100.0 * (len(high) - 1) / len(skeleton),
        len(skeleton),
        high_rows=high,
        high_places=skeleton.tips[high].mean(axis=0)[None],
    )


def outline_roughness(skeleton: Skeleton, azimuths: Floats) -> Reading:
    """Return how much the crown's outline jumps from one of 24 directions to the next, over its mean radius, mean over
    side views.

    The radius in a direction is that of the farthest tip as seen from the middle of the tips; directions without a tip
    are passed over.
    """
    if len(skeleton) < 40:
        return nothing(len(skeleton))
    middle = np.median(skeleton.tips, axis=0)
    out = skeleton.tips - middle
    roughness = []
    for turn in np.radians(azimuths):
        across = out[:, 1] * np.cos(turn) - out[:, 0] * np.sin(turn)
        box = (np.arctan2(out[:, 2], across) / (2.0 * np.pi) % 1.0 * 24).astype(np.int64)
        reach = np.zeros(24)
        np.maximum.at(reach, box, np.hypot(across, out[:, 2]))
        seen = reach[reach > 0.0]
        roughness.append(float(np.abs(np.diff(seen, append=seen[0])).mean() / seen.mean()))
    value = float(np.mean(roughness))
    far = np.argsort(-(out * out).sum(axis=1), kind="stable")
    return Reading(
        value,
        len(skeleton),
        high_rows=far[: max(len(skeleton) // 50, 1)],
        azimuth=float(azimuths[int(np.argmax(roughness))]),
    )


def width_over_height(skeleton: Skeleton) -> Reading:
    """Return the mean of the crown's extents along x and y over the tree's height."""
    extent = np.ptp(skeleton.points, axis=0)
    return Reading(float(extent[:2].mean()) / max(float(extent[2]), 1e-9), len(skeleton))


def height_over_stem(skeleton: Skeleton) -> Reading:
    """Return the height over the diameter of the trunk at a tenth of the height."""
    stem = int(np.argmax(skeleton.parents < 0))
    thick = 2.0 * float(skeleton.radii_at([stem], [0.1 * skeleton.height])[0])
    return Reading(float(np.ptp(skeleton.points[:, 2])) / thick, 1) if thick > 0.0 else nothing()
