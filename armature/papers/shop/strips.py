"""Members laid full size on strips of paper as wide as some tiles, so that few tiles are needed.

Strategy: members come batch by batch, the longest of a batch first. One that fits on the height of a tile is pushed up
against those that lie on its strip already, their bent lines nesting, where it needs the fewest fresh tiles; the strips
opened last are tried before a new one. One that rises higher gets a strip of its own.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import ceil

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from armature.papers.shop.batches import batches
from armature.shop import ShopPlan
from armature.tree import BRANCHLET, TWIG, Floats, Ints, Tree

GAP = 8.0
# How many strips are kept open for members to come: more would scatter a batch over the pages.
_OPEN = 8
# Outlines are compared in columns of this width, mm, and members are tried every few columns.
_COLUMN, _TRIED = 4.0, 5
# Steel is looked for at this spacing, mm, under the least bar; tall members are tried at so many shifts each way.
_PROBED, _SHIFTS = 3.0, 6


@dataclass(frozen=True, eq=False)
class Outline:
    """One member on the floor: its line (K, 2) mm, its radii (K,) mm, bends' places, and how high it lifts (K,) mm."""

    tag: str
    line: Floats
    radii: Floats
    bends: Floats
    lift: Floats


@dataclass(frozen=True, eq=False)
class Strip:
    """Outlines side by side: each with the place of its own origin (x, y) mm, y down; the strip's size."""

    outlines: tuple[tuple[Outline, float, float], ...]
    width: float
    height: float


@dataclass(eq=False)
class _Open:
    """A strip one tile high to which members are still added: how deep each column is filled, and tiles in use."""

    deep: Floats
    used: np.ndarray
    placed: list[tuple[Outline, float, float]] = field(default_factory=list)


@dataclass(frozen=True, eq=False)
class _Profile:
    """The room that a member takes, column by column: tops and bottoms (C,) mm, y down from its highest point."""

    left: float
    up: float
    tops: Floats
    bottoms: Floats


def full_size(plan: ShopPlan) -> NDArray[np.bool_]:
    """Return the members that `shop.printing.templates` has drawn full size: (M,).

    A straight bar, and a thin one of a single bend, needs no more than the numbers of its card.
    """
    return needs_template(plan.tree, np.bincount(plan.bends.members, minlength=len(plan.tree)), plan.templates)


def needs_template(tree: Tree, bends: Ints, chosen: str) -> NDArray[np.bool_]:
    """Return which members are drawn full size: (M,). bends: (M,) how many each has; chosen: "all", "bent", "thick"."""
    if chosen == "all":
        return np.ones(len(tree), dtype=bool)
    thin = np.isin(tree.ranks, (BRANCHLET, TWIG))
    return ~thin if chosen == "thick" else bends > np.where(thin, 1, 0)


def strips(plan: ShopPlan, tile: tuple[float, float], chosen: NDArray[np.bool_] | None = None) -> list[Strip]:
    """Return members on strips for tiles of (width, height) mm, in the order in which the strips were begun.

    chosen: (M,) which of them; all, where none is said.
    """
    strips_laid: list[_Open | Strip] = []
    rank = -1
    opened: list[_Open] = []
    for own_rank, row in _rows(plan):
        if chosen is not None and not chosen[row]:
            continue
        drawn = outline(plan, row)
        if own_rank != rank:
            rank, opened = own_rank, []
        shape = _profile(drawn)
        if shape.bottoms.max() > tile[1]:
            strips_laid.append(_alone(drawn, shape, tile))
        elif not _added(opened[-_OPEN:], drawn, shape, tile):
            opened.append(_begun(shape, tile))
            strips_laid.append(opened[-1])
            _added(opened[-1:], drawn, shape, tile)
    return [each if isinstance(each, Strip) else _closed(each) for each in strips_laid]


def outline(plan: ShopPlan, row: int) -> Outline:
    """Return one member as it lies on the floor."""
    tree = plan.tree
    stations, local = plan.floor.line(row)
    rows = plan.bend_rows(row)
    marks = plan.bends.marks[rows]
    marks = np.concatenate([marks, marks + plan.bends.radii[rows] * np.radians(plan.bends.bends[rows])])
    bends = np.stack([np.interp(marks, stations, local[:, axis]) for axis in range(2)], axis=1)
    radii = tree.diameters_at(np.full(len(local), row), stations) / 2.0
    return Outline(str(tree.tags[row]), local[:, :2], radii, bends, local[:, 2])


def dense(drawn: Outline, step: float) -> tuple[Floats, Floats]:
    """Return points (D, 2) and radii (D,) mm along an outline, at most `step` mm apart."""
    apart = np.linalg.norm(np.diff(drawn.line, axis=0), axis=1)
    at = np.concatenate([[0.0], np.cumsum(apart)])
    asked = np.linspace(0.0, at[-1], max(ceil(at[-1] / step), 1) + 1)
    points = np.stack([np.interp(asked, at, drawn.line[:, axis]) for axis in range(2)], axis=1)
    return points, np.interp(asked, at, drawn.radii)


def _rows(plan: ShopPlan) -> Iterator[tuple[int, int]]:
    for batch in batches(plan):
        rows = np.array(batch.rows)
        for row in rows[np.argsort(-np.round(plan.checks.chords[rows]), kind="stable")].tolist():
            yield batch.rank, row


