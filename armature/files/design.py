"""design.json: the Tree with its commission, versioned; what is loaded is what was saved, to the last bit.

Numbers are written with the fewest digits that read back as the same double. The records are written field by field
under their own names, so that the file explains itself beside the docstrings of Tree, Chains and Leaves.
"""

from __future__ import annotations

import json
import os
from contextlib import suppress
from dataclasses import fields
from pathlib import Path
from typing import Any, NoReturn

import numpy as np
from numpy.typing import NDArray
from pydantic import ValidationError

from armature.commission import Commission, as_tables
from armature.edge import FileError, read_bytes
from armature.files.sound import flaw
from armature.tree import Chains, Leaves, Tapers, Tree, cones

FORMAT, VERSION = "armature design", 2
_RECORDS: dict[str, type[Chains] | type[Leaves] | type[Tapers]] = {"Chains": Chains, "Leaves": Leaves, "Tapers": Tapers}
# Up to version 1 every bar was one cone: full to a station, then straight to its tip.
_LARGEST = 400_000_000  # bytes: a tree of some 300,000 members
_CONES = ("start_diameters", "end_diameters", "taper_starts")
_KINDS = {"Strings": str, "Ints": int, "Floats": float}


def design_json(tree: Tree, commission: Commission) -> str:
    """Return the text of design.json, one line a field."""
    head = {"format": FORMAT, "version": VERSION, "commission": as_tables(commission)}
    lines = [f"{json.dumps(key)}: {json.dumps(value, ensure_ascii=False)}" for key, value in head.items()]
    return "{\n" + ",\n".join([*lines, f'"tree": {_written(tree)}']) + "\n}\n"


def load(path: str | os.PathLike[str]) -> tuple[Tree, Commission]:
    """Return the Tree and the Commission that a design.json, or the job folder around it, holds.

    Raises FileError in one line for a file that is missing, cut short, of another version, or holds no sound tree.
    """
    file = Path(path)
    with suppress(OSError):  # where it cannot even be asked about, reading it says why
        file = file / "design.json" if file.is_dir() else file
    data = _parsed(file)
    if data.get("format") != FORMAT:
        raise FileError(file, f'is no design: "format" must be "{FORMAT}"')
    version = data.get("version")
    if version not in range(1, VERSION + 1) or isinstance(version, bool):
        raise FileError(file, f"is a design of version {version!r}; this program reads versions 1 to {VERSION}")
    try:
        tree = _read(Tree, _coned(data.get("tree")) if version == 1 else data.get("tree"), "tree")
    except ValueError as error:
        raise FileError(file, f"is broken: {error}") from None
    if fault := flaw(tree):
        raise FileError(file, f"is broken: {fault}")
    return tree, _commission(data.get("commission"), file)


def _parsed(file: Path) -> dict[str, Any]:
    try:
        data = json.loads(read_bytes(file, _LARGEST, "design").decode("utf-8"), parse_constant=_refuse)
    except UnicodeDecodeError:
        raise FileError(file, "is not text in UTF-8") from None
    except json.JSONDecodeError as error:
        if file.suffix.lower() != ".json":
            raise FileError(file, "is no design: a design.json or the job folder around it is wanted") from None
        raise FileError(file, f"is cut short or broken: {error.msg} in line {error.lineno}") from None
    except RecursionError:
        raise FileError(file, "is broken: nested too deep") from None
    except FileError:
        raise
    except OSError as error:
        raise FileError(file, f"cannot be read: {error.strerror or error}") from None
    except ValueError as error:
        # Python's own words for a whole number of too many digits are advice to a programmer.
        said = "holds a number that is too long" if "digits" in str(error) else f"cannot be read: {error}"
        raise FileError(file, said) from None
    if not isinstance(data, dict):
        raise FileError(file, 'is no design: "format" is missing')
    return data


def _refuse(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number")


def _commission(tables: Any, file: Path) -> Commission:
    try:
        commission = Commission.model_validate(tables)
    except ValidationError as error:
        first = error.errors()[0]
        key = ".".join(map(str, first["loc"]))
        raise FileError(file, f"is broken: commission.{key}: {first['msg']}".replace("\n", " ")) from None
    # Files that the commission names are looked for beside the design.
    commission._folder, commission._source = file.parent, str(file)
    return commission


def _coned(tree: Any) -> Any:
    """Return the tree of a design of version 1 as one of today's: its cones told as tapers, no bundle."""
    if not isinstance(tree, dict):
        return tree
    told = {name: _array(tree.get(name), "Floats", f"tree.{name}") for name in _CONES}
    counts = {len(values) for values in told.values()}
    if len(counts) > 1:
        raise ValueError(f"tree.{', '.join(_CONES)} must have as many values each")
    tapers = cones(*told.values())
    columns = {field.name: getattr(tapers, field.name).tolist() for field in fields(Tapers)}
    rest = {name: value for name, value in tree.items() if name not in _CONES}
    return {**rest, "tapers": columns, "departures": [0.0] * counts.pop()}


def _written(record: Tree | Chains | Leaves | Tapers) -> str:
    lines = []
    for field in fields(record):
        value = getattr(record, field.name)
        if field.type in _RECORDS:
            text = _written(value)
        else:
            text = json.dumps(value.tolist(), ensure_ascii=False, allow_nan=False, separators=(",", ":"))
        lines.append(f'"{field.name}": {text}')
    return "{\n" + ",\n".join(lines) + "\n}"


def _read(record: type[Any], data: Any, where: str) -> Any:
    if not isinstance(data, dict):
        raise ValueError(f"{where} is missing")
    names = [field.name for field in fields(record)]
    if unknown := sorted(set(data) - set(names)):
        raise ValueError(f"{where}.{unknown[0]} is no key of a design")
    arrays = {}
    for field in fields(record):
        place, value, kind = f"{where}.{field.name}", data.get(field.name), str(field.type)
        arrays[field.name] = _read(_RECORDS[kind], value, place) if kind in _RECORDS else _array(value, kind, place)
    return record(**arrays)


def _array(value: Any, kind: str, where: str) -> NDArray[Any]:
    if not isinstance(value, list):
        raise ValueError(f"{where} is missing")
    flat = [item for row in value for item in row] if where.endswith(".vertices") and _are_points(value) else value
    wanted = _KINDS[kind]
    if not all(type(item) is wanted or (wanted is float and type(item) is int) for item in flat):
        raise ValueError(f"{where} must be a list of {'text' if wanted is str else kind.lower()}")
    if wanted is str and any("\ud800" <= letter <= "\udfff" for text in flat for letter in text):
        raise ValueError(f"{where} holds half a character")
    try:
        array: NDArray[Any] = np.array(flat, dtype={str: np.str_, int: np.int64, float: np.float64}[wanted])
    except OverflowError:
        raise ValueError(f"{where} holds a number too large") from None
    return array.reshape(-1, 3) if flat is not value or where.endswith(".vertices") else array


def _are_points(value: list[Any]) -> bool:
    return all(isinstance(row, list) and len(row) == 3 for row in value)
