"""Habits: how a crown is formed, read from data/habits.toml, a row each."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

KNOTS = np.linspace(0.0, 1.0, 41)


@dataclass(frozen=True, eq=False)
class Habit:
    """Character of a crown, in parts of its depth and radius, or as the table's head explains.

    reach, floor: (41,) how far out the crown goes at relative heights, how low at relative radii.
    crotch, ends, out: of the lowest and the highest limb. rise: of limb, branch, twig. turn: of branch, twig.
    shares: length over parent of branch, branchlet, twig. lean: least and most of the stem.
    """

    name: str
    title: str
    width: float
    depth: float
    stem: float
    reach: Floats
    floor: Floats
    crotch: tuple[float, float]
    ends: tuple[float, float]
    out: tuple[float, float]
    rise: tuple[float, float, float]
    turn: tuple[float, float]
    upper: float
    shares: tuple[float, float, float]
    spread: float
    place: float
    bare: float
    lean: tuple[float, float]
    wind: float
    flatten: float
    crooked: float
    flat: bool
    strict: bool


@cache
def habits() -> dict[str, Habit]:
    """Return all habits by name, in the order of the table.

    >>> habits()["espalier"].flat
    True
    """
    table = tomllib.loads(files("armature").joinpath("data/habits.toml").read_text(encoding="utf-8"))
    return {name: _habit(name, row) for name, row in table.items()}


def _habit(name: str, row: dict[str, object]) -> Habit:
    def number(key: str, usual: float) -> float:
        return float(str(row.get(key, usual)))

    def pair(key: str, usual: tuple[float, ...]) -> tuple[float, ...]:
        values = row.get(key, list(usual))
        assert isinstance(values, list)
        return tuple(float(str(value)) for value in values)

    low, high = pair("crotch", (0.0, 0.0))
    near, far = pair("ends", (0.0, 1.0))
    wide, slim = pair("out", (1.0, 0.0))
    limb, branch, twig = pair("rise", (0.5, 0.5, 0.5))
    of_branch, of_twig = pair("turn", (0.1, 0.2))
    long, middle, short = pair("share", (0.25, 0.29, 0.25))
    least, most = pair("lean", (0.015, 0.07))
    lift, power = pair("floor", (0.0, 1.0))
    return Habit(
        name=name,
        title=str(row["title"]),
        width=number("width", 0.8),
        depth=number("depth", 0.92),
        stem=number("stem", 0.35),
        reach=_reach(row),
        floor=lift * KNOTS**power,
        crotch=(low, high),
        ends=(near, far),
        out=(wide, slim),
        rise=(limb, branch, twig),
        turn=(of_branch, of_twig),
        upper=number("upper", 0.5),
        shares=(long, middle, short),
        spread=number("spread", 0.92),
        place=number("place", 0.02),
        bare=number("bare", 0.098),
        lean=(least, most),
        wind=number("wind", 0.0),
        flatten=number("flatten", 0.0),
        crooked=number("crooked", 1.0),
        flat=bool(row.get("flat", False)),
        strict=bool(row.get("strict", False)),
    )


def _reach(row: dict[str, object]) -> Floats:
    if "reach" in row:
        heights, radii = np.array(row["reach"], dtype=np.float64).T
        return np.asarray(np.interp(KNOTS, heights, radii))
    dome = row["dome"]
    assert isinstance(dome, list)
    widest, top, bottom = (float(value) for value in dome)
    above = np.clip((KNOTS - widest) / (1.0 - widest), 0.0, 1.0)
    below = np.clip((widest - KNOTS) / widest, 0.0, 1.0)
    return np.where(widest <= KNOTS, (1 - above**top) ** 0.5, (1 - below**bottom) ** 0.5)
