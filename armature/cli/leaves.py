"""Commands of the leaf bench. Each imports what it needs when it runs, so that help comes at once."""

from __future__ import annotations

from collections.abc import Sequence
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
    regrading = grade_job(job, grades, moved)
    typer.echo(f"{len(regrading.swaps)} spare(s) stand in for scrap, {len(regrading.moved)} name(s) moved")
    for name, before, after in regrading.moved:
        typer.echo(f"- {name}: from {before} to {after}")
    for design, count in regrading.again.items():
        typer.echo(f"cut again: {count} of design {design}")
    for name, leaf in regrading.waiting:
        typer.echo(f"- {name} waits for {leaf}")
    for line in moved:
        typer.echo(f"- {line}")
    typer.echo(f"wrote {job}")


Job = Annotated[Path, typer.Argument(help="Job folder.")]
Leaf = Annotated[str | None, typer.Option("--leaf", help="Tag of the leaf, where two bear the name.")]


@leaves.command()
def piles(
    job: Job,
    counts: Annotated[Path, typer.Argument(help="CSV design,best,plain,wild,scrap: how many cuts lie in each bin.")],
    add: Annotated[bool, typer.Option(help="These were cut again, on top of what was counted before.")] = False,
) -> None:
    """Take the bins' counts in: names get the best cuts, wild ones are scattered, what to cut again is counted."""
    from armature.job import take_piles

    _say(take_piles(job, counts, add).lines, job)


@leaves.command()
def sign(
    job: Job,
    checked: Annotated[
        Path | None, typer.Argument(help="The checked list of proof.html; all names where left out.")
    ] = None,
    by: Annotated[str, typer.Option(help="Who signs.")] = "",
    on: Annotated[str, typer.Option(help="The day, as it is to be shown.")] = "",
) -> None:
    """Take in that names are signed, as they stand on the proof; what changes later is told."""
    from armature.job import sign_names

    _say(sign_names(job, by, on, checked).lines, job)


@leaves.command()
def struck(job: Job, tags: Annotated[list[str], typer.Argument(help="Tags of leaves whose names are struck.")]) -> None:
    """Mark leaves as struck: their names stay, whatever else changes."""
    from armature.job import strike_names

    _say(strike_names(job, tags).lines, job)


@leaves.command()
def mistake(job: Job, leaf: Annotated[str, typer.Argument(help="Tag of the leaf that was struck wrong.")]) -> None:
    """Take in a wrong blow: another cut of the design is struck with the same name."""
    from armature.job import mend_strike

    _say(mend_strike(job, leaf).lines, job, changed=True)


@leaves.command()
def late(
    job: Job,
    name: Annotated[str, typer.Argument(help="The name.")],
    family: Annotated[str, typer.Option(help="Family that it belongs to.")] = "",
    gift: Annotated[str, typer.Option(help="What the office says of the gift.")] = "",
    wish: Annotated[str, typer.Option(help="low; large; a side such as north; beside NAME.")] = "",
) -> None:
    """Take in a late name: it gets a free leaf, and no other name moves."""
    from armature.job import add_late

    _say(add_late(job, name, family, gift, wish).lines, job, changed=True)


@leaves.command("withdraw")
def withdraw_name(job: Job, name: Annotated[str, typer.Argument(help="The name.")], leaf: Leaf = None) -> None:
    """Take a name off the tree: its leaf hangs without one."""
    from armature.job import withdraw

    _say(withdraw(job, name, leaf).lines, job)


@leaves.command("respell")
def respell_name(
    job: Job,
    name: Annotated[str, typer.Argument(help="The name as it is.")],
    new: Annotated[str, typer.Argument(help="The name as it should be.")],
    leaf: Leaf = None,
) -> None:
    """Spell a name anew on its own leaf."""
    from armature.job import respell

    _say(respell(job, name, new, leaf).lines, job, changed=True)


@leaves.command()
def twins(
    job: Job,
    name: Annotated[str, typer.Argument(help="A name that stands on the list more than once.")],
    people: Annotated[int, typer.Option(help="1: it is one person; else as many people as leaves bear it.")],
) -> None:
    """Say whether a name listed twice is one person, who keeps one leaf, or several, who keep theirs."""
    from armature.job import tell_twins

    _say(tell_twins(job, name, people).lines, job)


def _say(lines: Sequence[str], job: Path, changed: bool = False) -> None:
    for line in lines:
        typer.echo(line)
    typer.echo(f"wrote {job}{'; leaves/changed.pdf holds what is to strike' if changed else ''}")


@leaves.command()
def sheet(
    out: Annotated[Path, typer.Argument(help="PDF to write.")],
    paper: Annotated[str, typer.Option(help="A4 or Letter.")] = "A4",
) -> None:
    """Write the marked sheet on which drawings and leaves are photographed."""
    from armature.papers.leaves import write_marked_sheet

    write_marked_sheet(_free(out), paper)
    typer.echo(f"wrote {out}: print it without scaling")


@leaves.command()
def photo(
    picture: Annotated[Path, typer.Argument(help="Photograph of a drawing or a leaf on the marked sheet.")],
    out: Annotated[Path, typer.Argument(help="SVG to write, for leaves.outline.files.")],
    paper: Annotated[str, typer.Option(help="A4 or Letter.")] = "A4",
) -> None:
    """Trace a drawing on paper, or a real leaf, to an outline with veins, smooth and in true size."""
    from armature.leaves import trace, traced_svg

    traced = trace(picture, paper)
    _free(out).write_text(traced_svg(traced), encoding="utf-8", newline="\n")
    wide, tall = traced.outline.max(axis=0) - traced.outline.min(axis=0)
    kind = f"line drawing, stroke {traced.line:.1f} mm, its middle taken" if traced.drawn else "leaf or filled shape"
    typer.echo(f"{kind}: {tall:.1f} mm long, {wide:.1f} mm wide, {len(traced.veins)} vein lines")
    typer.echo(f"markers within {traced.error:.2f} mm; wrote {out}")


def _free(out: Path) -> Path:
    from armature.edge import FileError

    if out.exists():
        raise FileError(out, "stands already: name another file")
    if not out.parent.is_dir():
        raise FileError(out, "has no folder to stand in")
    return out
