"""A name of another script in Latin letters, so that it is found by somebody who cannot type it.

Signs are looked up one by one, the longest first; a consonant of an Indic script carries its `a` unless a vowel sign or
a virama follows. Chinese signs are left as they are: how they sound takes a dictionary. What comes out finds a name and
is never shown.
"""

from __future__ import annotations

import tomllib
import unicodedata
from collections.abc import Iterator
from functools import cache
from importlib.resources import files
from typing import Any

# First and last block of the scripts that lie parallel to Devanagari, and the length of a block.
_INDIC, _INDIC_END, _BLOCK = 0x0900, 0x0D80, 0x80
_KATAKANA, _KATAKANA_END, _TO_HIRAGANA = 0x30A1, 0x30F6, 0x60
_HANGUL = (("hangul_first", 0x1100), ("hangul_vowel", 0x1161), ("hangul_last", 0x11A8))
_LONGEST = 2


def romanised(text: str) -> tuple[str, ...]:
    """Return the one or two ways to spell a text in Latin letters, none where it holds no sign of another script.

    >>> romanised("Данило"), romanised("김"), romanised("Ada")
    (('danilo', 'danylo'), ('gim', 'kim'), ())
    """
    signs = _prepared(text)
    ways = tuple("".join(_spelled(signs, way)) for way in (0, 1))
    if ways[0] == signs and ways[1] == signs:
        return ()
    return ways if ways[0] != ways[1] else ways[:1]


@cache
def script_table() -> dict[str, Any]:
    """Return the table that the page spells by: `letters` sign to ways, and of Indic scripts the `bare` consonants and
    the `signs` that take their `a` away."""
    table = tomllib.loads(files("armature.data").joinpath("romanised.toml").read_text(encoding="utf-8"))
    letters: dict[str, list[str]] = {}
    for name, row in table["letters"].items():
        if not name.startswith("hangul"):
            letters |= _read(row)
    for name, first in _HANGUL:
        ways = table["letters"][name].replace("-", "").split(" ")
        letters |= {chr(first + k): _both(way) for k, way in enumerate(ways)}
    indic = {name: _read(row) for name, row in table["indic"].items()}
    for part in indic.values():
        letters |= part
    return {"letters": letters, "bare": "".join(indic["consonants"]), "signs": "".join(indic["signs"])}


def _read(row: str) -> dict[str, list[str]]:
    pairs = (item.split("=", 1) for item in row.split())
    return {unicodedata.normalize("NFKD", sign): _both(ways) for sign, ways in pairs}


def _both(ways: str) -> list[str]:
    first, _, second = ways.partition("/")
    return [first, second if "/" in ways else first]


def _prepared(text: str) -> str:
    """The text apart and small, with one script standing for those that lie parallel to it."""
    apart = unicodedata.normalize("NFKD", unicodedata.normalize("NFKC", text).lower())
    return "".join(_parallel(sign) for sign in apart)


def _parallel(sign: str) -> str:
    code = ord(sign)
    if _INDIC <= code < _INDIC_END:
        return chr(_INDIC + code % _BLOCK)
    if _KATAKANA <= code <= _KATAKANA_END:
        return chr(code - _TO_HIRAGANA)
    return sign


def _spelled(signs: str, way: int) -> Iterator[str]:
    table = script_table()
    letters, consonants, taking = table["letters"], table["bare"], table["signs"]
    k = 0
    while k < len(signs):
        size = next((n for n in range(_LONGEST, 0, -1) if signs[k : k + n] in letters and k + n <= len(signs)), 0)
        sign = signs[k : k + max(size, 1)]
        yield letters[sign][way] if size else sign
        k += len(sign)
        if sign in consonants and signs[k : k + 1] not in list(taking):
            yield "a"
