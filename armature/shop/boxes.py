"""Boxes that a section needs, and how far it is from fitting a truck, a door and a hook.

Size letters: N points, F frames. Lengths are mm, masses kg.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from armature.tree import Floats, Ints

if TYPE_CHECKING:
    from armature.commission import Transport

_TURNS = 6
# How much a hundred points outside count against sides that are too large by all of what is allowed.
_OVERHANG = 1.0


@dataclass(frozen=True)
class Limits:
    """Inside of the truck (length, width, height) mm, heaviest lift kg, and the door (width, height) mm or none."""

    truck_mm: tuple[float, float, float]
    lift_kg: float
    door_mm: tuple[float, float] | None = None

    @classmethod
    def of(cls, way: Transport) -> Limits:
        """Return the limits of a commission's transport."""
        door = None
        if way.door_width is not None and way.door_height is not None:
            door = (way.door_width, way.door_height)
        return cls((way.length, way.width, way.height), way.lift, door)

    @property
    def sides(self) -> Floats:
        """The largest sides that pass both truck and door, ascending: (3,) mm."""
        sides = np.sort(np.array(self.truck_mm))
        if self.door_mm is not None:
            sides[:2] = np.minimum(sides[:2], np.sort(np.array(self.door_mm)))
        return sides

    def narrowed(self, share: float) -> Limits:
        """Return the limits times a share."""
        length, width, height = (side * share for side in self.truck_mm)
        door = None if self.door_mm is None else (self.door_mm[0] * share, self.door_mm[1] * share)
        return Limits((length, width, height), self.lift_kg * share, door)

    def broken_by(self, box: Box, mass: float) -> str:
        """Return which limit a piece breaks worst: "hook", "truck width" and the like, "door", or "" for none."""
        over = np.append(box.sides / self.sides, mass / self.lift_kg)
        worst = int(np.argmax(np.round(over, 9)))
        if over[worst] <= 1.0 + 1e-9:
            return ""
        if worst == len(box.sides):
            return "hook"
        truck = sorted(zip(self.truck_mm, ("length", "width", "height"), strict=True))
        return "door" if self.sides[worst] < truck[worst][0] - 1e-9 else f"truck {truck[worst][1]}"


@dataclass(frozen=True, eq=False)
class Box:
    """The smallest box found: sides ascending (3,) mm, and its axes as rows (3, 3) in the same order."""

    sides: Floats
    axes: Floats


def smallest_box(points: Floats, radii: Floats, allowed: Floats, turns: int = _TURNS) -> Box:
    """Return the box round bars of given points (N, 3) and radii (N,) mm that comes nearest to the allowed sides (3,).

    Tried are the principal axes and the upright, each turned about itself in `turns` steps to a right angle.
    """
    axes, frames = _axes(points, turns)
    local = axes @ points.T
    extents = ((local + radii).max(axis=1) - (local - radii).min(axis=1))[frames]
    sides = np.sort(extents, axis=1)
    worst = np.round(np.maximum((sides / allowed).max(axis=1), 1.0), 6)
    at = int(np.lexsort((np.round(sides.prod(axis=1), 3), worst))[0])
    return Box(sides[at], axes[frames[at][np.argsort(extents[at], kind="stable")]])


def outside(points: Floats, masses: Floats, box: Box, allowed: Floats, lift: float) -> float:
    """Return how far a section is from fitting: the excess shares of its sides and mass, plus metres of bar outside.

    Zero when it fits. The last term falls with every piece taken off, so that a search can follow it where the box
    itself does not change yet.
    """
    excess = float(np.maximum(box.sides / allowed - 1.0, 0.0).sum()) + max(float(masses.sum()) / lift - 1.0, 0.0)
    if excess <= 0.0:
        return 0.0
    local = box.axes @ points.T
    middle = (local.max(axis=1) + local.min(axis=1)) / 2.0
    over = np.maximum(np.abs(local - middle[:, None]) - allowed[:, None] / 2.0, 0.0) / float(allowed.mean())
    return excess + _OVERHANG * float(over.sum()) / 100.0


def fits(box: Box, mass: float, limits: Limits) -> bool:
    """Return whether a section passes truck, door and hook."""
    return bool((box.sides <= limits.sides + 1e-6).all() and mass <= limits.lift_kg + 1e-9)


def _axes(points: Floats, turns: int) -> tuple[Floats, Ints]:
    """Return principal and upright axes (A, 3), plain and turned about each other, and frames (F, 3): rows of axes."""
    centred = points - points.mean(axis=0)
    _, principal = np.linalg.eigh(centred.T @ centred)
    rows, frames = _turned(turns)
    axes = np.concatenate([rows @ _right_handed(principal.T[::-1]), rows])
    return axes, frames


@cache
def _turned(turns: int) -> tuple[Floats, Ints]:
    """Return the axes of a frame (A, 3), itself and turned about each of its axes, and the rows of two such sets that
    make frames (F, 3): what stays where it is in a turn is one axis, measured once.
    """
    axes = [*np.eye(3)]
    frames = [[0, 1, 2]]
    for axis in range(3):
        first, second = (row for row in range(3) if row != axis)
        for angle in np.arange(1, turns) * np.pi / 2.0 / turns:
            frame = [axis, axis, axis]
            frame[first], frame[second] = len(axes), len(axes) + 1
            sides = np.zeros((2, 3))
            sides[0, first] = sides[1, second] = np.cos(angle)
            sides[0, second], sides[1, first] = np.sin(angle), -np.sin(angle)
            axes += [*sides]
            frames.append(frame)
    # Of each turn the first set comes before the second: of equal frames the first is taken.
    both = np.stack([np.array(frames), np.array(frames) + len(axes)], axis=1)
    return np.stack(axes), both.reshape(-1, 3)


def _right_handed(frame: Floats) -> Floats:
    fixed = frame.copy()
    for row in fixed[:2]:
        row *= np.sign(row[np.argmax(np.abs(row))]) or 1.0
    (a, b, c), (d, e, f) = fixed[:2].tolist()
    fixed[2] = b * f - c * e, c * d - a * f, a * e - b * d
    return fixed
