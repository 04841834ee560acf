"""summary.md: the summary to read, in the shop's units."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from armature.edge import System, exact_length, format_length, format_mass, format_run
from armature.files import Figure


def summary_md(tables: Mapping[str, Any], units: System) -> str:
    """Return the text of summary.md from the tables of `summary`, in inches and pounds or in mm and kg."""
    lines = [f"# {_plain(tables['title'])}", "", f"Seed {tables['seed']}.", ""]
    lines += _table(("what", "how much"), _head(tables, units)) + ["", "## Bars by rank", ""]
    lines += _table(("rank", "bars", "at the start", "at the tip", "length in all", "steel"), _ranks(tables, units))
    lines += ["", "## Stock", "", *_table(("bar", "pieces", "length in all", "steel"), _stock(tables, units))]
    for name, table in tables.items():
        if isinstance(table, dict) and "verdict" in table:
            lines += ["", f"## {name.capitalize()}", "", *_said(table, units)]
    if tables["warnings"]:
        lines += ["", "## Warnings", "", *(f"- {_plain(text)}" for text in tables["warnings"])]
    return "\n".join([*lines, "", "## Cautions", "", *(f"- {text}" for text in tables["cautions"]), ""])


def _head(tables: Mapping[str, Any], units: System) -> list[tuple[str, str]]:
    counts, sizes, masses = tables["counts"], tables["sizes"], tables["masses"]
    across = [format_length(sizes[f"spread_{axis}_mm"], units, feet=True) for axis in "xy"]
    rows = [
        ("bars", f"{counts['members']}, with {counts['bends']} bends"),
        *([("limbs", f"{counts['limbs']} and the leader")] if counts["leaders"] else []),
        ("leaves", f"{counts['leaves']}, {counts['names']} of them named"),
        ("height", format_length(sizes["height_mm"], units, feet=True)),
        ("height, as asked", _asked(tables, ("height",), units)),
        ("spread", " by ".join(across)),
        ("spread, as asked", _asked(tables, ("spread_x", "spread_y"), units)),
        ("steel, forged", format_mass(masses["steel_kg"], units)),
        ("steel, as bought and cut", format_mass(masses["stock_kg"], units)),
    ]
    leaves = masses["leaves_kg"]
    return rows if leaves is None else [*rows, ("leaf metal", format_mass(leaves, units))]


def _asked(tables: Mapping[str, Any], names: Sequence[str], units: System) -> str:
    return " by ".join(format_length(tables["asked"][f"{name}_mm"], units, feet=True) for name in names)


def _ranks(tables: Mapping[str, Any], units: System) -> list[tuple[str, ...]]:
    return [
        (
            row["rank"],
            str(row["members"]),
            _started(row, units),
            _span(row["end_mm"], units),
            format_run(row["length_mm"], units),
            format_mass(row["mass_kg"], units),
        )
        for row in tables["ranks"]
    ]


def _started(row: Mapping[str, Any], units: System) -> str:
    """Return how thick a rank is at its starts; pipe by its exact sizes, which the shop's fine step does not hold."""
    pipes = [
        f"{exact_length(outside, units)} x {exact_length(wall, units)}".replace(" mm x", " x")
        for outside, wall, _ in row["pipes"]
    ]
    if not pipes:
        return _span(row["start_mm"], units)
    named = f"pipe {', '.join(pipes)}"
    whole = sum(count for _, _, count in row["pipes"]) == row["members"]
    return named if whole else f"{_span(row['start_mm'], units)}; {named}"


def _stock(tables: Mapping[str, Any], units: System) -> list[tuple[str, ...]]:
    return [
        (
            f"{exact_length(row['stock_mm'], units)} "
            + (f"pipe, wall {exact_length(row['wall_mm'], units)}" if row["wall_mm"] else "round"),
            str(row["pieces"]),
            format_run(row["cut_mm"], units),
            format_mass(row["mass_kg"], units),
        )
        for row in tables["stock"]
    ]


def _said(table: Mapping[str, Any], units: System) -> list[str]:
    figures = [_figure(name, value, units) for name, value in table.items() if name not in ("verdict", "notes")]
    lines = [_plain(table["verdict"])]
    lines += ["", *_table(("what", "figure"), figures)] if figures else []
    return lines + (["", *(f"- {_plain(note)}" for note in table["notes"])] if table["notes"] else [])


def _figure(name: str, value: Figure, units: System) -> tuple[str, str]:
    """Return what a figure is and how much, lengths and masses in the shop's units."""
    said, _, unit = name.rpartition("_")
    if isinstance(value, (int, float)) and unit in ("mm", "kg"):
        return said.replace("_", " "), format_length(value, units) if unit == "mm" else format_mass(value, units)
    return name.replace("_", " "), _number(value)


def _number(value: Figure) -> str:
    return "none" if value is None else f"{value:.4g}" if isinstance(value, float) else str(value)


def _span(ends: Sequence[float], units: System) -> str:
    low, high = (format_length(end, units, fine=True) for end in ends)
    return low if low == high else f"{low} to {high}"


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    cells = [[_plain(cell).replace("|", "\\|") for cell in row] for row in rows]
    lines = [list(head), ["---"] * len(head), *cells]
    return [f"| {' | '.join(line)} |" for line in lines]


def _plain(text: str) -> str:
    """Return text on one line."""
    return " ".join(str(text).split())
