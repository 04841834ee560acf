"""The files that a commission names, carried into its job folder, so that design.json can be worked on from there."""

from __future__ import annotations

import shutil
from pathlib import Path, PurePath

from armature.commission import Commission, named_files
from armature.edge import FileError
from armature.job.folder import written_files


def carry_named_files(aside: Path, target: Path, commission: Commission, replaces: bool = True) -> list[Path]:
    """Return the copies, in a folder that is to stand at `target`, of the files that a commission names.

    A name that leads out of the commission's folder is left as it is. A file that the user keeps in the target itself
    stays there by itself. replaces: whether a file that stands at its place already gives way. Raises FileError for one
    that cannot be read.
    """
    written = []
    own = commission.folder.resolve() == target.resolve()
    listed = written_files(target) if own else {}
    for name in sorted(set(named_files(commission).values())):
        inside = not PurePath(name).is_absolute() and ".." not in PurePath(name).parts
        if not inside or (own and PurePath(name).as_posix() not in listed):
            continue
        place = aside / name
        if place.exists() and not replaces:
            continue
        place.parent.mkdir(parents=True, exist_ok=True)
        try:
            shutil.copyfile(commission.file(name), place)
        except OSError as error:
            raise FileError(commission.file(name), f"cannot be read: {error.strerror or error}") from None
        written.append(place)
    return written
