"""The command line: one command a job. Each command imports what it needs when it runs, so that help comes at once."""

from __future__ import annotations

import contextlib
import errno
import io
import os
import signal
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from armature import __version__
from armature.cli.files_from import FilesFrom
from armature.cli.fit import fit, overlay
from armature.cli.leaves import leaves
from armature.cli.look import judge, refine, survey
from armature.cli.measure import measure, seat
from armature.cli.pictures import approve, easel, show
from armature.cli.shop import papers, rebuild
from armature.edge import ArmatureError

if TYPE_CHECKING:
    from armature.commission import Commission
    from armature.tree import Tree

PARTS = "mending, plates, strength, shop, papers, mesh, pictures"

# Every mistake on the command line itself is of this class, whichever click the installed typer carries.
_UsageError: type[Exception] = typer.BadParameter.__bases__[0]

# What the command line hands back where it was stopped by hand, and what the system says where output cannot go on.
_INTERRUPTED = 130
# An error is one line that a terminal shows whole, characters.
_LONGEST = 300
_UNSAID = (errno.EBADF, errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO, errno.EPIPE)

app = typer.Typer(
    name="armature",
    help="Forged-steel trees: grow, judge, check and build them from one commission file.",
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


app.command()(judge)
app.command()(refine)
app.command()(survey)
app.command()(rebuild)
app.command()(papers)
app.command()(show)
app.command()(easel)
app.command()(approve)
app.command()(fit)
app.command()(overlay)
app.command()(measure)
app.command()(seat)
app.add_typer(leaves, name="leaves")


def main() -> None:
    """Run the command line and leave: 0 done, 2 the input is wrong, said in one line, 1 anything else."""
    _open_closed_streams()
    _stop_by_signals()
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # A title in letters that the terminal does not have must not end the run.
            stream.reconfigure(errors="backslashreplace")
    raise SystemExit(run(sys.argv[1:]))


def _open_closed_streams() -> None:
    """Have a stream that the caller has closed lead nowhere: else the next file that is opened would take its place."""
    for number, name, mode in ((0, "stdin", "r"), (1, "stdout", "w"), (2, "stderr", "w")):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)
        if getattr(sys, name) is None:
            setattr(sys, name, os.fdopen(number, mode, encoding="utf-8", closefd=False))


