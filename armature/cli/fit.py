"""The command that says what fits before anything is grown for good."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def fit(
    file: Annotated[Path, typer.Argument(metavar="COMMISSION", help="Commission file, TOML.")],
    ways: Annotated[bool, typer.Option(help="Look for ways out where too many leaves strike.")] = True,
) -> None:
    """Say whether the leaves fit the crown: how many would strike, what metal it takes, and the ways out."""
    from armature.commission import read, telling_of
    from armature.fit import WANTED, fit_of, ways_out
    from armature.units import format_length

    commission = read(file)
    with telling_of(commission):
        asked = fit_of(commission)
        pounds = commission.units == "inch"
        typer.echo(
            f"{commission.title}: {asked.leaves:,} leaves of "
            f"{format_length(commission.leaves.length, commission.units)}"
        )
        typer.echo(_line("as asked", asked.striking, asked.share, asked.metal_kg, pounds))
        sheets = f"{asked.sheet_kg / 0.45359237:.0f} lb" if pounds else f"{asked.sheet_kg:.0f} kg"
        typer.echo(f"- sheet to buy about {sheets}, about {asked.per_foot:.1f} leaves from a square foot")
        steel = ", ".join(f"{n} of {format_length(mm, commission.units)}" for mm, n in sorted(asked.twigs.items()))
        typer.echo(f"- twigs, at their foot: {steel}")
        if asked.share <= WANTED or not ways:
            return
        typer.echo(f"ways to bring that under {WANTED:.0%}:")
        for way, found in ways_out(commission):
            serves = "" if found.share <= WANTED else " (not enough alone)"
            typer.echo(_line(f"{way}: {found.words}", found.striking, found.share, found.metal_kg, pounds) + serves)


def _line(words: str, striking: int, share: float, kg: float, pounds: bool) -> str:
    metal = f"{kg / 0.45359237:.0f} lb" if pounds else f"{kg:.0f} kg"
    return f"- {words}: {striking} strike too often, {share:.1%}; leaves weigh {metal}"
