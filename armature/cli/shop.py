"""Commands of the shop: rebuild, papers. Each imports what it needs when it runs, so that help comes at once."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer

# Members from which on a second process is worth its start.
_LARGE = 200


def rebuild(
    folder: Annotated[Path, typer.Argument(help="Job folder with joints.csv, bends.csv and members.csv.")],
    units: Annotated[
        Literal["inch", "mm"], typer.Option(help="Whose rounding on paper is tried too: 1/16 inch or 1 mm.")
    ] = "mm",
) -> None:
    """Put the tree together again from joints.csv, bends.csv and tapers.csv alone; say how far its tips land off."""
    from armature.job import rebuild_said

    lines, same = rebuild_said(folder, units)
    for line in lines:
        typer.echo(line)
    if not same:
        raise typer.Exit(1)


def papers(
    design: Annotated[Path, typer.Argument(help="Job folder or design.json whose papers are wanted.")],
    out: Annotated[Path, typer.Option(help="Folder to write bars.csv and shop/ into.")] = Path("papers"),
    tag: Annotated[str, typer.Option(help="Print the card of this member alone, as OUT/card-TAG.pdf.")] = "",
) -> None:
    """Print the shop's papers of a design again, as it stands: cards, tags, templates, stations, erection, estimate."""
    from armature.job import Striker, beside_a_job, job_folder, shop_finding, write_card, write_shop
    from armature.make import replanned
    from armature.progress import progress

    beside_a_job(out)
    with progress(design.resolve().name) as told:
        plan = replanned(design, told)
        told("papers", 0.5)
        if tag:
            typer.echo(f"wrote {write_card(out, plan, tag)}")
            return
        moved: list[str] = []
        with job_folder(out, said=moved) as aside, Striker(len(plan.tree) >= _LARGE) as striker:
            write_shop(aside, plan, striker=striker)
    typer.echo(shop_finding(plan).verdict)
    for line in (*plan.faults, *moved):
        typer.echo(f"- {line}")
    typer.echo(f"wrote {out}")
