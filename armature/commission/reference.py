"""The reference of the commission file, drawn from the models themselves so that it cannot fall behind."""

from __future__ import annotations

from collections.abc import Iterator
from types import NoneType
from typing import Annotated, Any, Literal, get_args, get_origin

from annotated_types import Ge, Gt, Le, MinLen
from pydantic import BaseModel
from pydantic.fields import FieldInfo

from armature.commission.model import Commission
from armature.commission.quantities import Quantity
from armature.edge import exact_number

EXAMPLE = """\
title = "Alder by the gate"
canopy.height = "3 m"
growth.limbs = 3
growth.branches = 14
growth.twigs = 120
"""

_INTRODUCTION = f"""\
# The commission file

One TOML file describes a job. Everything but the title, the height and the counts has a default, so five lines are
enough:

```toml
{EXAMPLE}```

`armature new --list` names the presets, and `armature new garden --out my-tree.toml` starts from one. An unknown key,
a value out of range or a quantity without its unit is refused in one line that says file, line, key, rule and value;
nothing is written then.

## How quantities are written

As people write them, in quotes, with the unit: `"1/4 in"`, `"1 1/4 in"`, `"12 ft 6 in"`, `"12' 6\\""`, `"6 mm"`,
`"3.5 m"`, `"50 deg"`, `"115 mph"`, `"2.5 %"`. Fractions are kept exact until the end.

| kind | units | kept as |
| --- | --- | --- |
| length | `mm` `cm` `m` `in` (`"`) `ft` (`'`) `yd` | mm |
| angle | `deg` (`°`) `rad` | degrees |
| speed | `m/s` `km/h` `mph` `ft/s` `kn` | m/s |
| mass | `kg` `g` `t` `lb` `oz` | kg |
| force | `N` `kN` `lbf` `kip` | N |
| stress | `MPa` `N/mm2` `kPa` `Pa` `ksi` `psi` `psf` | MPa |
| share | `%` | part of one |

- A bare number where a quantity is wanted is refused: `height = 16` could be feet or metres.
- A comma is refused: `"2,500 mm"` is two and a half to one reader and two and a half thousand to another.
- The larger unit comes first and only the last number may be broken: `"12 ft 6 1/2 in"`. Inches after feet stay under
  12; feet and metres do not mix.
- Lengths, masses and counts are never negative; places (the corners of a keep-out) and a few angles may be, where the
  table says so.
- Counts and plain ratios are bare numbers: `twigs = 420`, `sinuosity = 1.10`.

Names of other files are relative to the folder of the commission file.

The trunk's foot stands at the origin; x and y lie flat, z is up.
"""


def reference() -> str:
    """Return the reference of every key as Markdown: default, unit and range, meaning."""
    parts = [_INTRODUCTION, "## Keys", "### At the top of the file", _table(Commission)]
    for path, section, entries in _sections(Commission, ""):
        parts.append(f"### Each entry of `{path}`" if entries else f"### `[{path}]`")
        parts += [_purpose(section), _table(section)]
    return "\n\n".join(part.strip("\n") for part in parts) + "\n"


def _sections(model: type[BaseModel], path: str) -> Iterator[tuple[str, type[BaseModel], bool]]:
    for name, field in model.model_fields.items():
        section, entries = _section_in(field.annotation)
        if section is not None:
            inner = f"{path}.{name}" if path else name
            yield inner, section, entries
            yield from _sections(section, inner)


def _section_in(annotation: Any) -> tuple[type[BaseModel] | None, bool]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation, False
    if get_origin(annotation) is tuple and (section := _section_in(get_args(annotation)[0])[0]) is not None:
        return section, True
    return None, False


def _purpose(section: type[BaseModel]) -> str:
    return " ".join((section.__doc__ or "").split())


