"""What a run came to, as a flat dictionary of names to figures: records and files walked, with no knowledge of either.

A name is the way to a value (`shop.bars.sizes.mass_kg`, `bends.csv.bend_deg`); items of a list share one. Each name
holds three figures of its values: how many, the sum of their sizes, and a sum in which each has a weight and sign of
its own, so that an order turned round or a sign turned over shows. Words count by what they say, sentences do not.
"""

from __future__ import annotations

import csv
import dataclasses
import json
import re
import zlib
from collections import defaultdict
from collections.abc import Iterator
from functools import cached_property
from pathlib import Path

import numpy as np

Figures = dict[str, tuple[float, float, float]]
# Steps of this share of one never come back to where they were: each value gets a weight of its own.
_GOLDEN = 0.6180339887498949
_PLAIN = re.compile(r"[^\s]{1,40}")
_NUMBER = re.compile(rb"[-+]?\d*\.?\d+")
# Strings of PDF, ISO 32000-1 7.3.4: what is written. Where it stands, and all that is drawn, are the numbers between.
_OPERATIONS = re.compile(rb"((?:[-+]?\d*\.?\d+\s+)+)([A-Za-z]+)")
_WORDS = re.compile(rb"\((?:[^()\\]|\\.)*\)|<[0-9A-Fa-f\s]*>", re.DOTALL)


def figures_of(values: object, name: str, apart: tuple[type, ...] = ()) -> Figures:
    """Return the figures of a record and all that it holds but records of the types `apart`."""
    told: dict[str, list[float]] = defaultdict(list)
    for key, each in _walked(values, name, apart, set()):
        told[key] += each
    return {key: _three(each) for key, each in sorted(told.items())}


def figures_of_folder(folder: Path, pictures: bool = False) -> Figures:
    """Return the figures of the files of a folder, pictures only where they are asked for; of two with the same bytes
    the first."""
    readers = _READERS | ({".png": _png} if pictures else {})
    told: Figures = {}
    read: set[bytes] = set()
    for path in sorted(folder.rglob("*")):
        if path.suffix in readers and ".armature" not in path.parts and path.read_bytes() not in read:
            read.add(path.read_bytes())
            told.update(figures_of(readers[path.suffix](path), path.relative_to(folder).as_posix()))
    return told


def strays(now: Figures, then: Figures, share: float) -> list[str]:
    """Return a line for every name that is new, gone, or off by more than the share of the sum of its sizes."""
    said = [f"{name}: gone, was {then[name]}" for name in sorted(then.keys() - now.keys())]
    said += [f"{name}: new, {now[name]}" for name in sorted(now.keys() - then.keys())]
    for name in sorted(now.keys() & then.keys()):
        near = share * max(then[name][1], 1e-9)
        if now[name][0] != then[name][0] or any(abs(a - b) > near for a, b in zip(now[name], then[name], strict=True)):
            said.append(f"{name}: {now[name]}, was {then[name]}")
    return said


def _three(values: list[float]) -> tuple[float, float, float]:
    each = np.array(values, dtype=np.float64)
    each = np.clip(np.nan_to_num(each, nan=-7.0), -1e12, 1e12)
    weights = 0.5 + np.arange(1, len(each) + 1) * _GOLDEN % 1.0
    return len(each), _short(float(np.abs(each).sum())), _short(float(each @ weights))


def _short(value: float) -> float:
    return float(f"{value:.9g}")


def _walked(value: object, name: str, apart: tuple[type, ...], seen: set[int]) -> Iterator[tuple[str, list[float]]]:
    if isinstance(value, bool | int | float | np.number | np.bool_):
        yield name, [float(value)]
    elif isinstance(value, np.ndarray) and value.dtype.kind in "biuf":
        yield name, value.ravel().astype(np.float64).tolist()
    elif isinstance(value, str):
        if _PLAIN.fullmatch(value):
            yield name, [zlib.crc32(value.encode()) / 2.0**32]
    elif value is not None and not isinstance(value, apart):
        for key, each in _inside(value, name, seen):
            yield from _walked(each, key, apart, seen)