def _stop_by_signals() -> None:
    """What ends a session or a job ends a run as ctrl-c does: nothing half made stays."""

    def stop(number: int, _: object) -> None:
        signal.signal(number, signal.SIG_IGN)
        raise KeyboardInterrupt

    for name in ("SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        # A run that was started to outlive its session goes on.
        if number is not None and signal.getsignal(number) != signal.SIG_IGN:
            signal.signal(number, stop)


def _say(line: str) -> None:
    """Say a line on stderr, where anybody hears it."""
    with contextlib.suppress(OSError, ValueError):
        print(line, file=sys.stderr)


def run(arguments: list[str]) -> int:
    """Return the exit code of one command line; what is wrong with the input goes to stderr in one line."""
    try:
        code = app(arguments, standalone_mode=False, prog_name="armature")
        sys.stdout.flush()
    except ArmatureError as error:
        return _refused(str(error))
    except _UsageError as error:
        return _refused(f"{error.format_message()} ('armature --help' shows the commands)")  # type: ignore[attr-defined]
    except (KeyboardInterrupt, typer.Abort):
        return _stopped()
    except OSError as error:
        if error.filename is not None or error.errno not in _UNSAID:
            raise
        return _unsaid(error)
    if code == _INTERRUPTED:
        return _stopped()
    return code if isinstance(code, int) else 0


def _stopped() -> int:
    _say("armature: stopped")
    return 1


def _unsaid(error: OSError) -> int:
    """Return the exit code where what is to be said finds no room, or nobody who reads on."""
    # What is still held back would be tried once more at the end, and fail again.
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    if error.errno != errno.EPIPE:
        _say(f"armature: what is to be said cannot be written: {error.strerror}")
    return 1


def _refused(message: str) -> int:
    line = " ".join(f"armature: {message[:5000]}".split())
    _say(line if len(line) < _LONGEST else f"{line[: _LONGEST - 2]}…")
    return 2


def _show_version(asked: bool) -> None:
    if asked:
        print(f"armature {__version__}")
        raise typer.Exit


@app.callback(invoke_without_command=True)
def _armature(
    context: typer.Context,
    version: Annotated[
        bool, typer.Option("--version", callback=_show_version, is_eager=True, help="Show the version and leave.")
    ] = False,
) -> None:
    if context.invoked_subcommand is None:
        print(context.get_help())


@app.command()
def new(
    preset: Annotated[str, typer.Argument(help="Preset to start from; --list shows them.")] = "civic",
    out: Annotated[Path | None, typer.Option(help="File to write; PRESET.toml in this folder unless said.")] = None,
    show: Annotated[bool, typer.Option("--list", help="List the presets and leave.")] = False,
) -> None:
    """Start a commission from a preset."""
    from armature.commission import preset_paths, preset_purpose, start_commission

    if show:
        for name, path in preset_paths().items():
            print(f"{name:<12}{preset_purpose(path)}")
        return
    written = start_commission(preset, out or Path(f"{preset}.toml"))
    print(f"wrote {', '.join(str(path) for path in written)}")
    print(f"next: armature make {written[0]}")


@app.command()
def make(
    file: Annotated[
        Path,
        typer.Argument(
            metavar="COMMISSION", help="Commission file, TOML; or a design.json or its folder: that tree as it stands."
        ),
    ],
    out: Annotated[Path | None, typer.Option(help="Job folder to write; jobs/NAME unless said.")] = None,
    seed: Annotated[
        int | None, typer.Option(min=0, max=2**63 - 1, help="Grow this seed instead of the commission's.")
    ] = None,
    skip: Annotated[list[str] | None, typer.Option(help=f"Leave out a part; may be given again: {PARTS}.")] = None,
    strengthen: Annotated[
        bool | None,
        typer.Option(
            "--strengthen/--no-strengthen",
            help="Make members that fail a check thicker until they pass; unless said, not those of a design.",
        ),
    ] = None,
    fine: Annotated[bool, typer.Option("--fine", help="Fine stills and the film too: minutes more.")] = False,
    files_from: FilesFrom = None,
) -> None:
    """Make everything a commission asks for, from tree to papers, in one job folder."""
    from armature.make import make as make_job
    from armature.progress import progress

    tree, commission = (None, _commission(file, seed, files_from)) if not _is_design(file) else _design(file, seed)
    with progress(commission.title) as told:
        made = make_job(commission, out or Path("jobs") / _name(file), skip or (), told, strengthen, tree, fine)
    print(f"{commission.title}: {_counted(made.tree)}")
    print(f"look {made.verdict.overall:.0f} of 100")
    if made.strength:
        print(f"strength {made.strength}")
    for warning in made.warnings:
        print(f"- {warning}")
    print(f"wrote {made.folder}")


@app.command()
def grow(
    file: Annotated[Path, typer.Argument(metavar="COMMISSION", help="Commission file, TOML.")],
    out: Annotated[Path | None, typer.Option(help="Folder for design.json and the lists; none unless said.")] = None,
    seed: Annotated[
        int | None, typer.Option(min=0, max=2**63 - 1, help="Grow this seed instead of the commission's.")
    ] = None,
    files_from: FilesFrom = None,
) -> None:
    """Grow a tree and take a first look at it: seconds, no pictures."""
    from armature.front import grow as grow_tree
    from armature.look import first_look

    commission = _commission(file, seed, files_from)
    tree = grow_tree(commission)
    verdict = first_look(tree)
    print(f"{commission.title}, seed {commission.seed}: {_counted(tree)}")
    print(f"trunk {tree.start_diameters[0]:.0f} mm, {tree.tips[:, 2].max() / 1000.0:.2f} m high")
    print(f"first look {verdict.overall:.0f} of 100")
    for fault in verdict.faults:
        print(f"- {fault.wrong}: {fault.helps}")
    if out is not None:
        from armature.job import carry_named_files, job_folder, write_lists

        moved: list[str] = []
        with job_folder(out, said=moved) as aside:
            write_lists(aside, tree, commission)
            carry_named_files(aside, out, commission)
        for line in moved:
            print(f"- {line}")
        print(f"wrote {out}")


def _is_design(file: Path) -> bool:
    return file.is_dir() or file.suffix.lower() == ".json"


def _design(file: Path, seed: int | None) -> tuple[Tree, Commission]:
    from armature.edge import CommissionError
    from armature.front import load

    if seed is not None:
        raise CommissionError("--seed", "a design's tree is grown already: leave the seed out", seed)
    return load(file)


def _name(file: Path) -> str:
    """Return the name of a job: that of the commission, or of the folder that a design stands in."""
    folder = file if file.is_dir() else file.parent
    return folder.resolve().name if file.is_dir() or file.name == "design.json" else file.stem


def _commission(file: Path, seed: int | None, files_from: Path | None = None) -> Commission:
    from armature.commission import changed, read

    commission = read(file, files_from)
    return commission if seed is None else changed(commission, {"seed": seed})


def _counted(tree: Tree) -> str:
    from armature.tree import PLURALS, RANKS

    counts = [int((tree.ranks == rank).sum()) for rank in range(len(RANKS))]
    words = [f"{n:,} {PLURALS[rank] if n > 1 else RANKS[rank]}" for rank, n in enumerate(counts) if n and rank]
    if tree.has_leader:
        words[0] += " and the leader"
    return ", ".join([*words, f"{len(tree.leaves):,} leaves"])
