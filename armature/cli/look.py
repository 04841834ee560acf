"""Commands of the eye: judge, refine, survey. Each imports what it needs when it runs, so that help comes at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from armature.cli.files_from import FilesFrom

if TYPE_CHECKING:
    from armature.look import Grown, Skeleton


def judge(
    file: Annotated[
        Path,
        typer.Argument(
            help="design.json, job folder, SWC, CSV id,parent,x,y,z,radius in m, or given steel: tag,x,y,z,diameter."
        ),
    ],
    out: Annotated[Path | None, typer.Option(help="Folder for look.json, look.md and the pictures.")] = None,
    pictures: Annotated[bool, typer.Option(help="Draw the pictures too.")] = True,
) -> None:
    """Judge the look of a design or of a measured tree: what is wrong, where to stand, what would help."""
    from armature.look import judged
    from armature.papers.look import in_words, judged_as

    if out is not None:
        from armature.job import beside_a_job

        beside_a_job(out)
    skeleton, repairs = _subject(file)
    verdict = judged(skeleton)
    for repair in repairs:
        typer.echo(f"repaired: {repair}")
    typer.echo(f"overall {verdict.overall:.0f} of 100, {len(skeleton)} members, {len(verdict.faults)} finding(s)")
    typer.echo(judged_as(skeleton, verdict))
    for line in in_words(skeleton, verdict)[:12]:
        typer.echo(f"- {line}")
    if out is not None:
        from armature.job import job_folder, write_look

        moved: list[str] = []
        with job_folder(out, said=moved) as aside:
            write_look(aside, skeleton, verdict, repairs, file.stem, pictures)
        for line in moved:
            typer.echo(f"- {line}")
        typer.echo(f"wrote {out}")


def _subject(file: Path) -> tuple[Skeleton, tuple[str, ...]]:
    """Return the skeleton that a file holds, and what was repaired on reading."""
    from armature.look import skeleton_of

    if file.is_dir() or file.suffix.lower() == ".json":
        from armature.front import load

        return skeleton_of(load(file)[0]), ()
    from armature.look import read_nodes, skeleton_of_nodes
    from armature.made import given_steel, is_given

    if is_given(file):
        from armature.commission import Anvil

        return skeleton_of(given_steel(file, (), Anvil())), ()
    nodes = read_nodes(file)
    return skeleton_of_nodes(nodes), nodes.repairs


def refine(
    folder: Annotated[Path, typer.Argument(help="Job folder or design.json to mend; made.csv beside it is kept.")],
    out: Annotated[
        Path | None, typer.Option(help="Folder for the mended design, before and after; FOLDER-refined.")
    ] = None,
    rounds: Annotated[int, typer.Option(min=1, max=500, help="Handfuls of moves to try.")] = 40,
) -> None:
    """Mend the look of a design: move only what spoils it; what is made stays."""
    from armature.front import load, save
    from armature.job import carry_named_files, job_folder, write_look, write_mending
    from armature.look import ranges, refined, skeleton_of
    from armature.made import made_tags
    from armature.progress import progress

    tree, commission = load(folder)
    made = made_tags((folder if folder.is_dir() else folder.parent) / "made.csv")
    with progress(commission.title) as told:
        mended, mending = refined(tree, commission, made, rounds, lambda share: told("mending", share), "made.csv")
    before, after = mending.before.overall, mending.after.overall
    typer.echo(f"overall {before:.1f} -> {after:.1f}, {len(mending.moved)} member(s) moved, {len(made)} made and kept")
    for step in mending.steps:
        typer.echo(f"- against {ranges()[step.finding].title}: {len(step.tags)} moved, {step.overall:.1f}")
    target = out or Path(f"{str(folder if folder.is_dir() else folder.with_suffix('')).rstrip('/')}-refined")
    moved: list[str] = []
    with job_folder(target, said=moved) as aside:
        save(mended, commission, aside / "design.json")
        carry_named_files(aside, target, commission)
        write_look(aside, skeleton_of(mended), mending.after, (), commission.title)
        write_mending(aside, aside, tree, mended, mending)
    for line in moved:
        typer.echo(f"- {line}")
    typer.echo(f"wrote {target}")
    typer.echo(f"next: armature make {target}{f' --out {folder}' if folder.is_dir() else ''}")


def survey(
    file: Annotated[Path, typer.Argument(help="Commission (TOML).")],
    seeds: Annotated[int, typer.Option(min=1, max=1_000_000, help="How many seeds to grow.")] = 200,
    first: Annotated[int, typer.Option(min=0, help="First seed.")] = 1,
    vary: Annotated[
        list[str] | None,
        typer.Option(help="KEY=a,b,c or KEY=low..high: a commission value to try, drawn by seed; repeat."),
    ] = None,
    keep: Annotated[int, typer.Option(min=1, max=48, help="Trees on the contact sheet.")] = 12,
    out: Annotated[
        Path | None, typer.Option(help="Folder for results, table, sheet; surveys/NAME if not said.")
    ] = None,
    jobs: Annotated[int, typer.Option(help="Processes; -1 is one a core.")] = -1,
    by: Annotated[
        str,
        typer.Option(
            help="Order by a word of character: leaning, centred, shared, led, dense, airy, low-forked, high-forked,"
            " slender, wide."
        ),
    ] = "",
    scheduler: Annotated[str | None, typer.Option(help="Address of a dask scheduler, tcp://HOST:PORT.")] = None,
    files_from: FilesFrom = None,
) -> None:
    """Grow and judge many seeds, and keep the best that differ: a sheet and a table. Interrupted, it goes on."""
    from armature.commission import read
    from armature.job import add_to_survey, beside_a_job, open_folder, read_survey, write_beside
    from armature.look import best_unlike, ordered, surveyed
    from armature.papers.look import survey_files, words_by_key
    from armature.progress import progress

    ordered((), by)
    commission, ways = read(file, files_from), _ways(vary or [])
    folder = open_folder(beside_a_job(out or Path("surveys") / file.stem))
    with progress(commission.title) as told:
        crowns = surveyed(
            commission,
            range(first, first + seeds),
            ways,
            read_survey(folder),
            jobs,
            scheduler,
            lambda done, of: told(f"{done} of {of}", done / of),
            lambda grown: add_to_survey(folder, grown),
        )
    crowns = ordered(crowns, by)
    best = best_unlike(crowns, keep, by)
    _tell_best(best, words_by_key(crowns))
    failed = sum(bool(grown.failed) for grown in crowns)
    for name in write_beside(folder, survey_files(commission, crowns, best, by)):
        typer.echo(f"a file of yours was in the way: kept as {folder / name}")
    typer.echo(f"{len(crowns)} grown, {failed} did not fit; wrote {folder}")


def _ways(vary: list[str]) -> dict[str, str]:
    """Return what is tried, by commission key; raises CommissionError for words that are none or come twice."""
    from armature.edge import CommissionError

    ways: dict[str, str] = {}
    for word in vary:
        key, sign, values = (part.strip() for part in word.partition("="))
        if not sign or not key:
            raise CommissionError("--vary", "is KEY=a,b,c or KEY=low..high", word)
        if key in ways:
            raise CommissionError("--vary", "says each key once", word)
        ways[key] = values
    return ways


def _tell_best(best: list[Grown], said: Mapping[str, Sequence[str]]) -> None:
    from armature.look import tied

    for grown in best:
        changes = "".join(f", {key} {value}" for key, value in grown.values.items())
        typer.echo(f"seed {grown.seed}: {grown.overall:.0f}, {' '.join(said[grown.key])}{changes}")
    if tied(best):
        typer.echo(tied(best))
