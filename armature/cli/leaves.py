"""Commands of the leaf bench. Each imports what it needs when it runs, so that help comes at once."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

leaves = typer.Typer(help="What comes back from the leaf bench.", no_args_is_help=True)


@leaves.callback()
def _leaves() -> None:
    """What comes back from the leaf bench."""


@leaves.command()
def grade(
    job: Annotated[Path, typer.Argument(help="Job folder whose leaves were cut.")],
    grades: Annotated[Path, typer.Argument(help="CSV leaf,grade: what came off the table, scrap, plain or best.")],
) -> None:
    """Take grades in: spares stand in for scrap, names move where they must, and what to cut again is counted."""
    from armature.job import grade_job

    moved: list[str] = []
    found = grade_job(job, grades, moved)
    typer.echo(f"{len(found.swaps)} spare(s) stand in for scrap, {len(found.moved)} name(s) moved")
    for name, before, after in found.moved:
        typer.echo(f"- {name}: from {before} to {after}")
    for design, count in found.again.items():
        typer.echo(f"cut again: {count} of design {design}")
    for name, leaf in found.waiting:
        typer.echo(f"- {name} waits for {leaf}")
    for line in moved:
        typer.echo(f"- {line}")
    typer.echo(f"wrote {job}")
