"""The command that takes in what was measured on steel that exists."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from collections.abc import Iterator

    from armature.edge import System
    from armature.made import Steel
    from armature.tree import Tree


def measure(
    job: Annotated[Path, typer.Argument(help="Job folder whose members were measured.")],
    files: Annotated[
        list[Path] | None,
        typer.Argument(help="Tables to take in: offsets, tapes, points or joints, told by their headings."),
    ] = None,
    back: Annotated[str, typer.Option(help="Take a table back, by its name in measured/: offsets-2.csv.")] = "",
) -> None:
    """Take in what was measured on made members, fit bars to it and say how they came out."""
    from armature.job import add_measures, plan_of, steel_of, take_back

    plan, commission = plan_of(job)
    if back:
        typer.echo(f"moved to {take_back(job, back)}")
    with add_measures(job, files or ()) as (folder, kept):
        steel = steel_of(plan, commission, job, folder)
    for line in _said(plan, steel, commission.units):
        typer.echo(line)
    for path in kept:
        typer.echo(f"kept {path}")
    typer.echo(f"next: armature make {job} --out {job}")


def _said(plan: Tree, steel: Steel, units: System) -> Iterator[str]:
    """Yield how each measured member came out, a line each."""
    import numpy as np

    from armature.edge import format_length

    def length(mm: float) -> str:
        return format_length(mm, units)

    yield f"{len(steel)} members exist, {int(steel.measured.sum())} of them measured"
    rows = np.array([plan.rows[tag] for tag in steel.tags.tolist()], dtype=np.int64)
    for at in np.flatnonzero(steel.measured).tolist():
        longer = float(steel.lengths[at] - plan.lengths[rows[at]])
        said = [f"{length(float(steel.lengths[at]))} long, {length(abs(longer))} {'more' if longer > 0.0 else 'less'}"]
        said += list(_bend_said(plan, int(rows[at]), steel, at))
        if np.isfinite(steel.errors[at]):
            said.append(f"readings within {float(steel.errors[at]):.1f} mm")
        if steel.off[at] > 0.0:
            said.append(f"tapes within {float(steel.off[at]):.1f} mm")
        said.append("welded" if steel.welded[at] else "not welded yet")
        yield f"- {steel.tags[at]}: {'; '.join(said)}"


def _bend_said(plan: Tree, row: int, steel: Steel, at: int) -> Iterator[str]:
    """Yield the bend that came out furthest from its plan."""
    import numpy as np

    from armature.tree import bend_list

    planned = bend_list(plan.chains.taken([row])).bends
    made = steel.bends.bends[steel.bends.members == at]
    if len(planned):
        worst = int(np.argmax(np.abs(made - planned)))
        yield f"bend {worst + 1} is {made[worst]:.0f}°, {planned[worst]:.0f}° planned"


def seat(
    job: Annotated[Path, typer.Argument(help="Job folder whose twigs are still to be made.")],
    twigs: Annotated[Path, typer.Argument(help="Table of offsets of twigs forged by feel, their tags any names.")],
    out: Annotated[Path | None, typer.Option(help="PDF of the seats, each twig drawn beside its number.")] = None,
) -> None:
    """Find a seat for every twig forged by feel, and take them in: who goes where, what is left, what is to forge."""
    from armature.edge import write_whole
    from armature.job import keep_seats, plan_of, seating_of
    from armature.papers.made import seat_lines, seats_pdf

    plan, commission = plan_of(job)
    felt, seating = seating_of(plan, commission, job, twigs)
    for line in seat_lines(felt, seating, commission.units):
        typer.echo(line)
    if out is not None:
        typer.echo(f"wrote {write_whole(out, seats_pdf(commission.title, felt, seating, commission.units))}")
    typer.echo(f"kept {keep_seats(job, felt, seating)}")
    typer.echo(f"next: armature make {job} --out {job}")
