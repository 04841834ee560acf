"""What is made as planned, as the shop lists it: made.csv of a job folder."""

from __future__ import annotations

import csv
from pathlib import Path

from armature.edge import FileError, read_bytes

_LARGEST = 20_000_000  # bytes


def made_tags(path: Path) -> list[str]:
    """Return the tags that a made.csv lists, none where there is no such file: a column `tag`, or else the first
    column.

    Raises FileError where the file cannot be read.
    """
    if not path.is_file():
        return []
    try:
        text = read_bytes(path, _LARGEST, "list of tags").decode("utf-8-sig")
        rows = [row for row in csv.reader(text.splitlines()) if any(cell.strip() for cell in row)]
    except FileError:
        raise
    except (UnicodeDecodeError, csv.Error) as fault:
        raise FileError(path, f"cannot be read as a list of tags: {fault}") from None
    names = [cell.strip().lower() for cell in rows[0]] if rows else []
    column = names.index("tag") if "tag" in names else 0
    body = rows[1:] if "tag" in names else rows
    return [row[column].strip() for row in body if len(row) > column and row[column].strip()]
