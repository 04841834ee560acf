"""What a run came to, as a flat dictionary of names to figures: records and files walked, with no knowledge of either.

A name is the way to a value (`shop.bars.sizes.mass_kg`, `bends.csv.bend_deg`); items of a list share one. Each name
holds three figures of its values: how many, the sum of their sizes, and a sum in which each has a weight and sign of
its own, so that an order turned round or a sign turned over shows. Words count by what they say without their digits,
the numbers in them as numbers.
"""

from __future__ import annotations

import csv
import dataclasses
import json
import re
import zlib
from collections import defaultdict
from collections.abc import Iterable, Iterator
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from pypdf import PageObject

Figures = dict[str, tuple[float, float, float]]
# Steps of this share of one never come back to where they were: each value gets a weight of its own.
_GOLDEN = 0.6180339887498949
_PLAIN = re.compile(r"[^\s]{1,40}")
_NUMBER = re.compile(rb"[-+]?\d*\.?\d+")
_DIGEST = re.compile(r"[0-9a-f]{41,}")
_IN_WORDS = re.compile(r"\d+(?:\.\d+)?")
# What stands whole in a page, a picture in letters, is no words.
_WHOLE = re.compile(r"data:[^\"')\s]{200,}")
# What is drawn is rounded to hundredths, all of a paper's places in one sum: a line that is off by a tenth shows.
_DRAWN, _DRAWN_OFF = (".pdf.", ".svg", ".dxf.", ".numbers"), 0.05
# Strings of PDF, ISO 32000-1 7.3.4: what is written. Where it stands, and all that is drawn, are the numbers between.
_OPERATIONS = re.compile(rb"((?:[-+]?\d*\.?\d+\s+)+)([A-Za-z]+)")
_WORDS = re.compile(rb"\((?:[^()\\]|\\.)*\)|<[0-9A-Fa-f\s]*>", re.DOTALL)
_SHOWN = re.compile(rb"/F(\d+)\s+[\d.]+\s+Tf|\(((?:[^()\\]|\\.)*)\)", re.DOTALL)
_ESCAPED = re.compile(rb"\\(.)", re.DOTALL)
_PLACED = re.compile(rb"<([0-9A-F]{4})> <([0-9A-F]+)>")


def figures_of(values: object, name: str, apart: tuple[type, ...] = ()) -> Figures:
    """Return the figures of a record and all that it holds but records of the types `apart`."""
    told: dict[str, list[float]] = defaultdict(list)
    for key, each in _walked(values, name, apart, {}):
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


def strays(now: Figures, then: Figures, shares: dict[str, float]) -> list[str]:
    """Return a line for every name that is new, gone, or off by more than a share of the sum of its sizes.

    `shares` holds the share by a pattern of names: the first that is found in the name counts.
    """
    said = [f"{name}: gone, was {then[name]}" for name in sorted(then.keys() - now.keys())]
    said += [f"{name}: new, {now[name]}" for name in sorted(now.keys() - then.keys())]
    for name in sorted(now.keys() & then.keys()):
        share = next(share for names, share in shares.items() if re.search(names, name))
        near = share * max(then[name][1], 1e-9)
        near = min(near, _DRAWN_OFF) if any(part in name for part in _DRAWN) else near
        if now[name][0] != then[name][0] or any(abs(a - b) > near for a, b in zip(now[name], then[name], strict=True)):
            said.append(f"{name}: {now[name]}, was {then[name]}")
    return said


def _three(values: list[float]) -> tuple[float, float, float]:
    each = np.array(values, dtype=np.float64)
    each = np.clip(np.nan_to_num(each, nan=-7.0), -1e12, 1e12)
    weights = 0.5 + np.arange(1, len(each) + 1) * _GOLDEN % 1.0
    return len(each), _short(float(np.abs(each).sum())), _short(float(each @ weights))


def _short(value: float) -> float:
    return float(f"{value:.12g}")


def _walked(
    value: object, name: str, apart: tuple[type, ...], seen: dict[int, object]
) -> Iterator[tuple[str, list[float]]]:
    if isinstance(value, bool | int | float | np.number | np.bool_):
        yield name, [float(value)]
    elif isinstance(value, np.ndarray) and value.dtype.kind in "biuf":
        yield name, value.ravel().astype(np.float64).tolist()
    elif isinstance(value, str):
        if _PLAIN.fullmatch(value):
            yield name, [_sign(value)]
        elif value and not _DIGEST.fullmatch(value):
            yield from ((f"{name}.{key}", each) for key, each in _said([value]).items())
    elif value is not None and not isinstance(value, apart):
        for key, each in _inside(value, name, seen):
            yield from _walked(each, key, apart, seen)


