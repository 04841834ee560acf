"""A workbook of lists: sheets by name, text as text, numbers as numbers, the same bytes."""

from __future__ import annotations

import io
import zipfile
from xml.etree import ElementTree

from armature.papers import book, rows_of

SHEETS: dict[str, list[list[str | float]]] = {"bars": [["tag", "cut_mm"], ["=1+1", 12.5]], "a & b": [["x"], ["<y>"]]}


def cells(data: bytes, number: int) -> list[tuple[str, str | None]]:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        root = ElementTree.fromstring(archive.read(f"xl/worksheets/sheet{number}.xml"))
    return [("".join(cell.itertext()), cell.get("t")) for cell in root.iter() if cell.tag.endswith("}c")]


def test_each_list_is_a_sheet_with_text_as_text_and_numbers_as_numbers() -> None:
    data = book(SHEETS)
    assert cells(data, 1) == [("tag", "inlineStr"), ("cut_mm", "inlineStr"), ("=1+1", "inlineStr"), ("12.5", None)]
    assert cells(data, 2) == [("x", "inlineStr"), ("<y>", "inlineStr")]
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert b'name="a &amp; b"' in archive.read("xl/workbook.xml")
        assert len([name for name in archive.namelist() if "worksheets/" in name]) == 2


def test_the_same_lists_give_the_same_bytes() -> None:
    assert book(SHEETS) == book(SHEETS)


def test_a_guarded_text_comes_back_as_it_was_written() -> None:
    assert rows_of("tag,name,turn_deg\nA,'=Ann,-12.0\n") == [["tag", "name", "turn_deg"], ["A", "=Ann", -12.0]]
