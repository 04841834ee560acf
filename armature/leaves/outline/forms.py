"""Leaf forms: what a design draws its proportions from, in the words of descriptive botany."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from armature.edge import CommissionError
from armature.seeds import keys, uniform

DEFAULT_FORMS = ("ovate", "lanceolate", "elliptic", "serrate", "acuminate", "obovate", "crenate", "cordate", "dentate")


@dataclass(frozen=True)
class Form:
    """One design's proportions: lengths over blade length unless a unit is given.

    name: botanical form. family: pinnate, palmate or fan. length: blade length in mm. curve and rise in degrees.
    alternate: shift of the left side veins against the right ones, over their spacing.
    """

    name: str
    family: str
    length: float
    ratio: float
    petiole: float
    base: float = 0.5
    apex: float = 1.0
    cordate: float = 0.0
    curve: float = 0.0
    oblique: float = 0.0
    margin: str = "entire"
    teeth: float = 0.0
    tooth: float = 0.0
    lobes: float = 0.0
    lobe: float = 0.0
    sweep: float = 0.0
    pairs: float = 0.0
    rise: float = 45.0
    alternate: float = 0.0

    @property
    def width(self) -> float:
        """Blade width in mm."""
        return self.length / self.ratio


def form_names() -> tuple[str, ...]:
    """Return the names of all forms on hand.

    >>> "ovate" in form_names()
    True
    """
    return tuple(_table())


def drawn_form(name: str, length: float, seed: int, number: int, spread: float = 0.1) -> Form:
    """Return the proportions of design `number` (from 1), drawn from the ranges of the named form.

    length: mean blade length in mm; each design's own lies within `spread` of it. The same (seed, number) gives
    the same form, whatever else is drawn. Raises CommissionError where the form is unknown.
    """
    table = _table()
    if name not in table:
        raise CommissionError("leaves.outline.forms", f"each must be one of {', '.join(table)}", name)
    ranges = dict(table[name])
    scale = ranges.pop("scale", 1.0)
    names = [f.name for f in fields(Form)]
    draw = uniform(keys(seed, [f"leaf design {number}"], "form"), len(names) + 1)[0]
    values: dict[str, float] = {}
    for key, share in zip(names, draw, strict=False):
        if isinstance(ranges.get(key), list):
            low, high = ranges.pop(key)
            values[key] = low + float(share) * (high - low)
    for whole in ("teeth", "lobes", "pairs"):
        if whole in values:
            values[whole] = round(values[whole])
    side = 1.0 if draw[-1] < 0.5 else -1.0
    values["curve"] = side * values.get("curve", 0.0)
    oblique, alternate, size = (float(v) for v in draw[-4:-1])
    return Form(
        name=name,
        length=length * float(scale) * (1 + spread * (2 * size - 1)),
        oblique=0.06 * (2 * oblique - 1),
        alternate=0.2 + 0.3 * alternate,
        **{**ranges, **values},
    )


@cache
def _table() -> dict[str, dict[str, Any]]:
    text = files("armature.data").joinpath("leaf_forms.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def half_width(form: Form, t: np.ndarray) -> np.ndarray:
    """Return the half-width (N,) in mm at shares t (N,) of the blade from its base (0) to its apex (1)."""
    a, b = form.base, form.apex
    peak = a / (a + b)
    top = peak**a * (1 - peak) ** b
    return np.asarray(form.width / 2 * np.clip(t, 0, 1) ** a * np.clip(1 - t, 0, 1) ** b / top)
