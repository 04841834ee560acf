"""Commands of the eye: judge, refine, survey. Each imports what it needs when it runs, so that help comes at once."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from armature.look.skeleton import Skeleton


def judge(
    file: Annotated[
        Path, typer.Argument(help="design.json, a job folder, an SWC file, or CSV id,parent,x,y,z,radius in m.")
    ],
    out: Annotated[Path | None, typer.Option(help="Folder for look.json, look.md and the pictures.")] = None,
    pictures: Annotated[bool, typer.Option(help="Draw the pictures too.")] = True,
) -> None:
    """Judge the look of a design or of a measured tree: what is wrong, where to stand, what would help."""
    from armature.look import judged
    from armature.look.words import in_words

    tree, repairs = _subject(file)
    verdict = judged(tree)
    for repair in repairs:
        typer.echo(f"repaired: {repair}")
    typer.echo(f"overall {verdict.overall:.0f} of 100, {len(tree)} members, {len(verdict.faults)} finding(s)")
    for line in in_words(tree, verdict)[:12]:
        typer.echo(f"- {line}")
    if out is not None:
        from armature.look.report import write_look
        from armature.records.folder import job_folder

        with job_folder(out) as aside:
            write_look(aside, tree, verdict, repairs, file.stem, pictures)
        typer.echo(f"wrote {out}")


def _subject(file: Path) -> tuple[Skeleton, tuple[str, ...]]:
    """Return the skeleton that a file holds, and what was repaired on reading."""
    from armature.look.skeleton import skeleton_of

    if file.is_dir() or file.suffix.lower() == ".json":
        from armature.records.design import load

        return skeleton_of(load(file)[0]), ()
    from armature.look.axes import skeleton_of_nodes
    from armature.look.measured import read_nodes

    nodes = read_nodes(file)
    return skeleton_of_nodes(nodes), nodes.repairs
