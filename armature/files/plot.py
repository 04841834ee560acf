"""Lines, arcs, polylines, points and words of a drawing, told as DXF writes them (DXF reference, "ENTITIES section").

A library keeps a record of every one and writes it value by value; drawings of a job have thousands, and nothing is
asked of them again.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

if TYPE_CHECKING:
    from ezdxf.document import Drawing

# The application that a bar's tag stands under.
APP = "ARMATURE"


class Plot:
    """Takes what is drawn in model space, mm; `told` is its text so far, `document` the drawing all else belongs to."""

    def __init__(self, document: Drawing) -> None:
        self.document = document
        self.told: list[str] = []
        self._owner = document.modelspace().layout_key

    def line(self, start: Sequence[float], stop: Sequence[float], layer: str, tag: str = "") -> None:
        """Draw a line between two places of two or three values; tag: of the bar that it belongs to."""
        ends = _place(10, *start), _place(11, *stop)
        self.told += self._head("LINE", layer), "100\nAcDbLine\n", *ends, _tagged(tag)

    def arc(
        self, centre: Sequence[float], radius: float, angles: tuple[float, float], normal: Sequence[float],
        layer: str, tag: str = "",
    ) -> None:  # fmt: skip
        """Draw an arc in space: its centre and angles, deg, in the axes that follow from its normal."""
        first, last = angles
        circle = f"100\nAcDbCircle\n{_place(10, *centre)} 40\n{radius}\n{_place(210, *normal)}"
        ends = f"100\nAcDbArc\n 50\n{first}\n 51\n{last}\n"
        self.told += self._head("ARC", layer), circle, ends, _tagged(tag)

    def polyline(self, corners: ArrayLike, layer: str, closed: bool = False, bulges: ArrayLike | None = None) -> None:
        """Draw a polyline through corners (K, 2); bulges: (K,) of the run behind each, 0 for a straight one."""
        places = np.asarray(corners, dtype=np.float64).tolist()
        self.told += (
            self._head("LWPOLYLINE", layer),
            f"100\nAcDbPolyline\n 90\n{len(places)}\n 70\n{int(closed)}\n",
        )
        if bulges is None:
            self.told += [f" 10\n{x}\n 20\n{y}\n" for x, y in places]
            return
        runs = zip(places, np.asarray(bulges, dtype=np.float64).tolist(), strict=True)
        self.told += [f" 10\n{x}\n 20\n{y}\n" + (f" 42\n{bulge}\n" if bulge else "") for (x, y), bulge in runs]

    def point(self, place: Sequence[float], layer: str) -> None:
        """Draw a point."""
        self.told += self._head("POINT", layer), "100\nAcDbPoint\n", _place(10, *place)

    def words(self, text: str, place: Sequence[float], height: float, layer: str, turn: float = 0.0) -> None:
        """Write a line of words with its left end on a place, letters `height` mm high, turned by so many degrees."""
        said = text.replace("\n", "").replace("\r", "").rstrip("^")
        turned = f" 50\n{turn}\n" if turn else ""
        self.told += (
            self._head("TEXT", layer),
            f"100\nAcDbText\n{_place(10, *place)} 40\n{height}\n  1\n{said}\n{turned}",
            f"{_place(11, *place)}100\nAcDbText\n",
        )

    def _head(self, kind: str, layer: str) -> str:
        handle = self.document.entitydb.next_handle()
        return f"  0\n{kind}\n  5\n{handle}\n330\n{self._owner}\n100\nAcDbEntity\n  8\n{layer}\n"


def _tagged(tag: str) -> str:
    return f"1001\n{APP}\n1000\n{tag}\n" if tag else ""


def _place(code: int, x: float, y: float, z: float = 0.0) -> str:
    """Return a place as the format gives it: each value under a code of its own, ten apart."""
    return f"{code:3}\n{x}\n{code + 10:3}\n{y}\n{code + 20:3}\n{z}\n"