def _table(model: type[BaseModel]) -> str:
    rows = ["| key | default | unit and range | meaning |", "| --- | --- | --- | --- |"]
    for name, field in model.model_fields.items():
        if _section_in(field.annotation) != (None, False) and not _section_in(field.annotation)[1]:
            continue
        cells = (f"`{name}`", _default(field), _kind(field.annotation, field.metadata), field.description or "")
        rows.append("| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |")
    return "\n".join(rows)


def _default(field: FieldInfo) -> str:
    extra = field.json_schema_extra
    if isinstance(extra, dict) and "usual" in extra:
        return str(extra["usual"])
    if field.is_required():
        return "must be given"
    if field.default is None or field.default == ():
        return "none"
    return f"`{_written(field.default, field.annotation, field.metadata)}`"


def _written(value: Any, annotation: Any, metadata: list[Any]) -> str:
    """Return a default as a commission file would have it, units and all."""
    if get_origin(annotation) is Annotated:
        inner, *more = get_args(annotation)
        return _written(value, inner, [*more, *metadata])
    if (quantity := _first(metadata, Quantity)) is not None:
        return str(quantity.text(value))
    if isinstance(value, tuple):
        kinds = get_args(annotation)
        each = kinds[:1] * len(value) if kinds[-1] is Ellipsis else kinds
        items = [_written(item, kind, []) for item, kind in zip(value, each, strict=True)]
        return "[" + ", ".join(item if item.startswith("[") else f'"{item}"' for item in items) + "]"
    if isinstance(value, bool):
        return "true" if value else "false"
    return exact_number(value) if isinstance(value, float) else str(value)


def _kind(annotation: Any, metadata: list[Any]) -> str:
    """Return unit and range of a value in words, looking through `Annotated`, unions with None, and tuples."""
    if get_origin(annotation) is Annotated:
        inner, *more = get_args(annotation)
        return _kind(inner, [*more, *metadata])
    if (quantity := _first(metadata, Quantity)) is not None:
        return f"{quantity.kind}, {quantity.range}"
    if get_origin(annotation) is Literal:
        return "one of " + ", ".join(f"`{choice}`" for choice in get_args(annotation))
    if get_origin(annotation) is tuple:
        return _list_of(annotation, metadata)
    if get_args(annotation):
        kinds = [_kind(part, []) for part in get_args(annotation) if part is not NoneType]
        return ", or ".join(kinds)
    named = {int: "whole number", float: "number", str: "text", bool: "`true` or `false`"}
    if annotation in named:
        return ", ".join(part for part in (named[annotation], _bounds(metadata)) if part)
    return "table"


def _list_of(annotation: Any, metadata: list[Any]) -> str:
    kinds = get_args(annotation)
    if kinds[-1] is not Ellipsis:
        return f"list of {len(kinds)}, each a {_kind(kinds[0], [])}"
    if _section_in(annotation)[1]:
        return "list of tables"
    few = _first(_loose(metadata), MinLen)
    return f"list of {few.min_length if few else 0} or more, each a {_kind(kinds[0], [])}"


def _bounds(metadata: list[Any]) -> str:
    loose = _loose(metadata)
    above, least, most = _first(loose, Gt), _first(loose, Ge), _first(loose, Le)
    parts = [
        f"more than {_grouped(above.gt)}" if above else "",
        f"at least {_grouped(least.ge)}" if least else "",
        f"at most {_grouped(most.le)}" if most else "",
    ]
    return " and ".join(part for part in parts if part)


def _grouped(bound: Any) -> str:
    return exact_number(bound) if isinstance(bound, float) else f"{bound:,}".replace(",", " ")


def _loose(metadata: list[Any]) -> list[Any]:
    """Return the constraints, those inside a `Field` too, the last first: a field's own follow those of its type."""
    loose: list[Any] = []
    for constraint in metadata:
        loose += constraint.metadata if isinstance(constraint, FieldInfo) else [constraint]
    return loose[::-1]


def _first(metadata: list[Any], kind: type[Any]) -> Any:
    return next((constraint for constraint in metadata if isinstance(constraint, kind)), None)
