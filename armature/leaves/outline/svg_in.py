"""Curves of an SVG file as points in mm: paths and basic shapes of SVG 2, chapters 5, 7, 8 and 10.

Nested drawings, `use` and `symbol`, view boxes, transforms and units of length are followed; what is hidden is left
out; writing is passed over. What else would be seen and cannot be read as a curve is refused, by its name.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from pathlib import Path as File
from typing import Any

import numpy as np
from lxml import etree
from numpy.typing import NDArray

from armature.edge import CommissionError, read_bytes
from armature.leaves.outline.arcs import Points
from armature.leaves.outline.svg_path import path_points
from armature.leaves.outline.svg_place import PX, length, transform, view

_VEIN_WORDS = ("vein", "etch")
_SVG = "http://www.w3.org/2000/svg"
_LARGEST = 5_000_000  # bytes
_DEEPEST, _MOST = 32, 5_000
_UNSEEN = frozenset(
    ("defs", "symbol", "clipPath", "mask", "marker", "pattern", "metadata", "title", "desc", "style", "script")
    + ("linearGradient", "radialGradient", "filter", "text", "view", "cursor", "font", "animate", "set")
)
_GROUPS = frozenset(("svg", "g", "a", "switch", "use"))
_SHAPES = frozenset(("path", "polygon", "polyline", "circle", "ellipse", "rect", "line"))
_STEPS = 256
_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
Matrix = NDArray[np.float64]


@dataclass(frozen=True)
class _Place:
    """Where a part of a drawing stands: its matrix to mm, y up; the size of its viewport in its own units; how deep."""

    matrix: Matrix
    size: tuple[float, float]
    vein: bool = False
    hidden: bool = False
    depth: int = 0


@dataclass
class _Sheet:
    """One drawing as it is read: what can be named in it, its rules of style, and what was drawn."""

    file: File
    named: dict[str, Any]
    rules: dict[str, dict[str, str]]
    curves: list[Points] = field(default_factory=list)
    veins: list[Points] = field(default_factory=list)
    count: int = 0


def read_svg(file: File) -> tuple[list[Points], list[Points]]:
    """Return the curves to cut and the vein lines of an SVG, (N, 2) points in mm, y up.

    Raises CommissionError where the file is no SVG or holds what cannot be read, by name and place in the drawing.
    """
    content = read_bytes(file, _LARGEST, "drawing")
    try:
        # No entities and no network: a drawing is data from outside.
        parser = etree.XMLParser(resolve_entities=False, no_network=True, huge_tree=False)
        root = etree.fromstring(content, parser)
    except etree.XMLSyntaxError as error:
        raise CommissionError(str(file), f"must be a readable SVG file; it breaks off in line {error.lineno}") from None
    if _tag(root) != "svg":
        raise CommissionError(str(file), "must be a readable SVG file")
    sheet = _Sheet(file, {node.get("id"): node for node in root.iter() if node.get("id")}, _rules(root))
    matrix, size = _page(root)
    _walk(sheet, root, _Place(matrix, size))
    return sheet.curves, sheet.veins


def _page(root: Any) -> tuple[Matrix, tuple[float, float]]:
    """Return user units to mm with y up, and the size in user units: the view box on the stated size, CSS pixels where
    neither is given."""
    box = _box(root)
    full = (box[2], box[3]) if box else (100.0, 100.0)
    wide, high = (
        length(root.get(key), 0.0, key) if "%" not in root.get(key, "%") else 0.0 for key in ("width", "height")
    )
    if box and not wide and not high:
        wide, high = full
    wide, high = wide or high * full[0] / full[1], high or wide * full[1] / full[0]
    inner = view(box, wide, high, root.get("preserveAspectRatio", "")) if box else np.eye(3)
    inner[:2, 2] = 0.0  # the page's own margin moves the drawing and changes nothing
    return np.diag([PX, -PX, 1.0]) @ inner, full if box else (wide or 100.0, high or 100.0)


def _box(node: Any) -> list[float]:
    numbers = [float(value) for value in re.findall(_NUMBER, node.get("viewBox", ""))]
    return numbers if len(numbers) == 4 and numbers[2] > 0 and numbers[3] > 0 else []


def _walk(sheet: _Sheet, node: Any, place: _Place) -> None:
    tag = _tag(node)
    if not tag or tag in _UNSEEN:
        return
    style = _style(sheet, node)
    if style.get("display") == "none":
        return
    sheet.count += 1
    if sheet.count > _MOST or place.depth > _DEEPEST:
        raise _refused(sheet, node, place, f"a drawing holds at most {_MOST:,} parts, {_DEEPEST} deep")
    if tag not in _SHAPES and tag not in _GROUPS:
        raise _refused(sheet, node, place, "only curves can be cut: take it out or draw it as a path")
    if "transform" in style and style["transform"] != node.get("transform", ""):
        raise _refused(sheet, node, place, "a transform stands in the attribute, not in a style")
    place = _inside(sheet, node, place, style)
    if tag in _SHAPES and not place.hidden:
        _draw(sheet, node, tag, place)
    if tag == "use":
        _follow(sheet, node, place)
    for child in node:
        _walk(sheet, child, place)
        if tag == "switch" and _tag(child):
            break


def _inside(sheet: _Sheet, node: Any, place: _Place, style: dict[str, str]) -> _Place:
    """Return the place of what stands inside a node."""
    try:
        matrix = place.matrix @ transform(node.get("transform", ""))
        size = place.size
        if _tag(node) == "svg" and place.depth:
            x, y = length(node.get("x"), size[0], "x"), length(node.get("y"), size[1], "y")
            wide, high = (
                length(node.get("width", "100%"), size[0], "width"),
                length(node.get("height", "100%"), size[1], ""),
            )
            matrix, size = _viewport(node, matrix, x, y, wide, high)
    except ValueError as error:
        raise _refused(sheet, node, place, str(error)) from None
    names = " ".join(str(v) for k, v in node.attrib.items() if etree.QName(k).localname in {"id", "class", "label"})
    vein = place.vein or any(word in names.lower() for word in _VEIN_WORDS)
    hidden = style["visibility"] != "visible" if "visibility" in style else place.hidden
    return replace(place, matrix=matrix, size=size, vein=vein, hidden=hidden, depth=place.depth + 1)


def _viewport(
    node: Any, matrix: Matrix, x: float, y: float, wide: float, high: float
) -> tuple[Matrix, tuple[float, float]]:
    matrix = matrix @ np.array([[1.0, 0.0, x], [0.0, 1.0, y], [0.0, 0.0, 1.0]])
    box = _box(node)
    if not box:
        return matrix, (wide, high)
    return matrix @ view(box, wide, high, node.get("preserveAspectRatio", "")), (box[2], box[3])


def _follow(sheet: _Sheet, node: Any, place: _Place) -> None:
    """Draw what a `use` names, where it says."""
    name = node.get("href") or node.get("{http://www.w3.org/1999/xlink}href") or ""
    aim = sheet.named.get(name[1:]) if name.startswith("#") else None
    if aim is None:
        raise _refused(sheet, node, place, "what `use` names must stand in the same drawing")
    try:
        x, y = length(node.get("x"), place.size[0], "x"), length(node.get("y"), place.size[1], "y")
        matrix, size = place.matrix @ np.array([[1.0, 0.0, x], [0.0, 1.0, y], [0.0, 0.0, 1.0]]), place.size
        if _tag(aim) == "symbol":
            wide, high = (length(node.get(k, "100%"), full, k) for k, full in (("width", size[0]), ("height", size[1])))
            matrix, size = _viewport(aim, matrix, 0.0, 0.0, wide, high)
    except ValueError as error:
        raise _refused(sheet, node, place, str(error)) from None
    place = replace(place, matrix=matrix, size=size, depth=place.depth + 1)
    for part in aim if _tag(aim) == "symbol" else (aim,):
        _walk(sheet, part, place)


def _draw(sheet: _Sheet, node: Any, tag: str, place: _Place) -> None:
    try:
        lines = _drawn(node, tag, place.size, f"{sheet.file}: {_name(node)}")
    except ValueError as error:
        if isinstance(error, CommissionError):
            raise
        raise _refused(sheet, node, place, str(error)) from None
    for points in lines:
        if len(points) > 1:
            with np.errstate(all="ignore"):  # what is out of range is refused with all other curves
                full = np.concatenate([points, np.ones((len(points), 1))], axis=1) @ place.matrix.T
            (sheet.veins if place.vein else sheet.curves).append(full[:, :2])


def _drawn(node: Any, tag: str, size: tuple[float, float], where: str) -> list[Points]:
    across = float(np.hypot(*size) / np.sqrt(2.0))

    def value(key: str) -> float:
        full = size[0] if key in ("x", "cx", "width", "x1", "x2", "rx") else size[1] if key != "r" else across
        return length(node.get(key), full, key)

    if tag == "path":
        return path_points(node.get("d", ""), where)
    if tag in {"polygon", "polyline"}:
        numbers = [float(v) for v in re.findall(_NUMBER, node.get("points", ""))]
        if len(numbers) % 2:
            raise ValueError(f"points of a {tag} come in pairs (got {len(numbers)})")
        points = np.array(numbers).reshape(-1, 2)
        return [np.concatenate([points, points[:1]]) if tag == "polygon" else points]
    if tag in {"circle", "ellipse"}:
        rx, ry = (value("r"), value("r")) if tag == "circle" else _radii(node, value)
        a = np.linspace(0, 2 * np.pi, _STEPS + 1)
        ring = np.stack([value("cx") + rx * np.cos(a), value("cy") + ry * np.sin(a)], axis=1)
        ring[-1] = ring[0]
        return [ring]
    if tag == "rect":
        return _rectangle(node, value, where)
    return [np.array([[value("x1"), value("y1")], [value("x2"), value("y2")]])]


def _radii(node: Any, value: Any) -> tuple[float, float]:
    """Return both radii; one that is not given is the other (SVG 2, 10.2)."""
    rx, ry = (None if node.get(key, "auto") == "auto" else value(key) for key in ("rx", "ry"))
    return rx if rx is not None else ry or 0.0, ry if ry is not None else rx or 0.0


def _rectangle(node: Any, value: Any, where: str) -> list[Points]:
    x, y, w, h = (value(key) for key in ("x", "y", "width", "height"))
    if w <= 0 or h <= 0:
        return []
    rx, ry = _radii(node, value)
    rx, ry = min(abs(rx), w / 2), min(abs(ry), h / 2)
    if rx == 0 or ry == 0:
        return [np.array([[x, y], [x + w, y], [x + w, y + h], [x, y + h], [x, y]])]
    turn = f"a{rx!r} {ry!r} 0 0 1"
    d = f"M{x + rx!r} {y!r}H{x + w - rx!r}{turn} {rx!r} {ry!r}V{y + h - ry!r}{turn} {-rx!r} {ry!r}"
    return path_points(f"{d}H{x + rx!r}{turn} {-rx!r} {-ry!r}V{y + ry!r}{turn} {rx!r} {-ry!r}Z", where)


def _rules(root: Any) -> dict[str, dict[str, str]]:
    """Return what style sheets in the drawing say of single classes, names and tags, by selector."""
    rules: dict[str, dict[str, str]] = {}
    for node in root.iter(f"{{{_SVG}}}style"):
        text = re.sub(r"/\*[^*]*\*+(?:[^/*][^*]*\*+)*/", "", (node.text or "")[:100_000])
        for part in text.split("}"):
            heads, _, body = part.partition("{")
            for head in heads.split(","):
                rules.setdefault(head.strip(), {}).update(_declared(body))
    return rules


def _style(sheet: _Sheet, node: Any) -> dict[str, str]:
    """Return what is said of a node's look: attributes, then rules, then its own style, the later over the former."""
    said = {key: node.get(key) for key in ("display", "visibility") if node.get(key)}
    heads = [_tag(node), *(f".{name}" for name in (node.get("class") or "").split()), f"#{node.get('id')}"]
    for head in heads:
        said |= sheet.rules.get(head, {})
    return said | _declared(node.get("style", ""))


def _declared(text: str) -> dict[str, str]:
    pairs = [part.partition(":") for part in text.split(";") if ":" in part]
    return {key.strip().lower(): value.replace("!important", "").strip().lower() for key, _, value in pairs}


def _tag(node: Any) -> str:
    """Return the name of an element of SVG; nothing for a comment or another program's notes."""
    if not isinstance(node.tag, str):
        return ""
    name = etree.QName(node)
    return str(name.localname) if name.namespace in (None, _SVG) else ""


def _name(node: Any) -> str:
    return f"{_tag(node)} {node.get('id')!r}" if node.get("id") else f"{_tag(node)} in line {node.sourceline}"


def _refused(sheet: _Sheet, node: Any, place: _Place, rule: str) -> CommissionError:
    x, y = node.get("x", "0"), node.get("y", "0")
    return CommissionError(f"{sheet.file}: {_name(node)}, at ({x[:12]}, {y[:12]})", rule)
