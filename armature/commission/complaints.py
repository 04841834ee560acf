"""One line for what is wrong with a commission: file, line, key, rule, value, and the nearest known key."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from armature.commission.lines import Key, line_of
from armature.commission.quantities import BrokenRule
from armature.edge import CommissionError

_PLAINER = (
    ("Input should be", "must be"),
    ("should have", "must have"),
    ("Tuple", "list"),
    ("String", "text"),
    ("greater than or equal to", "at least"),
    ("less than or equal to", "at most"),
    (" after validation", ""),
)
_LOOKED_AT, _NAMED = 100, 5
_BRANCHES = frozenset(
    ("outline in pairs", "outline in a file")
)  # names of alternatives, which pydantic puts among the keys


def complaint(error: ValidationError, model: type[BaseModel], file: str, lines: dict[Key, int]) -> CommissionError:
    """Return one error for all faults that pydantic found: the first in full, the others by key."""
    # A handful tells what is wrong; of thousands most follow from the first.
    faults = _root_causes(error.errors()[:_LOOKED_AT], model)
    first, keys = faults[0], [_dotted(fault) for fault in faults]
    line = line_of(tuple(str(part) for part in _path(first)), lines)
    where = file + (f": line {line}" if line else "") + (f": {keys[0]}" if keys[0] else "")
    others = list(dict.fromkeys(key for key in keys[1:] if not f"{keys[0]}.".startswith((f"{key}.", f"{key}["))))
    more = f" and {error.error_count() - 1 - _NAMED} more" if len(others) > _NAMED else ""
    rule = _rule(first, model) + (f"; also wrong: {', '.join(others[:_NAMED])}{more}" if others else "")
    return CommissionError(where, rule, _shown(first))


def nearest(name: str, known: Iterable[str]) -> str | None:
    """Return the known name that is spelled most like `name`, if any is near.

    >>> nearest("heigth", ["height", "habit"])
    'height'
    """
    near = get_close_matches(name, list(known), n=1, cutoff=0.6)
    return near[0] if near else None


def _root_causes(faults: list[ErrorDetails], model: type[BaseModel]) -> list[ErrorDetails]:
    """Return the faults less those that only follow from another: a misspelt key is not also a missing one."""
    unknown = [_path(fault) for fault in faults if fault["type"] == "extra_forbidden"]
    meant = {(*path[:-1], nearest(str(path[-1]), _section_at(path, model).model_fields)) for path in unknown}
    # Leaves are counted from the twigs: they are missing only where the twigs are.
    meant |= {("leaves",), ("leaves", "count")}
    causes = [
        fault
        for fault in faults
        if fault["type"] != "default_factory_not_called" and not (fault["type"] == "missing" and _path(fault) in meant)
    ]
    return sorted(causes, key=lambda fault: fault["type"] != "extra_forbidden")


def _rule(fault: ErrorDetails, model: type[BaseModel]) -> str:
    kind, context = fault["type"], fault.get("ctx", {})
    if kind == "extra_forbidden":
        return _unknown(_path(fault), model)
    if kind == "missing":
        return "is missing and has no default"
    if kind == "value_error":
        return str(context["error"])
    if kind == "literal_error":
        return f"must be one of {context['expected']}" + _near_choice(fault)
    if kind in ("int_type", "int_from_float", "int_parsing"):
        return "must be a whole number"
    if kind in ("string_type", "string_sub_type"):
        return "must be text in quotes"
    if kind in ("model_type", "model_attributes_type", "dict_type"):
        return "must be a table of keys"
    if kind in ("tuple_type", "list_type"):
        return "must be a list in brackets"
    return _plainer(fault["msg"])


def _plainer(message: str) -> str:
    for stiff, plain in _PLAINER:
        message = message.replace(stiff, plain)
    return message


def _unknown(path: tuple[str | int, ...], model: type[BaseModel]) -> str:
    section = _section_at(path, model)
    near = nearest(str(path[-1]), section.model_fields)
    elsewhere = [name for name, field in model.model_fields.items() if str(path[-1]) in _fields_of(field.annotation)]
    if near is None and len(path) == 1 and elsewhere:
        return f"unknown key here; it belongs under [{elsewhere[0]}]"
    return "unknown key" + (f", did you mean {near}?" if near else f"; known here: {', '.join(section.model_fields)}")


def _section_at(path: tuple[str | int, ...], model: type[BaseModel]) -> type[BaseModel]:
    section: Any = model
    for part in path[:-1]:
        if isinstance(part, str):
            section = _model_in(section.model_fields[part].annotation)
    return section  # type: ignore[no-any-return]


def _model_in(annotation: Any) -> Any:
    """Return the section inside an annotation such as `tuple[Pipe, ...]`."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next(model for part in annotation.__args__ if (model := _model_in(part)) is not None)


def _fields_of(annotation: Any) -> dict[str, Any]:
    is_section = isinstance(annotation, type) and issubclass(annotation, BaseModel)
    return annotation.model_fields if is_section else {}


def _near_choice(fault: ErrorDetails) -> str:
    choices = [part.strip(" '") for part in fault["ctx"]["expected"].replace(" or ", ", ").split(",")]
    near = nearest(str(fault["input"]), choices)
    return f"; did you mean {near!r}?" if near else ""


def _path(fault: ErrorDetails) -> tuple[str | int, ...]:
    path = tuple(part for part in fault["loc"] if part not in _BRANCHES)
    broken = _broken_rule(fault)
    return (*path, broken.key) if broken else path


def _broken_rule(fault: ErrorDetails) -> BrokenRule | None:
    error = fault.get("ctx", {}).get("error")
    return error if isinstance(error, BrokenRule) else None


def _dotted(fault: ErrorDetails) -> str:
    """`steel.bars[2]` is the second bar: people count from one."""
    text = ""
    for part in _path(fault):
        if isinstance(part, int):
            text += f"[{part + 1}]"
        else:
            text += ("." if text else "") + (part if part.isprintable() and part else repr(part))
    return text


def _shown(fault: ErrorDetails) -> object:
    if broken := _broken_rule(fault):
        return broken.value
    if fault["type"] in ("missing", "extra_forbidden") or isinstance(fault["input"], dict | BaseModel):
        return None
    shown = fault["input"]
    return f"{shown[:60]}…" if isinstance(shown, str) and len(shown) > 60 else shown
