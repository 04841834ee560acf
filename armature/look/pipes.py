"""Thickness: taper, and the pipe rule d^n = sum of d_i^n between the diameters at which members start.

The rule is Leonardo's with n = 2 and Murray's with n = 3 (J. Gen. Physiol. 9, 1926); real forks measured by hand
give 1.3 to 2.0 for half of them.
"""

from __future__ import annotations

import numpy as np

from armature.look.figures import Reading, nothing
from armature.look.skeleton import Skeleton
from armature.tree import Floats, Ints

_RISE = 1.08
_MISFIT = 1.45


def start_diameters(skeleton: Skeleton) -> Floats:
    """Return the diameter at which each member starts: (M,) mm."""
    return 2.0 * skeleton.radii[skeleton.offsets[:-1]]


def thickening(skeleton: Skeleton) -> Reading:
    """Return the number of members that grow thicker toward the tip or start thicker than their parent there.

    By more than 8 %. Spoilt by those members, worst first.
    """
    # The running minimum within each member: each member is shifted above all before it, then shifted back.
    shift = (len(skeleton) - skeleton.members) * (float(skeleton.radii.max(initial=0.0)) + 1.0)
    thinnest = np.minimum.accumulate(skeleton.radii + shift) - shift
    rise = np.ones(len(skeleton))
    np.maximum.at(rise, skeleton.members, skeleton.radii / np.maximum(thinnest, 1e-9))
    grows = np.flatnonzero(skeleton.parents >= 0)
    under = skeleton.radii_at(skeleton.parents[grows], skeleton.stations[grows])
    rise[grows] = np.maximum(rise[grows], skeleton.radii[skeleton.offsets[grows]] / np.maximum(under, 1e-9))
    bad = np.flatnonzero(rise > _RISE)
    return Reading(float(len(bad)), len(skeleton), high_rows=bad[np.argsort(-rise[bad], kind="stable")])


def pipe_exponents(skeleton: Skeleton) -> tuple[Ints, Floats]:
    """Return the parents of two members and more, and for each the n of d^n = sum d_i^n: (H,), (H,).

    Solved by halving n between 0.1 and 9 sixty times; NaN where a child is as thick as its parent, which no n mends.

    >>> from armature.look.pipes import solved_exponents
    >>> solved_exponents(np.array([0, 0]), np.array([0.8, 0.6]), 1).round(6).tolist()
    [2.0]
    """
    order = skeleton.children
    parents, place, counts = np.unique(skeleton.parents[order], return_inverse=True, return_counts=True)
    thick = start_diameters(skeleton)
    shares = thick[order] / np.maximum(thick[parents][place], 1e-9)
    exponents = solved_exponents(place, shares, len(parents))
    several = counts > 1
    return parents[several], exponents[several]


def solved_exponents(groups: Ints, shares: Floats, count: int) -> Floats:
    """Return n (count,) with sum of shares^n = 1 in each group: groups (K,), shares (K,) of the parent's diameter."""
    low, high = np.full(count, 0.1), np.full(count, 9.0)
    for _ in range(60):
        middle = (low + high) / 2.0
        over = np.bincount(groups, shares ** middle[groups], minlength=count) > 1.0
        low, high = np.where(over, middle, low), np.where(over, high, middle)
    widest = np.zeros(count)
    np.maximum.at(widest, groups, shares)
    return np.where((widest < 0.999) & (low < 8.99), low, np.nan)


def pipe_exponent(solved: tuple[Ints, Floats]) -> Reading:
    """Return the median pipe exponent over the parents where it can be solved."""
    parents, exponents = solved
    known = np.isfinite(exponents)
    if known.sum() < 3:
        return nothing(int(known.sum()))
    order = parents[known][np.argsort(exponents[known], kind="stable")]
    few = max(len(order) // 4, 1)
    return Reading(
        float(np.median(exponents[known])), int(known.sum()), low_rows=order[:few], high_rows=order[::-1][:few]
    )


def pipe_misfits(skeleton: Skeleton, solved: tuple[Ints, Floats]) -> Reading:
    """Return the share of parents, in per cent, whose diameter is off what the tree's exponent makes of its members.

    Off: more than 45 % too thick or too thin beside the middle parent of its rank, for bars come in steps.
    """
    parents, exponents = solved
    known = np.isfinite(exponents)
    if known.sum() < 3 or len(parents) < 6:
        return nothing(len(parents))
    exponent = float(np.clip(np.median(exponents[known]), 0.8, 4.0))
    order = skeleton.children
    thick = start_diameters(skeleton)
    total = np.bincount(skeleton.parents[order], thick[order] ** exponent, minlength=len(skeleton))[parents]
    ratio = np.log(np.maximum(thick[parents], 1e-9) / np.maximum(total, 1e-9) ** (1.0 / exponent))
    for rank in np.unique(skeleton.ranks[parents]).tolist():
        same = skeleton.ranks[parents] == rank
        ratio[same] -= np.median(ratio[same]) if same.sum() > 2 else 0.0
    off = np.abs(ratio) > np.log(_MISFIT)
    rows = parents[off][np.argsort(-np.abs(ratio[off]), kind="stable")]
    return Reading(100.0 * len(rows) / len(parents), len(parents), high_rows=rows)


def murray_angles(r0: Floats, r1: Floats, r2: Floats, exponent: float = 3.0) -> Floats:
    """Return the angle, deg, at which the first branch of radius r1 leaves the line of r0 for the least volume.

    cos a = (r0^4 + r1^4 - r2^4) / (2 r0^2 r1^2) for pipes of n = 3; r1 / r0 where the cost is linear in r (n = 2).
    Murray, J. Gen. Physiol. 9 (1926), from memory. NaN where no angle does.

    >>> murray_angles(np.array([1.0]), np.array([0.5 ** (1 / 3)]), np.array([0.5 ** (1 / 3)])).round(3).tolist()
    [37.467]
    """
    if exponent < 2.5:
        return np.degrees(np.arccos(np.clip(r1 / np.maximum(r0, 1e-12), 0.0, 1.0)))
    cosine = (r0**4 + r1**4 - r2**4) / np.maximum(2.0 * r0**2 * r1**2, 1e-12)
    return np.where(np.abs(cosine) <= 1.0, np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0))), np.nan)
