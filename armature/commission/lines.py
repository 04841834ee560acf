"""On which line of a TOML text each key stands, for error messages; tomllib checks the grammar, this only looks."""

from __future__ import annotations

import re
from collections import Counter

_KEY = re.compile(r"""^\s*((?:[\w-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[\w-]+|"[^"]*"|'[^']*'))*)\s*=(.*)$""")
_TEXT = re.compile(r'"(?:[^"\\]|\\.)*"' + r"|'[^']*'|#.*$")

Key = tuple[str, ...]


def key_lines(text: str) -> dict[Key, int]:
    """Return the line, from 1, of every key and table header; keys in an inline table share its line.

    Entries of an array of tables are numbered from 0, as pydantic numbers them.

    >>> key_lines('title = "x"\\n[canopy]\\nheight = "3 m"')
    {('title',): 1, ('canopy',): 2, ('canopy', 'height'): 3}
    """
    lines: dict[Key, int] = {}
    table: Key = ()
    entries: Counter[Key] = Counter()
    depth, closing = 0, ""
    for number, line in enumerate(text.splitlines(), 1):
        if closing:
            closing = "" if closing in line else closing
            continue
        if depth == 0 and (header := _header(line)):
            table = _parts(header)
            lines.setdefault(table, number)
            if line.lstrip().startswith("[["):
                entries[table] += 1
                table += (str(entries[table] - 1),)
                lines[table] = number
            continue
        value = line
        if depth == 0 and (matched := _KEY.match(line)):
            lines.setdefault(table + _parts(matched[1]), number)
            value = matched[2]
        closing = next((mark for mark in ('"""', "'''") if value.count(mark) == 1), "")
        bare = _TEXT.sub("", value)
        depth = max(depth + bare.count("[") + bare.count("{") - bare.count("]") - bare.count("}"), 0)
    return lines


def _header(line: str) -> str:
    """Return the name in a table's header, nothing where a line is none; no pattern is as sure to be linear."""
    bare = line.strip()
    if not bare.startswith("["):
        return ""
    name, end, after = bare.lstrip("[").partition("]")
    after = after.lstrip("]").strip()
    return name.strip() if end and "[" not in name and (not after or after.startswith("#")) else ""


def line_of(key: Key, lines: dict[Key, int]) -> int | None:
    """Return the line of a key, or of the nearest table around it that the text names; None where there is none."""
    for length in range(len(key), 0, -1):
        if key[:length] in lines:
            return lines[key[:length]]
    return None


def _parts(dotted: str) -> Key:
    return tuple(part.strip().strip("\"'") for part in re.findall(r'"[^"]*"|\'[^\']*\'|[^.]+', dotted))
