"""Names to stamp, from a CSV of any encoding that people have: nothing is lost, and what looks wrong is reported."""

from __future__ import annotations

import codecs
import csv
import io
import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from armature.edge import CommissionError, read_bytes
from armature.leaves.naming.folding import folded
from armature.leaves.naming.romanised import romanised
from armature.leaves.naming.wishes import Wish, companies, read_wish

_BOMS = ((codecs.BOM_UTF8, "utf-8"), (codecs.BOM_UTF16_LE, "utf-16-le"), (codecs.BOM_UTF16_BE, "utf-16-be"))
_NAME_HEADS = {"name", "names", "full name", "fullname", "text"}
_FAMILY_HEADS = {"family", "household", "group"}
_GIFT_HEADS = {"gift", "gift of", "from", "dedication"}
_WISH_HEADS = {"wish", "wishes", "place"}
# Words that head a column of names as often as they are one; a list that starts with one of them is told.
_HEADING_WORDS = {"donor", "donors", "leaf", "leaves", "person", "people"}
_HEADING_WORDS |= {"first", "first name", "last", "last name", "surname", "amount"} | _FAMILY_HEADS
_SPACES = {"\t": " ", "\n": " ", "\r": " ", "\u00a0": " ", "\u2028": " ", "\u2029": " ", "\u200b": "", "\ufeff": ""}
# Overrides and isolates turn text about so that it reads as something else; joiners are needed by several scripts.
_TURNERS = set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
# What is read where nothing in the file says how it was written.
_GUESSED = ("windows-1252", "latin-1")
_SHOWN = 5
LARGEST_LIST = 20_000_000  # bytes: a line a leaf, ten times over
_END = "\ue000"
# Letters of their own that a visitor types as plain ones; `finder.js` folds what is typed by the same table.
_PLAIN_LETTERS = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "ħ": "h", "ŧ": "t", "þ": "th", "æ": "ae", "œ": "oe"}
    | {"\u0131": "i", "\u03c2": "\u03c3"}  # dotless i; sigma at the end of a word
)
_SPELLED_OUT = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "å": "aa", "ø": "oe"})


@dataclass(frozen=True)
class Note:
    """Something about the list that a person should look at: kind, the rows (from 1, header counted), and the names."""

    kind: str
    rows: tuple[int, ...]
    names: tuple[str, ...]


@dataclass(frozen=True)
class NameList:
    """N names in the order of the file: texts (N,), families (N,) "" where none, rows (N,) in the file.

    encoding and delimiter as found; notes as Note records. gifts, wish_texts: (N,) as written, "" where none; wishes:
    (N,) as read.
    """

    texts: tuple[str, ...]
    families: tuple[str, ...]
    rows: tuple[int, ...]
    encoding: str
    delimiter: str
    notes: tuple[Note, ...]
    gifts: tuple[str, ...] = ()
    wish_texts: tuple[str, ...] = ()
    wishes: tuple[Wish, ...] = ()

    def __post_init__(self) -> None:
        for name, empty in (("gifts", ""), ("wish_texts", ""), ("wishes", Wish())):
            if not getattr(self, name):
                object.__setattr__(self, name, (empty,) * len(self.texts))

    def __len__(self) -> int:
        return len(self.texts)

    @property
    def companies(self) -> tuple[str, ...]:
        """Families (N,), those who wish to hang beside one another joined to them."""
        return companies(self.texts, self.families, self.wishes)


def read_names(file: Path, most: int | None = None) -> NameList:
    """Return the names of a CSV file.

    UTF-8 with or without a byte order mark, UTF-16 with one, else Windows-1252 or Latin-1; commas, semicolons or
    tabs. Several columns need a heading that names `name`, and `family`, `gift` and `wish` if there are such, in
    capitals or not; a file of
    one column may do without. most: leaves there are. Raises CommissionError for several columns without a heading,
    no name at all, control characters and more names than leaves, FileError where unreadable.
    """
    text, encoding = decoded(read_bytes(file, LARGEST_LIST, "list of names"))
    delimiter = _delimiter(text)
    rows = _rows(file, text, delimiter)
    return _list(file, rows, encoding, delimiter, most)


