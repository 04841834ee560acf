"""The controls of the easel: which keys of the commission they move, from where to where."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_args

from armature.commission import Commission, Habit
from armature.edge import CommissionError, exact_length, exact_number

HABITS = tuple(habit for habit in get_args(Habit) if habit != "outline")
_MESHES = frozenset({".stl", ".obj", ".ply", ".3mf", ".glb"})
_OUTLINE = "outline: "


@dataclass(frozen=True)
class Control:
    """One control: the commission's key, its label and group, its range and step, and the unit it is shown in.

    The pieces of a pair are named by an index behind the key, as in `canopy.spread.0`.
    """

    key: str
    label: str
    group: str
    low: float
    high: float
    step: float
    unit: str = ""


CONTROLS = (
    Control("canopy.height", "Height", "Canopy", 1.0, 12.0, 0.05, "m"),
    Control("canopy.spread.0", "Width", "Canopy", 0.4, 12.0, 0.05, "m"),
    Control("canopy.spread.1", "Depth", "Canopy", 0.3, 12.0, 0.05, "m"),
    Control("canopy.clear_stem", "Clear stem", "Canopy", 0.0, 6.0, 0.05, "m"),
    Control("growth.limbs", "Limbs", "Counts", 1, 12, 1),
    Control("growth.branches", "Branches", "Counts", 2, 120, 1),
    Control("growth.twigs", "Twigs", "Counts", 4, 1200, 1),
    Control("leaves.count", "Leaves", "Counts", 0, 4000, 1),
    Control("growth.limb.insertion_angle", "Limbs lean out", "Angles", 10, 100, 1, "deg"),
    Control("growth.limb.insertion_angle_sd", "give or take", "Angles", 0, 40, 1, "deg"),
    Control("growth.branch.insertion_angle", "Branches lean out", "Angles", 10, 110, 1, "deg"),
    Control("growth.branch.insertion_angle_sd", "give or take", "Angles", 0, 40, 1, "deg"),
    Control("growth.twig.insertion_angle", "Twigs lean out", "Angles", 10, 110, 1, "deg"),
    Control("growth.twig.insertion_angle_sd", "give or take", "Angles", 0, 40, 1, "deg"),
    Control("growth.limb.sinuosity", "Limbs wander", "Lines", 1.0, 1.4, 0.01),
    Control("growth.branch.sinuosity", "Branches wander", "Lines", 1.0, 1.4, 0.01),
    Control("growth.twig.sinuosity", "Twigs wander", "Lines", 1.0, 1.4, 0.01),
    Control("growth.pipe_exponent", "Pipe exponent: lower is stouter", "Lines", 1.4, 3.2, 0.02),
)
# Past this no control goes, nor a number that JSON holds and arithmetic does not.
_MOST = 1e9
_BY_KEY = {each.key: each for each in CONTROLS}


def shown_values(commission: Commission) -> dict[str, float | int | str]:
    """Return what each control shows for a commission, by key, the habit and the seed too."""
    outline = commission.canopy.outline
    habit = f"{_OUTLINE}{outline}" if isinstance(outline, str) else commission.canopy.habit
    values: dict[str, float | int | str] = {"canopy.habit": habit, "seed": commission.seed}
    for each in CONTROLS:
        value = _value(commission, each.key)
        values[each.key] = round(value / 1000.0, 4) if each.unit == "m" else value
    return values


def commission_values(commission: Commission, moved: dict[str, Any]) -> dict[str, Any]:
    """Return the commission's own values for moved controls: lengths and angles as text with a unit, pairs whole."""
    values: dict[str, Any] = {}
    for key, given in moved.items():
        if key == "seed":
            values[key] = given
            continue
        if key == "canopy.habit":
            values |= _form(commission, given)
            continue
        control = _BY_KEY.get(key)
        if control is None:
            raise CommissionError(str(key), "the easel has no such control")
        if isinstance(given, bool) or not isinstance(given, int | float) or not abs(given) < _MOST:
            raise CommissionError(key, "must be a number", given)
        _put(values, commission, control, _written(control, commission)(float(given)))
    return values


def outlines(folder: Path) -> list[str]:
    """Return the habits that are outlines of one's own: a closed mesh file beside the commission each."""
    try:
        names = sorted(path.name for path in folder.iterdir() if path.suffix.lower() in _MESHES and path.is_file())
    except OSError:
        return []
    return [f"{_OUTLINE}{name}" for name in names]


def usual_spread(commission: Commission) -> list[float]:
    """Return the width and depth, m, that the habit has by itself at this height; those it has where it is an outline
    of pairs."""
    canopy = commission.canopy
    if isinstance(canopy.outline, tuple):
        return [length / 1000.0 for length in canopy.spread]
    own = {"habit": canopy.habit, "height": exact_length(canopy.height, "mm"), "outline": canopy.outline}
    usual = type(canopy).model_validate(own).spread
    return [round(length / 1000.0, 4) for length in usual]


def _form(commission: Commission, habit: Any) -> dict[str, Any]:
    """Return the commission's values for a habit, or for an outline in a file beside the commission."""
    if not str(habit).startswith(_OUTLINE):
        return {"canopy.habit": habit, "canopy.outline": None}
    if habit not in outlines(commission.folder):
        raise CommissionError("canopy.outline", "no such mesh file beside the commission", habit)
    return {"canopy.habit": "outline", "canopy.outline": str(habit).removeprefix(_OUTLINE)}


def _put(values: dict[str, Any], commission: Commission, control: Control, text: Any) -> None:
    if control.key[-2:] not in (".0", ".1"):
        values[control.key] = text
        return
    key, place = control.key[:-2], int(control.key[-1])
    system = commission.units
    pair = values.get(key) or [exact_length(length, system) for length in _value(commission, key)]
    values[key] = [text if number == place else kept for number, kept in enumerate(pair)]


def _written(control: Control, commission: Commission) -> Callable[[float], Any]:
    if control.unit == "m":
        return lambda metres: exact_length(round(1000.0 * metres, 3), commission.units)
    if control.unit == "deg":
        return lambda degrees: f"{exact_number(degrees)} deg"
    return (lambda number: round(number)) if control.step == 1 else float


def _value(commission: Commission, key: str) -> Any:
    value: Any = commission
    for part in key.split("."):
        value = value[int(part)] if part.isdigit() else getattr(value, part)
    return value
