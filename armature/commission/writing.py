"""From a commission to TOML text that reads back as the same commission."""

from __future__ import annotations

import json
from typing import Any

from armature.commission.model import Commission
from armature.edge import exact_number


def write(commission: Commission) -> str:
    """Return the commission as TOML text, every key with its value, in the order of the reference.

    The text reads back as an equal commission, and equal commissions give equal text.
    """
    return "\n".join(_lines(as_tables(commission), ())) + "\n"


def as_tables(commission: Commission) -> dict[str, Any]:
    """Return the commission as nested tables of TOML values, keys without a value left out."""
    dumped: dict[str, Any] = commission.model_dump(exclude_none=True, context={"units": commission.units})
    return dumped


def _lines(table: dict[str, Any], path: tuple[str, ...]) -> list[str]:
    lines = [f"{key} = {_value(value)}" for key, value in table.items() if not isinstance(value, dict)]
    for key, value in table.items():
        if isinstance(value, dict):
            inner = (*path, key)
            lines += ["", f"[{'.'.join(inner)}]", *_lines(value, inner)]
    return lines


def _value(value: Any) -> str:
    if isinstance(value, str):
        # A JSON string is a TOML basic string but for one sign: DEL must be escaped in TOML.
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        text = exact_number(value)
        return text if "." in text else f"{text}.0"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_value(item)}" for key, item in value.items()) + " }"
    return "[" + ", ".join(_value(item) for item in value) + "]"