def decoded(data: bytes) -> tuple[str, str]:
    """Return the text and the encoding found.

    >>> decoded("Zoë".encode("latin-1"))
    ('Zoë', 'windows-1252')
    """
    for mark, encoding in _BOMS:
        if data.startswith(mark):
            return data[len(mark) :].decode(encoding, errors="replace"), encoding
    if unmarked := _utf16_without_mark(data):
        return data.decode(unmarked, errors="replace"), unmarked
    for encoding in ("utf-8", "windows-1252"):
        try:
            return data.decode(encoding), encoding
        except UnicodeDecodeError:
            continue
    return data.decode("latin-1"), "latin-1"


def _utf16_without_mark(data: bytes) -> str:
    """UTF-16 by its zero bytes, where nearly every other one is zero as in Latin script; nothing where it is not."""
    start = data[:4096]
    for odd, encoding in ((1, "utf-16-le"), (0, "utf-16-be")):
        if len(start) > 3 and start[odd::2].count(0) > 0.8 * len(start[odd::2]) and not start[1 - odd :: 2].count(0):
            return encoding
    return ""


def _delimiter(text: str) -> str:
    lines = [line for line in text.splitlines()[:2000] if line.strip()]
    if not lines:
        return ","
    head = lines[0].lower()
    for sign in (";", "\t", ","):
        if sign in head and _heads(head.split(sign)):
            return sign
    if _heads([head]):
        # One column: commas in it belong to the names ("Okafor, Ada").
        return ""
    for sign in (";", "\t", ","):
        counts = {line.count(sign) for line in lines}
        if min(counts) > 0 and len(counts) == 1:
            return sign
    return next((sign for sign in (";", "\t") if all(sign in line for line in lines)), "")


def _heads(cells: Iterable[str]) -> bool:
    return bool({cleaned(cell.strip().strip('"')) for cell in cells} & _NAME_HEADS)


def _rows(file: Path, text: str, delimiter: str) -> list[tuple[int, list[str]]]:
    """Rows with the number of their last line; a file of one column is read line by line, quotes around a name taken
    off."""
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    if not delimiter:
        return _one_column(file, text.split("\n"))
    # A last row of our own shows whether a quote is still open at the end, and has taken it for part of a name.
    reader = csv.reader(io.StringIO(f"{text}\n{_END}\n", newline=""), delimiter=delimiter, skipinitialspace=True)
    limit = csv.field_size_limit(max(len(text) + 9, 131072))
    try:
        rows, last = [], 0
        for row in reader:
            if row == [_END]:
                break
            if any(cell.endswith(f"\n{_END}\n") for cell in row):
                raise _open_quote(file, last + 1)
            last = reader.line_num
            if any(cell.strip() for cell in row):
                rows.append((last, row))
        return rows
    finally:
        csv.field_size_limit(limit)


def _one_column(file: Path, lines: list[str]) -> list[tuple[int, list[str]]]:
    rows: list[tuple[int, list[str]]] = []
    parts: list[str] = []
    first, quotes = 0, 0
    for number, line in enumerate(lines, 1):
        if not parts:
            first, quotes = number, 0
        parts.append(line)
        quotes += line.count('"')
        if parts[0].lstrip(" \t").startswith('"') and quotes % 2:
            continue
        whole = "\n".join(parts)
        if whole.strip():
            rows.append((number, [_unquoted(whole)]))
        parts = []
    if parts:
        raise _open_quote(file, first)
    return rows


def _open_quote(file: Path, row: int) -> CommissionError:
    return CommissionError(f"{file}: row {row}", "a quote is opened and never closed")


def _unquoted(line: str) -> str:
    bare = line.strip(" \t")
    whole = len(bare) > 1 and bare[0] == bare[-1] == '"'
    return bare[1:-1].replace('""', '"') if whole else bare


