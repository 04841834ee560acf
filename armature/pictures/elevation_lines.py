"""A tree as lines on a plane: what an elevation or a plan draws, with its dimensions.

Size letters: K corners of a line. Everything is mm at full size; x to the right, y up on the sheet.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.edge import System, format_length
from armature.tree import RANKS, TWIG, Floats, Tree, extent, sampled


@dataclass(frozen=True, eq=False)
class Line:
    """One line: its layer, corners (K, 2), and whether it closes."""

    layer: str
    corners: Floats
    closed: bool = False


@dataclass(frozen=True, eq=False)
class Dimension:
    """A distance between two points (2,) each, measured along x ("across") or y ("up"), its line through `at`, and
    its text.
    """

    start: Floats
    end: Floats
    along: str
    at: float
    text: str

    @property
    def length(self) -> float:
        """The distance measured, mm."""
        axis = 0 if self.along == "across" else 1
        return abs(float(self.end[axis] - self.start[axis]))


@dataclass(frozen=True, eq=False)
class Drawing:
    """One view: its name, lines and dimensions."""

    name: str
    lines: tuple[Line, ...]
    dimensions: tuple[Dimension, ...]

    @property
    def box(self) -> Floats:
        """Least and greatest corner (2, 2), dimension lines included."""
        points = [line.corners for line in self.lines]
        points += [np.stack([d.start, d.end]) for d in self.dimensions]
        points += [
            np.array([[d.start[0], d.at] if d.along == "across" else [d.at, d.start[1]]]) for d in self.dimensions
        ]
        whole = np.concatenate(points)
        return np.stack([whole.min(axis=0), whole.max(axis=0)])


def views(tree: Tree, units: System, plate_mm: float | None = None) -> tuple[Drawing, Drawing, Drawing]:
    """Return front elevation, side elevation and plan of a tree, with dimensions in the shop's units.

    plate_mm: width of the base plate, five trunks where it is not given.
    """
    half = 2.5 * float(tree.start_diameters[0]) if plate_mm is None else plate_mm / 2.0
    return (
        _elevation(tree, units, "front elevation, from the south", 0, half),
        _elevation(tree, units, "side elevation, from the east", 1, half),
        _plan(tree, units, half),
    )


def _elevation(tree: Tree, units: System, name: str, axis: int, half: float) -> Drawing:
    """Return the tree seen along the other level axis; the side is seen from +x, so that its right is +y."""
    lines = [*_members(tree, axis, 2), *_leaves(tree, axis, 2)]
    low, high = extent(tree)
    left, right, top = float(low[axis]), float(high[axis]), float(high[2])
    lines += [Line("plate", np.array([[-half, 0.0], [half, 0.0], [half, -25.0], [-half, -25.0]]), True)]
    lines += [Line("ground", np.array([[left - 300.0, 0.0], [right + 300.0, 0.0]]))]
    step = 0.05 * top
    foliage = _lowest_foliage(tree)
    stem = float(tree.start_diameters[0])
    dimensions = (
        _up(left, 0.0, top, right + 2.2 * step, units),
        _up(left, 0.0, foliage, right + step, units),
        _up(left, foliage, top, right + step, units),
        _across(left, right, top, top + 1.2 * step, units),
        _across(left, 0.0, 0.0, -1.4 * step, units),
        _across(0.0, right, 0.0, -1.4 * step, units),
        Dimension(
            np.array([-stem / 2, 40.0]),
            np.array([stem / 2, 40.0]),
            "across",
            0.9 * step,
            f"dia. {format_length(stem, units)}",
        ),
    )
    return Drawing(name, tuple(lines), dimensions)


def _plan(tree: Tree, units: System, half: float) -> Drawing:
    lines = [*_members(tree, 0, 1), *_leaves(tree, 0, 1)]
    (left, low, _), (right, high, _) = extent(tree).tolist()
    lines = [Line("plate", np.array([[-half, -half], [half, -half], [half, half], [-half, half]]), True), *lines]
    step = 0.05 * (right - left)
    dimensions = (
        _across(left, right, high, high + 1.2 * step, units),
        _up(right, low, high, right + 1.2 * step, units),
        _across(-half, half, -half, low - 1.2 * step, units),
    )
    lines += _north(left - 2.0 * step, high, 2.0 * step)
    return Drawing("plan, north up", tuple(lines), dimensions)


def _north(x: float, top: float, tall: float) -> list[Line]:
    """Return an arrow to the north with its letter over it, drawn as lines: y of every file is north."""
    head, wide = 0.3 * tall, 0.14 * tall
    shaft = np.array([[x, top - tall], [x, top]])
    barbs = np.array([[x - wide, top - head], [x, top], [x + wide, top - head]])
    foot, peak = top + 0.2 * tall, top + 0.65 * tall
    letter = np.array([[x - wide, foot], [x - wide, peak], [x + wide, foot], [x + wide, peak]])
    return [Line("ground", each) for each in (shaft, barbs, letter)]


def _members(tree: Tree, right: int, up: int) -> list[Line]:
    """Return both edges of every thick member, and the middle of each twig."""
    run = sampled(tree.chains, chord_error=1.0)
    owner = np.repeat(np.arange(len(tree)), np.diff(run.offsets))
    half = tree.diameters_at(owner, run.stations) / 2.0
    flat, along = run.points[:, [right, up]], run.tangents[:, [right, up]]
    across = np.stack([-along[:, 1], along[:, 0]], axis=1)
    length = np.linalg.norm(across, axis=1, keepdims=True)
    # A bar that points at the viewer has no side of its own: its width is drawn level.
    across = np.where(length > 0.05, across / np.maximum(length, 0.05), [1.0, 0.0])
    lines = []
    for row in np.argsort(-tree.ranks, kind="stable").tolist():
        part = slice(run.offsets[row], run.offsets[row + 1])
        layer = RANKS[int(tree.ranks[row])]
        if tree.ranks[row] == TWIG:
            lines.append(Line(layer, flat[part]))
            continue
        off = across[part] * half[part, None]
        lines.append(Line(layer, np.concatenate([flat[part] + off, (flat[part] - off)[::-1]]), True))
    return lines


def _leaves(tree: Tree, right: int, up: int) -> list[Line]:
    """Return a short stroke where each leaf hangs: a plan or an elevation shows where leaves are, not their shape."""
    places = tree.hang_points
    reach = np.array([[-12.0, 0.0], [12.0, 0.0]] if up == 1 else [[0.0, 0.0], [0.0, -70.0]])
    return [Line("leaves", place + reach) for place in places[:, [right, up]]]


def _lowest_foliage(tree: Tree) -> float:
    """Return the height of the lowest hang point, or of the lowest tip where no leaf hangs."""
    heights = tree.hang_points[:, 2] if len(tree.leaves) else tree.tips[:, 2]
    return float(heights.min())


def _up(x: float, low: float, high: float, at: float, units: System) -> Dimension:
    return Dimension(np.array([x, low]), np.array([x, high]), "up", at, format_length(high - low, units, feet=True))


def _across(left: float, right: float, y: float, at: float, units: System) -> Dimension:
    return Dimension(
        np.array([left, y]), np.array([right, y]), "across", at, format_length(right - left, units, feet=True)
    )
