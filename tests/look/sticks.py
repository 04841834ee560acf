"""Small skeletons with answers by hand."""

from __future__ import annotations

import numpy as np

from armature.look.skeleton import Skeleton
from armature.tree import depths


def sticks(
    lines: list[list[list[float]]],
    parents: list[int],
    stations: list[float],
    radius: float | list[float] = 5.0,
    designed: bool = True,
) -> Skeleton:
    """Return members as polylines (mm) on parents at stations; one radius for all or one a member."""
    counts = np.array([len(line) for line in lines])
    each = np.full(len(lines), radius) if isinstance(radius, float) else np.array(radius)
    return Skeleton(
        tags=np.array([f"m{row}" for row in range(len(lines))]),
        ranks=depths(np.array(parents)),
        parents=np.array(parents),
        stations=np.array(stations),
        offsets=np.concatenate([[0], np.cumsum(counts)]),
        points=np.concatenate([np.array(line, dtype=np.float64) for line in lines]),
        radii=np.repeat(each, counts),
        leaves=np.zeros((0, 3)),
        hung=np.zeros(0, dtype=np.int64),
        designed=designed,
    )


def ladder(stations: list[float], azimuths: list[float], leans: list[float], length: float = 200.0) -> Skeleton:
    """Return a pole of 2000 mm with straight rungs at stations, azimuths and leans, deg."""
    lines = [[[0.0, 0.0, 0.0], [0.0, 0.0, 2000.0]]]
    for station, azimuth, lean in zip(stations, azimuths, leans, strict=True):
        turn, tilt = np.radians(azimuth), np.radians(lean)
        way = np.array([np.sin(tilt) * np.cos(turn), np.sin(tilt) * np.sin(turn), np.cos(tilt)])
        foot = np.array([0.0, 0.0, station])
        lines.append([foot.tolist(), (foot + length * way).tolist()])
    return sticks(lines, [-1, *[0] * len(stations)], [0.0, *stations])