def _list(file: Path, rows: list[tuple[int, list[str]]], encoding: str, delimiter: str, most: int | None) -> NameList:
    columns = _columns(file, rows)
    name, family = columns.name, columns.family
    texts: list[str] = []
    families, gifts, wishes, numbers, empty, bad, broken = [], [], [], [], [], [], []
    for number, row in rows[columns.start :]:
        text = cleaned(row[name]) if name < len(row) else ""
        kin, gift, wish = (cleaned(row[k]) if 0 <= k < len(row) else "" for k in (family, columns.gift, columns.wish))
        if controls(text + kin + gift + wish):
            bad.append((number, text + kin))
        if not text:
            empty.append(number)
            continue
        if "\n" in row[name].strip():
            broken.append(len(texts))
        texts.append(text)
        families.append(kin)
        gifts.append(gift)
        wishes.append(wish)
        numbers.append(number)
    if bad:
        more = f" and {len(bad) - _SHOWN} more" if len(bad) > _SHOWN else ""
        shown = ", ".join(str(n) for n, _ in bad[:_SHOWN]) + more
        raise CommissionError(str(file), f"names must hold no control characters; see row {shown}")
    if not texts:
        raise CommissionError(str(file), "holds no name")
    if most is not None and len(texts) > most:
        over = f"holds {len(texts)} names for {most} leaves: {len(texts) - most} would have none; raise leaves.count"
        raise CommissionError(str(file), over)
    notes = [*columns.notes]
    notes += [Note("row without a name", tuple(empty), ())] if empty else []
    notes += [_note("name over several lines, made one", [k], texts, numbers) for k in broken]
    accented = [k for k, text in enumerate(texts) if not text.isascii()]
    if accented and encoding in _GUESSED:
        notes.append(
            _note(f"not UTF-8, read as {encoding}: see that it is spelled right", accented[:_SHOWN], texts, numbers)
        )
    notes += name_notes(texts, numbers)
    read = tuple(read_wish(wish) for wish in wishes)
    notes += _wish_notes(texts, read, numbers)
    return NameList(
        tuple(texts), tuple(families), tuple(numbers), encoding, delimiter or "none", tuple(notes), tuple(gifts),
        tuple(wishes), read,
    )  # fmt: skip


def _wish_notes(texts: Sequence[str], wishes: Sequence[Wish], numbers: Sequence[int]) -> list[Note]:
    """Wishes that say nothing this program can grant, and company that is not on the list."""
    listed = {folded(text) for text in texts}
    notes = [
        Note(f"wish not understood: {w.unread[0]}", (n,), (t,))
        for t, w, n in zip(texts, wishes, numbers, strict=True)
        if w.unread
    ]
    lost = [
        (t, w, n) for t, w, n in zip(texts, wishes, numbers, strict=True) if w.beside and folded(w.beside) not in listed
    ]
    return notes + [
        Note(f"wishes to hang beside a name that is not listed: {w.beside}", (n,), (t,)) for t, w, n in lost
    ]


@dataclass(frozen=True)
class _Columns:
    """Where names and families stand (-1: nowhere), at which row they start, and what is to be told of the heading."""

    name: int
    family: int
    start: int
    notes: tuple[Note, ...]
    gift: int = -1
    wish: int = -1


def _columns(file: Path, rows: list[tuple[int, list[str]]]) -> _Columns:
    if not rows:
        return _Columns(0, -1, 0, ())
    number, first = rows[0]
    heads = [cleaned(cell).lower() for cell in first]
    name = _place(heads, _NAME_HEADS)
    if name >= 0:
        family = _place(heads, _FAMILY_HEADS)
        gift, wish = _place(heads, _GIFT_HEADS), _place(heads, _WISH_HEADS)
        return _Columns(name, family, 1, _ignored(rows, {name, family, gift, wish}), gift, wish)
    if any(cell.strip() for _, row in rows for cell in row[1:]):
        rule = 'several columns need a heading with a column "name"'
        raise CommissionError(f"{file}: row {number}", rule)
    parts = {part.strip() for part in re.split("[,;\t]", heads[0])}
    told = Note("looks like a heading, kept as a name", (number,), (cleaned(first[0]),))
    return _Columns(0, -1, 0, (told,) if parts & _HEADING_WORDS else ())


def _place(heads: Sequence[str], known: set[str]) -> int:
    return next((k for k, head in enumerate(heads) if head in known), -1)


def _ignored(rows: list[tuple[int, list[str]]], read: set[int]) -> tuple[Note, ...]:
    """Columns that no one reads, and rows that run on beyond the heading: a comma too many parts a name."""
    number, first = rows[0]
    others = tuple(cleaned(cell) for k, cell in enumerate(first) if k not in read and cell.strip())
    notes = [Note("columns not read", (number,), others)] if others else []
    bare_heads = {k for k, cell in enumerate(first) if not cell.strip()}
    beyond = [n for n, row in rows if any(c.strip() for k, c in enumerate(row) if k >= len(first) or k in bare_heads)]
    return (*notes, *([Note("cells without a heading, not read", tuple(beyond), ())] if beyond else []))