def _profile(drawn: Outline) -> _Profile:
    points, radii = dense(drawn, _COLUMN / 2.0)
    # Half of the gap on either side; up and down the gap is kept when a member is pushed up.
    wide = radii + GAP / 2.0
    left, up = float((points[:, 0] - wide).min()), float((points[:, 1] + radii).max())
    columns = int((points[:, 0] + wide).max() - left) // int(_COLUMN) + 1
    tops, bottoms = np.full(columns, np.inf), np.full(columns, -np.inf)
    for side in (-1.0, 0.0, 1.0):
        at = np.clip(((points[:, 0] + side * wide - left) // _COLUMN).astype(np.int64), 0, columns - 1)
        np.minimum.at(tops, at, up - points[:, 1] - radii)
        np.maximum.at(bottoms, at, up - points[:, 1] + radii)
    return _Profile(left, up, tops, bottoms)


def _begun(shape: _Profile, tile: tuple[float, float]) -> _Open:
    count = ceil(len(shape.tops) * _COLUMN / tile[0])
    return _Open(np.full(int(count * tile[0] // _COLUMN), -GAP), np.zeros(count, dtype=bool))


def _added(opened: list[_Open], drawn: Outline, shape: _Profile, tile: tuple[float, float]) -> bool:
    """Add a member where it needs the fewest fresh tiles; return whether it found room for less than a strip needs."""
    best: tuple[int, int, float, int] | None = None
    for number, strip in enumerate(opened):
        if (place := _place(strip, shape, tile)) is not None:
            fresh, deep, at = place
            if best is None or (fresh, number, deep) < best[:3]:
                best = (fresh, number, deep, at)
    if best is None:
        return False
    fresh, number, deep, at = best
    strip = opened[number]
    if strip.placed and fresh >= ceil(len(shape.tops) * _COLUMN / tile[0]):
        return False
    own = slice(at, at + len(shape.tops))
    reach = np.where(np.isfinite(shape.bottoms), deep + shape.bottoms, -np.inf)
    strip.deep[own] = np.maximum(strip.deep[own], reach)
    strip.used[int(at * _COLUMN // tile[0]) : int((at + len(shape.tops)) * _COLUMN // tile[0]) + 1] = True
    strip.placed.append((drawn, at * _COLUMN - shape.left, deep + shape.up))
    return True


def _place(strip: _Open, shape: _Profile, tile: tuple[float, float]) -> tuple[int, float, int] | None:
    """Return the fresh tiles, the depth and the first column of the best place on a strip, None where none is left."""
    columns = len(shape.tops)
    if columns > len(strip.deep):
        return None
    room = sliding_window_view(strip.deep, columns)[::_TRIED]
    deep = np.maximum((room + GAP - shape.tops).max(axis=1), 0.0)
    at = np.arange(len(deep)) * _TRIED
    first = (at * _COLUMN // tile[0]).astype(np.int64)
    last = np.minimum(((at + columns) * _COLUMN // tile[0]).astype(np.int64), len(strip.used) - 1)
    unused = np.concatenate([[0], np.cumsum(~strip.used)])
    fresh = unused[last + 1] - unused[first]
    fits = np.flatnonzero(deep + shape.bottoms.max() <= tile[1])
    if not len(fits):
        return None
    best = fits[np.lexsort((at[fits], np.round(deep[fits], 3), fresh[fits]))[0]]
    return int(fresh[best]), float(deep[best]), int(at[best])


def _alone(drawn: Outline, shape: _Profile, tile: tuple[float, float]) -> Strip:
    """Return the strip of a member that rises over many tiles, shifted to where it touches the fewest."""
    across, down = len(shape.tops) * _COLUMN, float(shape.bottoms.max())
    spare = [side - size % side for side, size in zip(tile, (across, down), strict=True)]
    points = touched_points(drawn, -shape.left, shape.up, 5.0 * _PROBED)
    tried = [(a * spare[0] / _SHIFTS, b * spare[1] / _SHIFTS) for a in range(_SHIFTS) for b in range(_SHIFTS)]
    counts = [len(np.unique(np.floor((points + shift) / tile) @ [1.0, 1000.0])) for shift in tried]
    right, lower = tried[int(np.argmin(counts))]
    return Strip(((drawn, right - shape.left, lower + shape.up),), right + across, lower + down)


def touched_points(drawn: Outline, x: float, y: float, step: float = _PROBED) -> Floats:
    """Return points (D, 2) mm all along the steel of an outline laid at (x, y), y down, about `step` mm apart."""
    points, radii = dense(drawn, step)
    down = np.stack([x + points[:, 0], y - points[:, 1]], axis=1)
    corners = ((-1.0, -1.0), (-1.0, 1.0), (1.0, -1.0), (1.0, 1.0))
    return np.concatenate([down + radii[:, None] * np.array(corner) for corner in corners])


def _closed(strip: _Open) -> Strip:
    across = max(x + float((each.line[:, 0] + each.radii).max()) for each, x, _ in strip.placed)
    return Strip(tuple(strip.placed), across, max(float(strip.deep.max()), 1.0))
