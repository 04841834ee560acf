"""What becomes of each file of an old job folder when a new one takes its place.

The user's files stay. A result that nobody changed goes where a new one takes its place. What has to give way without
that proof, and results that no longer fit the design, move to `earlier/NUMBER/` under their own paths; of the program's
own files there the last five numbers stay.
"""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import Literal

from armature.job.written import INNER, Moved, Written, digest_at, files_below, read_written

SUMS = "SHA256SUMS"
DESIGN = "design.json"
MOVED = "moved.csv"
# What only the user keeps: a run reads it and never replaces it.
USERS_OWN = ("made.csv", "measured", "approvals")
# What becomes of results that a run does not write again: they go, stay, or stay only while the design does.
Leftovers = Literal["go", "stay", "fit"]
_EARLIER = 5
_EDITED = "changed since a run wrote it"
_FOREIGN = "stood where a new result stands"
_UNFIT = "no longer fits the design"


@dataclass
class Keeping:
    """places: where each file of the old folder that stays shall stand, by path. gone: SHA-256 of those that go, each
    proved to be the program's own. written: the list of the new folder. home: where what gives way is moved to.
    said: what moved, a line each."""

    places: dict[str, str] = field(default_factory=dict)
    gone: dict[str, str] = field(default_factory=dict)
    written: Written = field(default_factory=Written)
    home: str = "earlier"
    said: list[str] = field(default_factory=list)


def kept(old: Path, new: Path, leftovers: Leftovers) -> Keeping:
    """Return what becomes of the files of `old`, when the results in `new` take their place."""
    before = read_written(old)
    fresh = {name: digest_at(new / name) for name in files_below(new) if name not in INNER}
    stay = leftovers == "stay" or (leftovers == "fit" and _same_design(old, fresh))
    home, number = _next_earlier(old, before)
    dropped, taken = _dropped(before, number, home), _taken(fresh, home)
    keeping, moved = Keeping(home=home), dict[str, Moved]()
    stayed: dict[str, str] = {}
    for name in files_below(old):
        if name in INNER:
            continue
        listed = before.files.get(name)
        # The user's own may be large: it is read only where its bytes decide.
        digest = digest_at(old / name) if listed or name in fresh or name in dropped else ""
        why = None if dropped.get(name, "none") == digest else _why_moved(name, digest, listed, fresh, taken, stay)
        if why is None:
            keeping.gone[name] = digest
        elif why or (listed and digest == listed and not stay and leftovers == "fit"):
            why = why or _UNFIT
            moved[name] = Moved(digest if why == _UNFIT else "", why)
            keeping.places[name] = f"{home}/{number}/{name}"
        elif listed and digest == listed and not stay:
            keeping.gone[name] = digest
        else:
            keeping.places[name] = name
            stayed |= {name: listed} if listed and listed == digest else {}
    still = {n: rows for n, rows in before.earlier.items() if _stands(old / home / str(n), rows, dropped, n, home)}
    still |= {number: moved} if moved else {}
    keeping.written = Written(fresh | stayed, still)
    keeping.said += _said(moved, f"{home}/{number}")
    return keeping


def moved_csv(written: Written) -> str:
    """Return the list of what has moved aside, for people: number, path and why."""
    rows = [
        f"{number},{_quoted(name)},{moved.why}"
        for number, rows in sorted(written.earlier.items())
        for name, moved in sorted(rows.items())
    ]
    return "\n".join(["number,file,why", *rows]) + "\n"


def is_users_own(name: str) -> bool:
    """Return whether a path is one that no run writes."""
    return PurePosixPath(name).parts[0] in USERS_OWN


def _why_moved(
    name: str,
    digest: str,
    listed: str | None,
    fresh: dict[str, str],
    taken: tuple[frozenset[str], frozenset[str]],
    stay: bool,
) -> str | None:
    """Return why a file has to move, nothing ('') where its place is its own, None where it goes for a new one."""
    if is_users_own(name):
        return ""
    if not _is_taken(name, taken):
        return _EDITED if listed and digest != listed and not stay else ""
    # The same bytes again: nothing is lost where the new file takes the place.
    if digest and digest in (listed, fresh.get(name)):
        return None
    return _EDITED if listed else _FOREIGN


def _taken(fresh: dict[str, str], home: str) -> tuple[frozenset[str], frozenset[str]]:
    """Return the paths at which results stand, and the folders that hold some."""
    files = {*fresh, SUMS, f"{home}/{MOVED}"}
    folders = {parent.as_posix() for name in fresh for parent in PurePosixPath(name).parents}
    return frozenset(files), frozenset(folders - {"."})


def _is_taken(name: str, taken: tuple[frozenset[str], frozenset[str]]) -> bool:
    """Return whether a result stands at a path, above it or below it."""
    files, folders = taken
    return name in files or name in folders or any(one.as_posix() in files for one in PurePosixPath(name).parents)


def _same_design(old: Path, fresh: dict[str, str]) -> bool:
    return bool(fresh.get(DESIGN)) and fresh[DESIGN] == digest_at(old / DESIGN)


def _next_earlier(old: Path, before: Written) -> tuple[str, int]:
    """Return the folder for what gives way, and the next number in it."""
    home = "earlier" if not os.path.lexists(old / "earlier") or _is_folder(old / "earlier") else "earlier-2"
    here = os.listdir(old / home) if _is_folder(old / home) else []
    taken = [int(name) for name in here if name.isascii() and name.isdecimal() and len(name) < 9]
    return home, max([0, *taken, *before.earlier]) + 1


def _is_folder(path: Path) -> bool:
    return path.is_dir() and not path.is_symlink()


def _dropped(before: Written, number: int, home: str) -> dict[str, str]:
    """Return the SHA-256, by path, of the program's own files in `earlier/` that are older than the last five."""
    old = sorted([*before.earlier, number])[:-_EARLIER]
    return {
        f"{home}/{one}/{name}": moved.digest
        for one in old
        for name, moved in before.earlier.get(one, {}).items()
        if moved.digest
    }


def _stands(folder: Path, rows: dict[str, Moved], dropped: dict[str, str], number: int, home: str) -> bool:
    return any(f"{home}/{number}/{name}" not in dropped and os.path.lexists(folder / name) for name in rows)


def _said(moved: dict[str, Moved], place: str) -> list[str]:
    lines = []
    for why in dict.fromkeys(one.why for one in moved.values()):
        names = [name for name, one in moved.items() if one.why == why]
        more = f" and {len(names) - 3} more" if len(names) > 3 else ""
        lines.append(f"moved to {place}: {', '.join(names[:3])}{more}: {why}")
    return lines


def _quoted(name: str) -> str:
    plain = name if not name.startswith(("=", "+", "-", "@")) else f"'{name}"
    return f'"{plain.replace(chr(34), chr(34) * 2)}"' if any(sign in plain for sign in ',"\n\r') else plain