def cleaned(text: str) -> str:
    """Return the text as it will be stamped: composed (NFC), runs of spaces as one, none at the ends.

    >>> cleaned("  Ada   Lovelace ")
    'Ada Lovelace'
    """
    spaced = "".join(_SPACES.get(sign, sign) for sign in text)
    return " ".join(part for part in unicodedata.normalize("NFC", spaced).split(" ") if part)


def controls(text: str) -> bool:
    """Return whether a text holds control characters, or signs that turn text about."""
    return any(unicodedata.category(sign) in {"Cc", "Cs"} or sign in _TURNERS for sign in text if not sign.isalnum())


def name_notes(texts: Sequence[str], rows: Sequence[int]) -> list[Note]:
    """Return duplicates, near-duplicates and garbled names of a list; every name stays on it."""
    notes = [
        Note("looks decoded twice", (rows[k],), (text,))
        for k, text in enumerate(texts)
        if "\ufffd" in text or any(pair in text for pair in ("Ã©", "Ã¨", "Ã¶", "Ã¼", "Ã¤", "Ã±", "â€™", "Ã¡", "Ã³"))
    ]
    same: dict[str, list[int]] = defaultdict(list)
    for k, text in enumerate(texts):
        same[folded(text)].append(k)
    notes += [_note("duplicate", group, texts, rows) for group in same.values() if len(group) > 1]
    firsts = [group[0] for group in same.values()]
    return notes + [_note("near-duplicate", pair, texts, rows) for pair in _near(texts, firsts)]


def bare(text: str) -> str:
    """Return the letters and digits alone, without accents and capitals, for finding a name however it is typed.

    Letters that have no accent to take off are spelled as without one: `ø` as `o`, `ß` as `ss`, `æ` as `ae`.

    >>> bare("Zoë O’Brien"), bare("Søren Łuczak")
    ('zoe obrien', 'soren luczak')
    """
    apart = unicodedata.normalize("NFKD", text.casefold()).translate(_PLAIN_LETTERS)
    return " ".join("".join(s for s in apart if s.isalnum() or s.isspace() or s == "-").replace("-", " ").split())


def search_key(text: str) -> str:
    """Return what a search looks through: the bare name, and whatever differs from it of its spelling with `ae`, `oe`,
    `ue`, `aa` and in Latin letters.

    >>> search_key("Jörg Bø"), search_key("José"), search_key("Данило")
    ('jorg bo|joerg boe', 'jose', 'данило|danilo|danylo')
    """
    spelled = unicodedata.normalize("NFC", text).casefold().translate(_SPELLED_OUT)
    return "|".join(dict.fromkeys(bare(way) for way in (text, spelled, *romanised(text))))


def _note(kind: str, group: Sequence[int], texts: Sequence[str], rows: Sequence[int]) -> Note:
    return Note(kind, tuple(rows[k] for k in group), tuple(texts[k] for k in group))


def _near(texts: Sequence[str], firsts: Sequence[int]) -> list[tuple[int, int]]:
    """Pairs alike but for accents, word order, or one letter more, less or other (names of five letters and more).

    Two words one edit apart share a form with one letter left out, so that only such words are compared.
    """
    buckets: dict[str, list[int]] = defaultdict(list)
    bares = {k: bare(texts[k]) or texts[k] for k in firsts}
    for k, plain in bares.items():
        buckets["=" + " ".join(sorted(plain.split()))].append(k)
        if 5 <= len(plain) <= 60:
            for form in {plain} | {plain[:i] + plain[i + 1 :] for i in range(len(plain))}:
                buckets[form].append(k)
    pairs = {
        (a, b)
        for group in buckets.values()
        if len(group) > 1
        for i, a in enumerate(group[:50])
        for b in group[i + 1 : 50]
        if _alike(bares[a], bares[b])
    }
    return sorted(pairs)


def _alike(a: str, b: str) -> bool:
    if sorted(a.split()) == sorted(b.split()):
        return True
    if abs(len(a) - len(b)) > 1:
        return False
    start = next((i for i, (x, y) in enumerate(zip(a, b, strict=False)) if x != y), min(len(a), len(b)))
    x, y = a[start:], b[start:]
    if len(a) == len(b):
        return x[1:] == y[1:] or (x[:2] == y[:2][::-1] and x[2:] == y[2:])
    return x[1:] == y or x == y[1:]
