"""Commands of the shop: rebuild, papers. Each imports what it needs when it runs, so that help comes at once."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer

# A nanometre is written in the lists: a rebuild further off than this means that they were changed.
SAME_MM = 0.01


def rebuild(
    folder: Annotated[Path, typer.Argument(help="Job folder with joints.csv, bends.csv and members.csv.")],
    units: Annotated[
        Literal["inch", "mm"], typer.Option(help="Whose rounding on paper is tried too: 1/16 inch or 1 mm.")
    ] = "mm",
) -> None:
    """Put the tree together again from joints.csv, bends.csv and tapers.csv alone; say how far its tips land off."""
    from armature.files import load
    from armature.shop import card_strays, paper_for, rebuilt

    found = rebuilt(folder, paper_for(units))
    ends = max(range(len(found.tags)), key=lambda row: max(found.start_errors[row], found.tip_errors[row]))
    typer.echo(f"{len(found.tags)} members rebuilt from the lists alone")
    typer.echo(f"largest error {found.largest_mm:.6f} mm, at {found.tags[ends]}")
    worst = int(found.paper_errors.argmax())
    typer.echo(f"each figure rounded by itself ({units}) {found.paper_errors[worst]:.1f} mm, at {found.tags[worst]}")
    if (folder / "design.json").is_file():
        tree = load(folder)[0]
        off = card_strays(tree, paper_for(units))
        half, most = sorted(off.tolist())[len(off) // 2], int(off.argmax())
        typer.echo(
            f"made from its cards ({units}) {half:.1f} mm in the middle, {off[most]:.1f} mm at {tree.tags[most]}"
        )
    if found.largest_mm > SAME_MM:
        typer.echo(f"the lists do not make the tree of members.csv: over {SAME_MM} mm off")
        raise typer.Exit(1)


def papers(
    design: Annotated[Path, typer.Argument(help="Job folder or design.json whose papers are wanted.")],
    out: Annotated[Path, typer.Option(help="Folder to write bars.csv and shop/ into.")] = Path("papers"),
    tag: Annotated[str, typer.Option(help="Print the card of this member alone, as OUT/card-TAG.pdf.")] = "",
) -> None:
    """Print the shop's papers of a design again, as it stands: cards, tags, templates, stations, erection, estimate."""
    from armature.job import beside_a_job, job_folder, shop_finding, write_card, write_shop
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
        with job_folder(out, said=moved) as aside:
            write_shop(aside, plan)
    typer.echo(shop_finding(plan).verdict)
    for line in (*plan.faults, *moved):
        typer.echo(f"- {line}")
    typer.echo(f"wrote {out}")