def _inside(value: object, name: str, seen: set[int]) -> list[tuple[str, object]]:
    """Return what a list, a dictionary or a record holds, each with its name; a record met again holds nothing."""
    if isinstance(value, np.ndarray):
        value = value.ravel().tolist()
    if isinstance(value, list | tuple) and not hasattr(value, "_fields"):
        return [(name, each) for each in value]
    if isinstance(value, dict):
        return [(f"{name}.{key}" if _is_name(key) else name, each) for key, each in value.items()]
    if id(value) in seen:
        return []
    seen.add(id(value))
    return [(f"{name}.{key}", each) for key, each in _parts(value)]


def _is_name(key: object) -> bool:
    """Return whether a key names a kind of value: tags, which hold a capital or a digit, do not."""
    return isinstance(key, str) and re.fullmatch(r"[a-z_ ]+|[A-Z][a-z]", key) is not None


def _parts(value: object) -> list[tuple[str, object]]:
    """Return the fields and properties of a record of the house, by name."""
    kind = type(value)
    if not kind.__module__.startswith("armature"):
        return []
    names = [field.name for field in dataclasses.fields(value)] if dataclasses.is_dataclass(value) else []
    names += list(getattr(value, "_fields", ()))
    held = {name: each for base in kind.__mro__ for name, each in vars(base).items()}
    names += [name for name, each in held.items() if isinstance(each, property | cached_property)]
    return [(name, getattr(value, name)) for name in dict.fromkeys(names) if not name.startswith("_")]


def _csv(path: Path) -> object:
    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.reader(file))
    return {column: [_number(row[at]) for row in rows[1:] if at < len(row)] for at, column in enumerate(rows[0])}


def _number(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


def _json(path: Path) -> object:
    return json.loads(path.read_text("utf-8"))


def _dxf(path: Path) -> object:
    """Return the coordinates, sizes and angles of the entities, by layer and group code."""
    from ezdxf.entities.lwpolyline import LWPolyline
    from ezdxf.filemanagement import readfile

    told: dict[str, list[float]] = defaultdict(list)
    for entity in readfile(path).modelspace():
        for key, value in entity.dxfattribs().items():
            if isinstance(value, int | float):
                told[f"{entity.dxftype().lower()}_{key}"].append(float(value))
            elif hasattr(value, "xyz"):
                told[f"{entity.dxftype().lower()}_{key}"] += value.xyz
        if isinstance(entity, LWPolyline):
            told["points"] += [float(each) for point in entity.get_points() for each in point]
    return dict(told)


def _pdf(path: Path) -> object:
    from pypdf import PdfReader

    told: dict[str, list[float]] = defaultdict(list)
    pages = PdfReader(path).pages
    for page in pages:
        drawn = page.get_contents()
        for numbers, operator in _OPERATIONS.findall(b"" if drawn is None else _WORDS.sub(b" ", drawn.get_data())):
            told[operator.decode()] += map(float, numbers.split())
    return {"pages": len(pages), **told}


def _mesh(path: Path) -> object:
    """Return volume, skin and box of a mesh: its corners may come in any order."""
    import trimesh

    scene = trimesh.load_scene(path)
    bodies = list(scene.dump())
    skin = [float(each.area) for each in bodies if isinstance(each, trimesh.Trimesh)]
    return {"volume": float(scene.volume) if skin else 0.0, "skin": sorted(skin), "box": scene.bounds}


def _svg(path: Path) -> object:
    text = path.read_bytes()
    return [float(each) for part in re.findall(rb'(?:points|d|x1|y1|cx|cy|r)="([^"]*)"', text)
            for each in _NUMBER.findall(part)]  # fmt: skip


def _png(path: Path) -> object:
    from PIL import Image

    with Image.open(path) as seen:
        return np.asarray(seen.convert("RGB"))


def _told(path: Path) -> object:
    """Return the numbers that stand in the words of a page."""
    return [float(each) for each in _NUMBER.findall(path.read_bytes())]


def _swc(path: Path) -> object:
    lines = [line.split() for line in path.read_text("utf-8").splitlines() if not line.startswith("#")]
    return [[float(each) for each in line] for line in lines]


_READERS = {
    ".csv": _csv, ".json": _json, ".dxf": _dxf, ".pdf": _pdf, ".svg": _svg, ".swc": _swc, ".md": _told,
    ".stl": _mesh, ".glb": _mesh, ".obj": _mesh, ".3mf": _mesh,
}  # fmt: skip
