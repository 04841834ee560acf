"""Columns of arrays as CSV text: the same values always give the same bytes, and a spreadsheet opens them safely.

Numbers are rounded by the unit in the column's name and written with the fewest digits that read back to the same
value; text is quoted where it must be (RFC 4180) and kept from being taken for a formula.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

# A nanometre, and an angle that moves the end of a ten-metre bar by a tenth of a nanometre.
DECIMALS = {"_mm": 6, "_deg": 9, "_kg": 6}
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")
_QUOTED = frozenset('",\r\n')


def csv_text(columns: Mapping[str, NDArray[np.generic]]) -> str:
    r"""Return CSV text of equally long columns, the header first, lines ended by a line feed.

    >>> csv_text({"tag": np.array(["A", "B"]), "feed_mm": np.array([12.5, -0.0])})
    'tag,feed_mm\nA,12.5\nB,0.0\n'
    """
    texts = [_texts(name, values) for name, values in columns.items()]
    lines = [",".join(columns), *map(",".join, zip(*texts, strict=True))]
    return "\n".join(lines) + "\n"


def rounded(name: str, values: NDArray[np.generic]) -> NDArray[np.float64]:
    """Return the values as the files hold them: rounded by the unit that ends the column's name, zeros without a sign.

    >>> rounded("turn_deg", np.array([-180.0, 45.0000000004])).tolist()
    [180.0, 45.0]
    """
    unit = "_" + name.rpartition("_")[2]
    figures = np.asarray(np.round(values.astype(np.float64), DECIMALS.get(unit, 9)) + 0.0, dtype=np.float64)
    if unit == "_deg":
        figures[figures == -180.0] = 180.0
    return figures


def safe_text(text: str) -> str:
    """Return text for one CSV cell: quoted where needed, with an apostrophe before what a spreadsheet would calculate.

    A lone sign before text is a formula to a spreadsheet, so it is guarded too (OWASP, "CSV Injection"); so is text
    that would pass for guarded, so that taking one apostrophe off gives back what was written.

    >>> safe_text("=1+1"), safe_text("'=1+1"), safe_text("Ann, of the gate")
    ("'=1+1", "''=1+1", '"Ann, of the gate"')
    """
    if text.lstrip("'").startswith(_FORMULA_STARTS):
        text = "'" + text
    return '"' + text.replace('"', '""') + '"' if _QUOTED.intersection(text) else text


def _texts(name: str, values: NDArray[np.generic]) -> list[str]:
    if values.dtype.kind == "U":
        return [safe_text(text) for text in values.tolist()]
    if values.dtype.kind == "f":
        return list(map(repr, rounded(name, values).tolist()))
    return list(map(str, values.tolist()))
