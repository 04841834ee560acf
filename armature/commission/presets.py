"""Commissions to start from: they lie in `presets/` of a checkout and travel inside the installed package."""

from __future__ import annotations

from pathlib import Path

import armature
from armature.commission.complaints import nearest
from armature.commission.named_files import named_files
from armature.commission.reading import read
from armature.edge import CommissionError, FileError, write_whole

_PACKAGE = Path(armature.__file__).parent


def preset_paths() -> dict[str, Path]:
    """Return the commission file of each preset by name, in the order of the alphabet."""
    inside, beside = _PACKAGE / "presets", _PACKAGE.parent / "presets"
    folder = inside if inside.is_dir() else beside
    return {path.stem: path for path in sorted(folder.glob("*.toml"))}


def preset_path(name: str) -> Path:
    """Return the commission file of a preset, or raise CommissionError with the nearest name.

    >>> preset_path("garden").name
    'garden.toml'
    """
    paths = preset_paths()
    if name not in paths:
        near = nearest(name, paths)
        raise CommissionError(
            "preset", f"must be one of {', '.join(paths)}" + (f"; did you mean {near}?" if near else ""), name
        )
    return paths[name]


def preset_purpose(path: Path) -> str:
    """Return the line of comment that opens a preset."""
    return path.read_text(encoding="utf-8").splitlines()[0].removeprefix("#").strip()


def start_commission(name: str, file: Path) -> list[Path]:
    """Copy a preset to `file`, and the files it names beside it; return what was written.

    Raises FileError, with nothing written, where one of them exists or the folder cannot be written.
    """
    source = preset_path(name)
    commission = read(source)
    copies = {source: file} | {commission.file(o): file.parent / o for o in named_files(commission).values()}
    for target in copies.values():
        if target.exists():
            raise FileError(target, "exists already: name another file with --out")
    written: list[Path] = []
    try:
        for origin, target in copies.items():
            written.append(write_whole(target, origin.read_bytes()))
    except FileError:
        for target in written:
            target.unlink(missing_ok=True)
        raise
    return written