def _inside(value: object, name: str, seen: dict[int, object]) -> list[tuple[str, object]]:
    """Return what a list, a dictionary or a record holds, each with its name; a record met again holds nothing."""
    if isinstance(value, np.ndarray):
        value = value.ravel().tolist()
    if isinstance(value, list | tuple) and not hasattr(value, "_fields"):
        return [(name, each) for each in value]
    if isinstance(value, dict):
        return [(f"{name}.{key}" if _is_name(key) else name, each) for key, each in value.items()]
    if id(value) in seen:
        return []
    # Kept, so that no other record gets the number of one that was put away meanwhile.
    seen[id(value)] = value
    return [(f"{name}.{key}", each) for key, each in _parts(value)]


def _sign(text: str) -> float:
    return zlib.crc32(text.encode()) / 2.0**32


def _said(texts: Iterable[str]) -> dict[str, list[float]]:
    """Return what stands in words: the words of each text without their digits, and the numbers."""
    told = list(texts)
    numbers = [float(each) for text in told for each in _IN_WORDS.findall(text)]
    words = [_sign(_IN_WORDS.sub("", text)) for text in told]
    return {"words": words, "numbers": numbers} if numbers else {"words": words}


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
        told["text"] += [_sign(str(entity.dxf.text))] if entity.dxf.hasattr("text") else []
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
        for key, each in _said(_shown(page, b"" if drawn is None else drawn.get_data())).items():
            told[key] += each
    return {"pages": len(pages), **told}


def _shown(page: PageObject, drawn: bytes) -> Iterator[str]:
    """Yield what is written on a page, each string by the letters that its font says its glyphs stand for."""
    letters: dict[bytes, dict[bytes, str]] = {}
    resources: Any = page["/Resources"]
    for name, font in resources.get("/Font", {}).items():
        placed = _PLACED.findall(font.get_object()["/ToUnicode"].get_data())
        letters[name[2:].encode()] = {
            bytes.fromhex(glyph.decode()): bytes.fromhex(sign.decode()).decode("utf-16-be") for glyph, sign in placed
        }
    font = b""
    for chosen, text in _SHOWN.findall(drawn):
        if chosen:
            font = chosen
        else:
            glyphs = _ESCAPED.sub(lambda m: {b"n": b"\n", b"r": b"\r", b"t": b"\t"}.get(m[1], m[1]), text)
            pairs = (glyphs[at : at + 2] for at in range(0, len(glyphs), 2))
            yield "".join(letters[font].get(pair, "?") for pair in pairs)


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
    """Return how bright each row and each column of a picture is: what is moved shows in one of them."""
    from PIL import Image

    with Image.open(path) as seen:
        pixels = np.asarray(seen.convert("RGB"))
    return {"rows": pixels.sum(axis=1, dtype=np.int64), "columns": pixels.sum(axis=0, dtype=np.int64)}


def _told(path: Path) -> object:
    """Return what a page of words says, line by line."""
    return _said(_WHOLE.sub("", path.read_text("utf-8")).splitlines())


def _xlsx(path: Path) -> object:
    from openpyxl import load_workbook  # type: ignore[import-untyped]

    book = load_workbook(path)
    return {
        "wide": [column.width for sheet in book for column in sheet.column_dimensions.values()],
        "cells": [[cell.value for cell in row if cell.value is not None] for sheet in book for row in sheet.rows],
    }


def _swc(path: Path) -> object:
    lines = [line.split() for line in path.read_text("utf-8").splitlines() if not line.startswith("#")]
    return [[float(each) for each in line] for line in lines]


_READERS = {
    ".csv": _csv, ".json": _json, ".dxf": _dxf, ".pdf": _pdf, ".svg": _svg, ".swc": _swc, ".md": _told,
    ".html": _told, ".txt": _told, ".graphml": _told, ".xlsx": _xlsx,
    ".stl": _mesh, ".glb": _mesh, ".obj": _mesh, ".3mf": _mesh,
}  # fmt: skip
