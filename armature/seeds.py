"""Random numbers keyed by (seed, tag, stream): the same key gives the same draw, whatever else is drawn.

A counter-based generator: each draw is a hash of its key and its own number, so that thousands of members draw
at once and adding a member disturbs nobody. The mixing step is the finaliser of SplitMix64 (Steele, Lea and
Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014, figure 17); tags enter by the 64-bit
FNV-1a hash of their code points (draft-eastlake-fnv, constants from memory).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

_GOLDEN = np.uint64(0x9E3779B97F4A7C15)
_FNV_OFFSET = np.uint64(0xCBF29CE484222325)
_FNV_PRIME = np.uint64(0x100000001B3)


def keys(seed: int, tags: ArrayLike, stream: str = "") -> NDArray[np.uint64]:
    """Return one 64-bit key per tag: shape (M,), for `uniform`, `normal` and `choice`.

    `stream` names the purpose of the draw ("shape", "lean"), so that two purposes never share numbers.

    >>> bool(keys(1, ["A01"])[0] == keys(1, ["A01", "B02"])[0])
    True
    """
    with np.errstate(over="ignore"):
        base = _mixed(np.uint64(seed & 0xFFFFFFFFFFFFFFFF) * _GOLDEN + _hashed(np.asarray([stream]))[0])
        return _mixed(_hashed(np.atleast_1d(np.asarray(tags))) ^ base)


def uniform(key: NDArray[np.uint64], count: int, start: int = 0) -> NDArray[np.float64]:
    """Return draws in [0, 1): shape (M, count), draw number `start` onward of each key's stream.

    >>> uniform(keys(1, ["T"]), 2).shape
    (1, 2)
    """
    with np.errstate(over="ignore"):
        counters = np.arange(start + 1, start + count + 1, dtype=np.uint64)
        bits = _mixed(key[..., None] + counters * _GOLDEN)
    return np.asarray((bits >> np.uint64(11)).astype(np.float64) * 2.0**-53)


def normal(key: NDArray[np.uint64], count: int, start: int = 0) -> NDArray[np.float64]:
    """Return standard normal draws, shape (M, count), by the Box-Muller transform."""
    pairs = uniform(key, 2 * count, 2 * start)
    return np.asarray(np.sqrt(-2.0 * np.log1p(-pairs[..., ::2])) * np.cos(2.0 * np.pi * pairs[..., 1::2]))


def _hashed(tags: NDArray[np.str_]) -> NDArray[np.uint64]:
    width = max(tags.dtype.itemsize // 4, 1)
    points = np.ascontiguousarray(tags).view(np.uint32).reshape(len(tags), width) if tags.dtype.itemsize else None
    value = np.full(len(tags), _FNV_OFFSET)
    if points is None:
        return value
    with np.errstate(over="ignore"):
        for column in points.T:
            # Padding must not change a hash: a tag's stream may not depend on the longest tag beside it.
            value = np.where(column > 0, (value ^ column.astype(np.uint64)) * _FNV_PRIME, value)
    return value


def _mixed(value: NDArray[np.uint64]) -> NDArray[np.uint64]:
    value = (value ^ (value >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    value = (value ^ (value >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return value ^ (value >> np.uint64(31))
