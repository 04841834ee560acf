"""Commands of pictures: show, easel, approve. Each imports what it needs when it runs, so that help comes at once."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from armature.cli.files_from import FilesFrom

if TYPE_CHECKING:
    from armature.commission import Commission
    from armature.leaves import LeafPlan
    from armature.pictures import Showing
    from armature.pictures.easel import Settled, Works
    from armature.progress import Told
    from armature.tree import Tree


def show(
    file: Annotated[Path, typer.Argument(help="A commission, design.json or a job folder.")],
    out: Annotated[Path | None, typer.Option(help="PNG to write; VIEW.png in this folder unless said.")] = None,
    view: Annotated[
        str, typer.Option(help="front, side, back, quarter, above, below, visitor, twig or crotch.")
    ] = "front",
    size: Annotated[str, typer.Option(help="Width and height in pixels, as in 1600x1200.")] = "1200x1500",
    bare: Annotated[bool, typer.Option("--bare", help="Without leaves.")] = False,
    clear: Annotated[bool, typer.Option("--clear", help="On a see-through background.")] = False,
    age: Annotated[str, typer.Option(help="Age of the leaves: new, brown or green.")] = "",
    files_from: FilesFrom = None,
    window: Annotated[bool, typer.Option("--window", help="Open a window and turn the tree in it.")] = False,
) -> None:
    """Draw one picture of a tree, or open a window in which it is turned."""
    from armature.commission import changed
    from armature.job import write_picture
    from armature.pictures import as_png, checked, drawn, manner, named, need_screen, picture_path, showing_of

    wanted = checked(_size(size))
    named(view)
    if window:
        need_screen()
    target = None if window else picture_path(out or Path(f"{view}.png"), file)
    plan, commission, stage_of_work = _subject(file, files_from)
    if age:
        commission = changed(commission, {"pictures.age": age})
    showing = showing_of(commission, plan)
    if target is None:
        _turn(showing, view, not bare)
        return
    seen = drawn(showing.scene(leaves=not bare), plan.tree, [view], wanted, clear)[view]
    if moved := write_picture(target, as_png(seen)):
        typer.echo(f"- what stood there is {moved} now")
    typer.echo(f"wrote {target}: {stage_of_work}; {manner()}")


def _turn(showing: Showing, view: str, leaves: bool) -> None:
    from armature.pictures import camera, show_window

    scene = showing.scene(leaves)
    typer.echo("a window opens: drag turns the tree, shift and drag moves it, the wheel comes nearer, q closes it")
    show_window(scene, camera(scene, showing.tree, view, (1000, 900)), showing.commission.title)


def approve(
    file: Annotated[Path, typer.Argument(help="What the client's page saved: a signed yes or not yet, with notes.")],
    job: Annotated[Path, typer.Argument(help="Job folder with the design that it is about.")],
) -> None:
    """Take the client's word in: checked against the design, told, and kept in the job's approvals/."""
    from armature.job import approve

    approval, place = approve(file, job)
    for line in approval.lines:
        typer.echo(line)
    typer.echo(f"kept as {place}")


def easel(
    file: Annotated[Path | None, typer.Argument(help="Commission to start from; the garden preset else.")] = None,
    port: Annotated[int, typer.Option(help="Port to listen on; 0 takes any that is free.")] = 8437,
    host: Annotated[
        str, typer.Option(help="Address to listen on; 0.0.0.0 lets others on the network in, with the token.")
    ] = "127.0.0.1",
    jobs: Annotated[Path, typer.Option(help="Folder for job folders, commissions and kept work.")] = Path("jobs"),
    open_page: Annotated[bool, typer.Option("--open/--no-open", help="Open the page in the browser.")] = True,
) -> None:
    """Shape a tree by eye on a local page: sliders, findings, trees side by side, undo, make."""
    from armature.commission import preset_paths, read
    from armature.pictures.easel import Easel, serve

    commission = read(file if file is not None else preset_paths()["garden"])

    def ready(easel: Easel) -> None:
        typer.echo(f"the easel stands at {easel.address}  (ctrl-c ends it; work is kept in {jobs / '.easel'})")
        typer.echo("the address lets in who has it: keep it to yourself")
        if open_page:
            typer.launch(easel.address)

    try:
        serve(commission, works(), jobs, host, port, ready)
    except KeyboardInterrupt:
        typer.echo("the easel is put away")


def works() -> Works:
    """Return what the easel asks of the rest of the house."""
    from armature.front import grow
    from armature.look import judged
    from armature.pictures.easel import Works

    return Works(grow, judged, _settle, _totals, _make)


def _settle(commission: Commission, folder: Path, told: Told) -> Settled:
    """Return what `make` decides about a tree: mended, and made thicker where it must be; plates lie as they will."""
    from armature.job import standing_of
    from armature.make import planned
    from armature.pictures.easel import Settled

    plans = planned(commission, folder, ("plates", "shop"), told)
    assert plans.strength is not None
    moved = len(plans.mending.moved) if plans.mending is not None else 0
    changes = (f"mending moved {moved} member{'s' * (moved != 1)}",) if moved else ()
    return Settled(plans.tree, plans.verdict, standing_of(plans.strength), (*changes, *plans.notes))


def _totals(commission: Commission, tree: Tree) -> list[tuple[str, str]]:
    from armature.pictures import facts

    return list(facts(commission, tree).rows)


def _make(commission: Commission, folder: Path, told: Told) -> None:
    from armature.make import make

    make(commission, folder, told=told)


def _size(text: str) -> tuple[int, int]:
    from armature.edge import CommissionError

    matched = re.fullmatch(r"\s*(\d{1,7})\s*[x×]\s*(\d{1,7})\s*", text)
    if matched is None:
        raise CommissionError("--size", "must be width and height in pixels, as in 1600x1200", text)
    return int(matched[1]), int(matched[2])


def _subject(file: Path, files_from: Path | None) -> tuple[LeafPlan, Commission, str]:
    """Return the tree with its leaves, its commission, and how far the work is: a commission is grown, a design shown
    as it stands.
    """
    from armature.commission import read, telling_of
    from armature.front import grow, load
    from armature.job import finished_leaves
    from armature.leaves import plan_leaves

    if file.is_dir() or file.suffix.lower() == ".json":
        tree, commission = load(file)
        return finished_leaves(file, tree, commission, plates=False), commission, "the design as it stands"
    commission = read(file, files_from)
    with telling_of(commission):
        plan = plan_leaves(commission, grow(commission), plates=False)
    return plan, commission, "as grown, before mending and sizing"
