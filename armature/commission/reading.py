"""From a TOML file or text to a commission, and from one commission to a changed one."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from armature.commission.complaints import complaint
from armature.commission.lines import key_lines
from armature.commission.model import Commission
from armature.commission.named_files import check_files
from armature.commission.writing import as_tables
from armature.edge import CommissionError, FileError, read_bytes

_LARGEST = 5_000_000  # bytes: a commission is a page or two, a file over this is something else
# Tables within tables: the deepest key of a commission has 4 parts. The reader of TOML is slow on deep ones.
_DEEPEST = 32
# What stands in quotes or in a comment; what is never closed goes to the end.
_ASIDE = re.compile(
    r'"""[\s\S]*?(?:"""|\Z)|' + r"'''[\s\S]*?(?:'''|\Z)" + r'|"(?:[^"\\\n]|\\.)*"?' + r"|'[^'\n]*'?|#[^\n]*"
)


def read(source: Path | str, folder: Path | None = None) -> Commission:
    """Return the commission in a TOML file, or in TOML text when `source` is a str of more than one line.

    Files that it names lie below the file's folder, or below `folder` where that is given. Raises CommissionError or
    FileError in one line; files that the commission names must be there and open where it is read from a file.

    >>> tree = read('title = "Alder"\\ncanopy.height = "3 m"\\ngrowth = {limbs = 3, branches = 12, twigs = 90}')
    >>> tree.canopy.height, tree.leaves.count
    (3000.0, 270)
    """
    if isinstance(source, str) and "\n" in source:
        return _checked(_parsed(source, "commission"), "commission", source, folder or Path())
    path = Path(source)
    text = _text_of(path)
    commission = _checked(_parsed(text, str(path)), str(path), text, folder or path.parent)
    check_files(commission, str(path), text)
    return commission


def changed(commission: Commission, values: Mapping[str, Any]) -> Commission:
    """Return the commission with some keys changed, checked anew: `changed(tree, {"canopy.height": "4 m"})`.

    Values are as in the file: quantities as text with a unit. What was filled in by default stays as it was.
    """
    tables = as_tables(commission)
    for dotted, value in values.items():
        *path, last = dotted.split(".")
        table = tables
        for part in path:
            table = table.setdefault(part, {})
            if not isinstance(table, dict):
                raise CommissionError(f"{commission.source}: {dotted}", "unknown key")
        table[last] = value
    return _checked(tables, commission.source, "", commission.folder)


def _checked(tables: dict[str, Any], file: str, text: str, folder: Path) -> Commission:
    try:
        commission = Commission.model_validate(tables)
    except ValidationError as error:
        raise complaint(error, Commission, file, key_lines(text)) from None
    commission._folder, commission._source = folder, file
    return commission


def _parsed(text: str, file: str) -> dict[str, Any]:
    deep = max(part.count(".") for part in re.split(r"[=,{}\[\]\n]", _ASIDE.sub('""', text)))
    if deep >= _DEEPEST:
        raise CommissionError(file, f"keys must be at most {_DEEPEST} parts deep", deep + 1)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        place = re.search(r"^(.*) \(at (?:line (\d+), column (\d+)|end of document)\)$", str(error))
        line = f": line {place[2]}" if place and place[2] else ""
        raise CommissionError(f"{file}{line}", f"is not TOML: {place[1] if place else error}") from None
    except RecursionError:
        raise CommissionError(file, "is not TOML: nested too deep") from None
    except ValueError:
        # A whole number of more digits than Python reads.
        raise CommissionError(file, "holds a number that is too long") from None


def _text_of(path: Path) -> str:
    try:
        return (
            read_bytes(path, _LARGEST, "commission", pipes=True)
            .decode("utf-8-sig")
            .replace("\r\n", "\n")
            .replace("\r", "\n")
        )
    except UnicodeDecodeError:
        raise FileError(path, "is not text in UTF-8") from None
