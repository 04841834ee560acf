"""What a name wishes for: a low leaf, a large one, a side of the crown, a place beside another name."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from armature.leaves.naming.folding import folded

Floats = NDArray[np.float64]
_WINDS = ("n", "ne", "e", "se", "s", "sw", "w", "nw")
_SIDES = {
    **{w: k for k, w in enumerate(_WINDS)},
    **{
        w: k
        for k, w in enumerate(("north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest"))
    },
}
# A wish outweighs any difference of worth between leaves of one grade, and no difference of grade.
_WEIGHT = 2.0


@dataclass(frozen=True)
class Wish:
    """What is wished: low, large, side (0 north, clockwise by 45 deg to 7, -1 none), the name to hang beside; unread:
    words that say none of these."""

    low: bool = False
    large: bool = False
    side: int = -1
    beside: str = ""
    unread: tuple[str, ...] = ()

    @property
    def placed(self) -> bool:
        """Whether it asks for a kind of place, and not only for company."""
        return self.low or self.large or self.side >= 0


def read_wish(text: str) -> Wish:
    """Return what the words of a wish say: parts between semicolons or commas.

    >>> read_wish("low; beside Ada Rao"), read_wish("north-east").side, read_wish("in gold").unread
    (Wish(low=True, large=False, side=-1, beside='Ada Rao', unread=()), 1, ('in gold',))
    """
    low = large = False
    side, beside, unread = -1, "", []
    for part in (p.strip() for p in re.split("[;,]", text)):
        word = re.sub(r"[\s-]|\bside\b", "", part.casefold())
        if word in ("low", "lowdown", "reach", "withinreach"):
            low = True
        elif word in ("large", "big", "largeleaf", "bigleaf"):
            large = True
        elif word in _SIDES:
            side = _SIDES[word]
        elif part.casefold().startswith("beside ") and part[7:].strip():
            beside = part[7:].strip()
        elif part:
            unread.append(part)
    return Wish(low, large, side, beside, tuple(unread))


def companies(texts: Sequence[str], families: Sequence[str], wishes: Sequence[Wish]) -> tuple[str, ...]:
    """Return a family for each name (N,), "" for none, those who wish to hang beside one another joined to it.

    >>> companies(["Ada", "Ben", "Cy"], ["", "", ""], [Wish(), Wish(beside="ada"), Wish()])
    ('+0', '+0', '')
    """
    first = {}
    for k in range(len(texts) - 1, -1, -1):
        first[folded(texts[k])] = k
    leader = list(range(len(texts)))

    def top(k: int) -> int:
        while leader[k] != k:
            k = leader[k]
        return k

    heads: dict[str, int] = {}
    for k, family in enumerate(families):
        if family:
            leader[top(k)] = top(heads.setdefault(family, k))
    joined = set()
    for k, wish in enumerate(wishes):
        other = first.get(folded(wish.beside)) if wish.beside else None
        if other is not None and other != k:
            leader[max(top(k), top(other))] = min(top(k), top(other))
            joined.add(top(k))
    joined = {top(k) for k in joined}
    return tuple(f"+{top(k)}" if top(k) in joined else families[k] for k in range(len(texts)))


def likings(wishes: Sequence[Wish], points: Floats, room: Floats, reach: float) -> Mapping[int, Floats]:
    """Return how much a name likes each leaf, by row of the name, for names that wish for a kind of place: (L,) each.

    points: (L, 3) mm. room: (L,) mm, the largest letters' room on each leaf. reach: mm that a visitor reaches.
    """
    if not any(w.placed for w in wishes) or not len(points):
        return {}
    east, north = (points[:, k] - points[:, k].mean() for k in (0, 1))
    bearing = np.arctan2(east, north)
    top = max(float(points[:, 2].max()), reach + 1.0)
    low = 1.0 - np.clip((points[:, 2] - reach) / (top - reach), 0.0, 1.0)
    large = room / max(float(room.max(initial=0.0)), 1e-9)
    likings_of: dict[int, Floats] = {}
    for k, wish in enumerate(wishes):
        if wish.placed:
            side = 0.5 + 0.5 * np.cos(bearing - np.deg2rad(45.0 * wish.side)) if wish.side >= 0 else 0.0
            likings_of[k] = np.round(_WEIGHT * (wish.low * low + wish.large * large + 2.0 * side), 6)
    return likings_of


def met(wish: Wish, point: Floats, middle: Floats, reach: float) -> tuple[str, ...]:
    """Return what of a wish for a place the leaf at `point` does not meet, in words; empty where it meets all.

    middle: of the crown, mm. A side is met within 67.5 deg to either side of it; low, within reach.
    """
    missed = []
    if wish.low and point[2] > reach:
        missed.append("low")
    if wish.side >= 0:
        off = np.rad2deg(np.arctan2(point[0] - middle[0], point[1] - middle[1])) - 45.0 * wish.side
        if abs((off + 180.0) % 360.0 - 180.0) > 67.5:
            missed.append(_WINDS[wish.side].upper())
    return tuple(missed)
