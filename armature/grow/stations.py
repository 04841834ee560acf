"""Where along its parent a bud is wished for, and how buds on one parent are kept apart."""

from __future__ import annotations

import numpy as np

from armature.tree import Chains, Floats, Ints, locate, row_norms

_LOOKS = 24


def nearest(chains: Chains, parents: Ints, points: Floats) -> tuple[Floats, Floats]:
    """Return the station (B,) mm of each parent nearest to a point (B, 3), to a part in 24 of its length, and its
    distance."""
    share = np.linspace(0.0, 1.0, _LOOKS)
    stations = share * chains.lengths[parents][:, None]
    seen, _, _ = locate(chains, np.repeat(parents, _LOOKS), stations.ravel())
    away = row_norms(seen - np.repeat(points, _LOOKS, axis=0)).reshape(-1, _LOOKS)
    best = np.argmin(away.round(6), axis=1)
    rows = np.arange(len(parents))
    return stations[rows, best], away[rows, best]


def wished(chains: Chains, parents: Ints, points: Floats, lean: float) -> Floats:
    """Return the stations (B,) mm from which straight members at a lean (deg) would reach points (B, 3) mm."""
    station, away = nearest(chains, parents, points)
    return np.asarray(station - away / np.tan(np.radians(lean)))


def ranked(parents: Ints, values: Floats) -> tuple[Ints, Ints]:
    """Return for each bud (B,) its place among those of its parent by rising value, and how many these are (B,)."""
    order = np.lexsort((np.arange(len(values)), values.round(6), parents))
    sorted_parents = parents[order]
    place = np.empty(len(values), dtype=np.int64)
    place[order] = np.arange(len(values)) - np.searchsorted(sorted_parents, sorted_parents)
    return place, np.bincount(parents, minlength=int(parents.max(initial=0)) + 1)[parents]


def spaced(parents: Ints, wanted: Floats, lows: Floats, highs: Floats, gaps: Floats) -> Floats:
    """Return stations (B,) mm near the wanted ones, in the same order on each parent, `gaps` (B,) mm apart where
    there is room.

    Pushed up from the low end first, then down from the high end, each a running extreme over the buds of a parent.
    """
    place, count = ranked(parents, wanted)
    room = np.maximum(highs - lows, 0.0)
    gap = np.minimum(gaps, 0.95 * room / np.maximum(count, 1))
    order = np.lexsort((place, parents))
    group, step = parents[order], (place * gap)[order]
    at = np.clip(wanted, lows, highs)[order] - step
    at = _running_max(at, group) + step
    top = highs[order] - ((count - 1 - place) * gap)[order]
    at = np.minimum(at, np.maximum(top, lows[order]))
    stations = np.empty(len(wanted))
    stations[order] = at
    return stations


def _running_max(values: Floats, group: Ints) -> Floats:
    """Return the running maximum (B,) that starts anew with each group (B,) of ascending numbers."""
    # Lifting each group above the one before makes one accumulate serve for all.
    lift = float(np.ptp(values)) + 1.0 if len(values) else 1.0
    number = np.cumsum(np.concatenate([[0], np.diff(group) > 0])) if len(group) else group
    return np.asarray(np.maximum.accumulate(values + number * lift) - number * lift)
