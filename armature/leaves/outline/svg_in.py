"""Curves of an SVG file as points in mm: paths and basic shapes of SVG 2, chapters 9 and 10, transforms included."""

from __future__ import annotations

import re
from pathlib import Path as File
from typing import Any

import numpy as np
from lxml import etree
from numpy.typing import NDArray

from armature.errors import CommissionError
from armature.leaves.outline.arcs import Points

_VEIN_WORDS = ("vein", "etch")
_PX = 25.4 / 96  # CSS reference pixel, CSS Values and Units 3, section 5.2
_UNITS = {"": _PX, "px": _PX, "mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "q": 0.25}
_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_STEPS = 64
Matrix = NDArray[np.float64]


def read_svg(file: File) -> tuple[list[Points], list[Points]]:
    """Return the curves to cut and the vein lines of an SVG, (N, 2) points in mm, y up.

    Raises CommissionError where the file is no SVG or holds what cannot be read.
    """
    try:
        # No entities and no network: a drawing is data from outside.
        parser = etree.XMLParser(resolve_entities=False, no_network=True, huge_tree=False)
        root = etree.parse(str(file), parser).getroot()
    except (OSError, etree.XMLSyntaxError) as error:
        raise CommissionError(str(file), f"must be a readable SVG file: {error}") from error
    curves: list[Points] = []
    veins: list[Points] = []
    _walk(file, root, _page(root), False, curves, veins)
    return curves, veins


def _page(root: Any) -> Matrix:
    """User units to mm with y up: the view box on the stated width, CSS pixels where neither is given."""
    box = [float(v) for v in re.findall(_NUMBER, root.get("viewBox", ""))]
    width = re.fullmatch(rf"\s*({_NUMBER})\s*([a-zA-Z]*)\s*", root.get("width", ""))
    scale = _PX
    if width and width[2].lower() in _UNITS:
        size = float(width[1]) * _UNITS[width[2].lower()]
        scale = size / box[2] if len(box) == 4 and box[2] else _UNITS[width[2].lower()]
        scale = scale if len(box) == 4 else _PX
    return np.array([[scale, 0, 0], [0, -scale, 0], [0, 0, 1.0]])


def _walk(file: File, node: Any, matrix: Matrix, vein: bool, curves: list[Points], veins: list[Points]) -> None:
    if not isinstance(node.tag, str):
        return
    tag = etree.QName(node).localname
    if tag in {"defs", "symbol", "clipPath", "mask", "marker", "pattern", "metadata"}:
        return
    matrix = matrix @ _transform(file, node.get("transform", ""))
    names = " ".join(str(v) for k, v in node.attrib.items() if etree.QName(k).localname in {"id", "class", "label"})
    vein = vein or any(word in names.lower() for word in _VEIN_WORDS)
    for points in _drawn(file, tag, node):
        if len(points) > 1:
            with np.errstate(all="ignore"):  # what is out of range is refused with all other curves
                full = np.concatenate([points, np.ones((len(points), 1))], axis=1) @ matrix.T
            (veins if vein else curves).append(full[:, :2])
    for child in node:
        _walk(file, child, matrix, vein, curves, veins)


def _drawn(file: File, tag: str, node: Any) -> list[Points]:
    def value(key: str) -> float:
        found = re.match(rf"\s*({_NUMBER})", node.get(key, "0"))
        return float(found[1]) if found else 0.0

    if tag == "path":
        return path_points(node.get("d", ""), str(file))
    if tag in {"polygon", "polyline"}:
        numbers = [float(v) for v in re.findall(_NUMBER, node.get("points", ""))]
        if len(numbers) % 2:
            raise CommissionError(str(file), f"points of a {tag} come in pairs", len(numbers))
        points = np.array(numbers).reshape(-1, 2)
        return [np.concatenate([points, points[:1]]) if tag == "polygon" else points]
    if tag in {"circle", "ellipse"}:
        rx, ry = (value("r"), value("r")) if tag == "circle" else (value("rx"), value("ry"))
        a = np.linspace(0, 2 * np.pi, 4 * _STEPS + 1)
        ring = np.stack([value("cx") + rx * np.cos(a), value("cy") + ry * np.sin(a)], axis=1)
        ring[-1] = ring[0]
        return [ring]
    if tag == "rect":
        x, y, w, h = (value(k) for k in ("x", "y", "width", "height"))
        return [np.array([[x, y], [x + w, y], [x + w, y + h], [x, y + h], [x, y]])]
    if tag == "line":
        return [np.array([[value("x1"), value("y1")], [value("x2"), value("y2")]])]
    return []


def _transform(file: File, text: str) -> Matrix:
    whole = np.eye(3)
    for name, inside in re.findall(r"(\w+)\s*\(([^)]*)\)", text):
        v = [float(n) for n in re.findall(_NUMBER, inside)]
        whole = whole @ _one_transform(file, name, v)
    return whole


def _one_transform(file: File, name: str, v: list[float]) -> Matrix:
    if name == "matrix" and len(v) == 6:
        return np.array([[v[0], v[2], v[4]], [v[1], v[3], v[5]], [0, 0, 1]])
    if name == "translate" and v:
        return np.array([[1, 0, v[0]], [0, 1, v[1] if len(v) > 1 else 0], [0, 0, 1.0]])
    if name == "scale" and v:
        return np.diag([v[0], v[-1], 1.0])
    if name == "rotate" and v:
        c, s = np.cos(np.deg2rad(v[0])), np.sin(np.deg2rad(v[0]))
        x, y = (v[1], v[2]) if len(v) == 3 else (0.0, 0.0)
        return np.array([[c, -s, x - c * x + s * y], [s, c, y - s * x - c * y], [0, 0, 1]])
    if name in {"skewX", "skewY"} and v:
        across = np.array([[1, np.tan(np.deg2rad(v[0])), 0], [0, 1, 0], [0, 0, 1.0]])
        return across if name == "skewX" else across.T
    raise CommissionError(str(file), "unknown transform", f"{name}{v}")


def path_points(d: str, where: str = "path") -> list[Points]:
    """Return each subpath of SVG path data as points (N, 2); curves in 64 steps, arcs by SVG 2, appendix B.2.4.

    >>> [len(p) for p in path_points("M0 0 H10 V5 Z m20 0 l5 5")]
    [4, 2]
    """
    found = re.findall(rf"[MmLlHhVvCcSsQqTtAaZz]|{_NUMBER}|[^\s,]", _spaced_flags(d))
    pen = _Pen(where)
    at = 0
    command = ""
    while at < len(found):
        if found[at].isalpha():
            command, at = found[at], at + 1
        need = _NEEDS.get(command.upper(), -1)
        if need < 0 or (need == 0 and at < len(found) and not found[at].isalpha()):
            rule = "path data must be SVG path commands and numbers"
            raise CommissionError(where, rule, found[min(at, len(found) - 1)])
        try:
            values = [float(v) for v in found[at : at + need]]
        except ValueError as error:
            raise CommissionError(where, f"a number is missing after {command}", found[at]) from error
        if len(values) < need:
            raise CommissionError(where, f"{command} needs {need} numbers", len(values))
        pen.draw(command, values)
        at += need
        command = {"M": "L", "m": "l"}.get(command, command)
    return pen.finished()


_NEEDS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}


def _spaced_flags(d: str) -> str:
    """Arc flags may be written without a space after them: `a5 5 0 01 3 4`."""
    n = _NUMBER
    pattern = rf"({n}[\s,]*{n}[\s,]*{n}[\s,]*)([01])[\s,]*([01])[\s,]*({n}[\s,]*{n})"
    return re.sub(r"[Aa][^A-Za-z]*", lambda m: m[0][0] + re.sub(pattern, r" \1 \2 \3 \4 ", m[0][1:]), d)


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
