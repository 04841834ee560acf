"""The command line: one command a job. Each command imports what it needs when it runs, so that help comes at once."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from armature import __version__
from armature.errors import ArmatureError

# Every mistake on the command line itself is of this class, whichever click the installed typer carries.
_UsageError: type[Exception] = typer.BadParameter.__bases__[0]

app = typer.Typer(
    name="armature",
    help="Forged-steel trees: grow, judge, check and build them from one commission file.",
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


def main() -> None:
    """Run the command line and leave: 0 done, 2 the input is wrong, said in one line, 1 anything else."""
    raise SystemExit(run(sys.argv[1:]))


def run(arguments: list[str]) -> int:
    """Return the exit code of one command line; what is wrong with the input goes to stderr in one line."""
    try:
        code = app(arguments, standalone_mode=False, prog_name="armature")
    except ArmatureError as error:
        return _refused(str(error))
    except _UsageError as error:
        return _refused(f"{error.format_message()} ('armature --help' shows the commands)")  # type: ignore[attr-defined]
    except (KeyboardInterrupt, typer.Abort):
        print("armature: stopped", file=sys.stderr)
        return 1
    return code if isinstance(code, int) else 0


def _refused(message: str) -> int:
    print(f"armature: {' '.join(message.split())}", file=sys.stderr)
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
    preset: Annotated[str, typer.Argument(help="Preset to start from; --list shows them.")] = "garden",
    out: Annotated[Path | None, typer.Option(help="File to write; PRESET.toml in this folder unless said.")] = None,
    show: Annotated[bool, typer.Option("--list", help="List the presets and leave.")] = False,
) -> None:
    """Start a commission from a preset."""
    from armature.commission.presets import preset_paths, preset_purpose, start_commission

    if show:
        for name, path in preset_paths().items():
            print(f"{name:<12}{preset_purpose(path)}")
        return
    written = start_commission(preset, out or Path(f"{preset}.toml"))
    print(f"wrote {', '.join(str(path) for path in written)}")
    print(f"next: armature make {written[0]}")
