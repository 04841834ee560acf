"""The one set of open fonts, for papers and pictures alike: found in installed packages, never on the machine.

A name is set in the first font that draws it: the hand in which all is written, then fonts for more scripts.
"""

from __future__ import annotations

import atexit
from collections.abc import Iterable
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from tempfile import NamedTemporaryFile, TemporaryDirectory

# Family, package, and where in it. The first covers Latin, Greek, Cyrillic, Hebrew, Arabic, Armenian, Georgian and Lao.
PLAIN = ("plain", "matplotlib", "mpl-data/fonts/ttf/DejaVuSans.ttf")
BOLD = ("plain", "matplotlib", "mpl-data/fonts/ttf/DejaVuSans-Bold.ttf")
OTHERS = (
    ("devanagari", "fontpkg_noto_sans_devanagari", "files/*.ttf"),
    ("thai", "fontpkg_noto_sans_thai", "files/*.ttf"),
    ("tamil", "fontpkg_noto_sans_tamil", "files/*.ttf"),
    ("han", "noto_cjk_sans_jp_regular", "*.otf"),
)
HAND = "fontpkg_atkinson_hyperlegible"

# A font of more bytes is thinned before it is opened for a paper.
_LARGE = 4_000_000
_UPRIGHT = ["GSUB", "GPOS", "BASE", "VORG", "vhea", "vmtx"]


def faces() -> list[Path]:
    """Return the files of all fonts on hand, in the order in which they are asked for a sign."""
    asked = [(HAND, "files/*-Regular.ttf"), PLAIN[1:], *(each[1:] for each in OTHERS)]
    found = [font_file(package, pattern) for package, pattern in asked]
    return [file for file in found if file is not None]


def undrawn(text: str) -> str:
    """Return the signs of a text that no font on hand draws, each once, in order.

    >>> undrawn("Ada \u0394 \U0001f333")
    '\U0001f333'
    """
    left = list(dict.fromkeys(sign for sign in text if not sign.isspace()))
    for file in faces():
        if not left:
            break
        left = [sign for sign in left if sign not in signs_of(file)]
    return "".join(left)


@cache
def font_file(package: str, pattern: str) -> Path | None:
    """Return a font's file inside an installed package, without importing it; None where there is none."""
    spec = find_spec(package)
    for folder in (spec.submodule_search_locations or []) if spec else []:
        files = sorted(Path(folder).glob(pattern))
        if files:
            return files[0]
    return None


def thinned(file: Path, signs: Iterable[str]) -> Path:
    """Return a font's file, or where it is a large one a file with what it needs to draw the signs and no more.

    A font of all Chinese signs takes a second to open; a job opens it for each of its papers, for a few names.
    """
    asked = signs_of(file).intersection(signs)
    return _thin(file, asked) if file.stat().st_size > _LARGE else file


@cache
def _thin(file: Path, signs: frozenset[str]) -> Path:
    from fontTools import subset

    options = subset.Options(notdef_outline=True, recommended_glyphs=True)
    # How signs stand upright and in other countries' forms: half of the time, for what no paper asks.
    options.drop_tables += _UPRIGHT
    thinner = subset.Subsetter(options)
    thinner.populate(unicodes=[ord(sign) for sign in (*signs, " ")])
    with subset.load_font(str(file), options, lazy=True) as font:
        thinner.subset(font)
        with NamedTemporaryFile(dir=_home(), suffix=file.suffix, delete=False) as thin:
            font.save(thin)
    return Path(thin.name)


@cache
def _home() -> Path:
    """Return a folder for thin fonts, which goes when the program ends."""
    folder = TemporaryDirectory(prefix="armature-type-")
    atexit.register(folder.cleanup)
    return Path(folder.name)


@cache
def signs_of(file: Path) -> frozenset[str]:
    """Return the signs that a font can draw."""
    from fontTools.ttLib import TTFont

    with TTFont(file, lazy=True) as font:
        return frozenset(chr(code) for code in font.getBestCmap())
