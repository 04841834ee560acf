"""Path data of an SVG as points: SVG 2, chapter 9; read in one pass, however it is written."""

from __future__ import annotations

import re

import numpy as np

from armature.edge import CommissionError
from armature.leaves.outline.arcs import Points

_STEPS = 64
_COMMAND = re.compile(r"[\s,]*([MmLlHhVvCcSsQqTtAaZz])")
_NUMBER = re.compile(r"[\s,]*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)")
# Arc flags may be written without a space after them: `a5 5 0 01 3 4`.
_FLAG = re.compile(r"[\s,]*([01])")
_NEEDS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
_MOST = 20_000


def path_points(d: str, where: str = "path") -> list[Points]:
    """Return each subpath of SVG path data as points (N, 2); curves in 64 steps, arcs by SVG 2, appendix B.2.4.

    >>> [len(p) for p in path_points("M0 0 H10 V5 Z m20 0 l5 5")]
    [4, 2]
    """
    pen, at, command, drawn, end = _Pen(where), 0, "", 0, len(d.rstrip(" \t\r\n\f,"))
    while at < end:
        if match := _COMMAND.match(d, at):
            command, at = match[1], match.end()
        elif not command or command in "Zz":
            raise CommissionError(where, "path data must be SVG path commands and numbers", d[at : at + 20].strip())
        values, at = _values(d, at, command, where)
        pen.draw(command, values)
        command = {"M": "L", "m": "l"}.get(command, command)
        drawn += 1
        if drawn > _MOST:
            raise CommissionError(where, f"a path has at most {_MOST:,} pieces")
    return pen.finished()


def _values(d: str, at: int, command: str, where: str) -> tuple[list[float], int]:
    """Return the numbers of one command, and where the next begins."""
    values: list[float] = []
    for number in range(_NEEDS[command.upper()]):
        match = (_FLAG if command in "Aa" and number in (3, 4) else _NUMBER).match(d, at)
        if match is None:
            rule = f"{command} needs {_NEEDS[command.upper()]} numbers"
            raise CommissionError(where, rule, d[at : at + 20].strip() or len(values))
        values.append(float(match[1]))
        at = match.end()
    return values, at


class _Pen:
    def __init__(self, where: str) -> None:
        self.where = where
        self.done: list[Points] = []
        self.run: list[Points] = []
        self.at = self.start = self.control = np.zeros(2)
        self.last = ""

    def draw(self, command: str, v: list[float]) -> None:
        kind, base = command.upper(), self.at if command.islower() else np.zeros(2)
        if kind == "M":
            self._end()
            self.at = self.start = base + v
            self.run = [self.at[None]]
        elif kind == "Z":
            self._to(self.start[None])
            self._end()
            self.run = [self.at[None]]
        elif kind in "LHV":
            self._to(self._straight(kind, base, v)[None])
        elif kind == "A":
            self._to(_arc(self.at, v, base + v[5:]))
        else:
            self._curve(kind, base, np.reshape(v, (-1, 2)) + base)
        if kind not in "CSQT":
            self.control = self.at
        self.last = kind

    def _straight(self, kind: str, base: Points, v: list[float]) -> Points:
        if kind == "H":
            return np.array([base[0] + v[0], self.at[1]])
        if kind == "V":
            return np.array([self.at[0], base[1] + v[0]])
        return np.asarray(base + v)

    def _curve(self, kind: str, base: Points, p: Points) -> None:
        kin = "CS" if kind in "CS" else "QT"
        mirrored = 2 * self.at - self.control if self.last and self.last in kin else self.at
        if kind in "ST":
            p = np.concatenate([mirrored[None], p])
        control, end = p[-2], p[-1]
        t = (np.arange(1, _STEPS + 1) / _STEPS)[:, None]
        if kind in "CS":
            points = (1 - t) ** 3 * self.at + 3 * t * (1 - t) ** 2 * p[0] + 3 * t**2 * (1 - t) * p[1] + t**3 * end
        else:
            points = (1 - t) ** 2 * self.at + 2 * t * (1 - t) * p[0] + t**2 * end
        self._to(points)
        self.control = control

    def _to(self, points: Points) -> None:
        if not self.run:
            raise CommissionError(self.where, "path data must begin with M")
        self.run.append(points)
        self.at = points[-1]

    def _end(self) -> None:
        if len(self.run) > 1:
            points = np.concatenate(self.run)
            keep = np.concatenate([[True], np.hypot(*np.diff(points, axis=0).T) > 1e-9])
            self.done.append(points[keep])
        self.run = []

    def finished(self) -> list[Points]:
        self._end()
        return self.done


def _arc(a: Points, v: list[float], b: Points) -> Points:
    rx, ry, turn, large, sweep = abs(v[0]), abs(v[1]), np.deg2rad(v[2]), v[3] != 0, v[4] != 0
    if rx == 0 or ry == 0 or np.allclose(a, b):
        return b[None]
    c, s = np.cos(turn), np.sin(turn)
    x, y = np.array([[c, s], [-s, c]]) @ (a - b) / 2
    grow = np.sqrt(max((x / rx) ** 2 + (y / ry) ** 2, 1.0))
    rx, ry = rx * grow, ry * grow
    over = max((rx * ry) ** 2 - (rx * y) ** 2 - (ry * x) ** 2, 0.0)
    k = np.sqrt(over / ((rx * y) ** 2 + (ry * x) ** 2)) * (-1 if large == sweep else 1)
    cx, cy = k * rx * y / ry, -k * ry * x / rx
    first = np.arctan2((y - cy) / ry, (x - cx) / rx)
    last = np.arctan2((-y - cy) / ry, (-x - cx) / rx)
    span = (last - first) % (2 * np.pi) if sweep else -((first - last) % (2 * np.pi))
    angle = first + span * np.arange(1, _STEPS + 1) / _STEPS
    local = np.stack([cx + rx * np.cos(angle), cy + ry * np.sin(angle)], axis=1)
    points = local @ np.array([[c, s], [-s, c]]) + (a + b) / 2
    points[-1] = b
    return np.asarray(points)
