"""What the easel hands over: the commission, and the job folder that is made of it."""

from __future__ import annotations

import mimetypes
from pathlib import Path
from typing import Any

from armature.edge import CommissionError, FileError, write_whole
from armature.job import carry_named_files, digest_of, is_foreign, kept_aside
from armature.pictures.easel.names import is_plain
from armature.pictures.easel.session import Session
from armature.pictures.easel.studio import Studio
from armature.server import Answer, Asked, MalformedError

# Files of a job folder may hold pages with scripts: they open without any right over the easel.
_FILE_POLICY = "sandbox allow-scripts"
_LONGEST = 1000
# What is opened first stands first; the rest follows by name.
_FIRST = (
    "view/client.html",
    "view/sheet.png",
    "view/front.png",
    "summary.md",
    "strength.md",
    "look.md",
    "shop/packet.pdf",
    "shop/estimate.pdf",
    "leaves/finder.html",
)


def commission_file(_studio: Studio, session: Session, _asked: Asked) -> Answer:
    """Return the commission on view as a file to keep."""
    kept = {"Content-Disposition": 'attachment; filename="commission.toml"'}
    return Answer(200, "application/toml; charset=utf-8", session.text().encode(), kept)


def save(studio: Studio, session: Session, asked: Asked) -> Answer:
    """Write the commission into the folder of jobs under a plain name; a file that this work has not written there
    itself is kept beside it.
    """
    given = asked.values().get("name")
    name = given.strip() if isinstance(given, str) else ""
    if not is_plain(name):
        raise CommissionError("name", "must be a plain file name", name)
    path = studio.jobs / (name if name.endswith(".toml") else f"{name}.toml")
    text, kept = session.text().encode(), ""
    try:
        with session.lock:
            studio.jobs.mkdir(parents=True, exist_ok=True)
            if is_foreign(path, (digest_of(text), session.written.get(path, ""))):
                kept = kept_aside(path)
            write_whole(path, text)
            session.written[path] = digest_of(text)
            carry_named_files(studio.jobs, studio.jobs, session.present().commission, replaces=False)
    except FileError:
        raise
    except OSError as error:
        raise FileError(path, f"cannot be written: {error.strerror or error}") from None
    return Answer.of({"path": str(path), "kept": kept})


def begin(studio: Studio, session: Session, _asked: Asked) -> Answer:
    """Start `make` aside, and say how far it is."""
    session.begin_making()
    return progress(studio, session, _asked)


def stop(studio: Studio, session: Session, asked: Asked) -> Answer:
    """End `make` where it stands."""
    if session.making is not None:
        session.making.stop()
    return progress(studio, session, asked)


def progress(_studio: Studio, session: Session, _asked: Asked) -> Answer:
    """Return how far `make` is, and what it has written."""
    making = session.making
    if making is None:
        return Answer.of({"state": "none"})
    state = "making" if not making.done else "wrong" if making.wrong else "done"
    files = _files(making.folder) if state == "done" else []
    told = {"state": state, "what": making.what, "share": making.share, "wrong": making.wrong}
    return Answer.of({**told, "files": files, "folder": str(making.folder)})


def _rank(name: str) -> tuple[int, str]:
    return (_FIRST.index(name) if name in _FIRST else len(_FIRST), name)


def _files(folder: Path) -> list[list[Any]]:
    return [[name, path.stat().st_size] for name, path in _listed(folder)]


def _listed(folder: Path) -> list[tuple[str, Path]]:
    """Return the files of a job folder, no links among them, what is opened first in front."""
    files = [
        (path.relative_to(folder).as_posix(), path)
        for path in folder.rglob("*")
        if path.is_file() and not path.is_symlink()
    ]
    return sorted(files, key=lambda each: _rank(each[0]))


def job_file(session: Session, name: str) -> Answer:
    """Return a file of the session's own job folder; nothing outside of it, whatever the name says."""
    making = session.making
    if "\0" in name or len(name) > _LONGEST:
        raise MalformedError("file", "is no name of a file", name[:80])
    if making is None:
        return Answer.wrong(404, "nothing has been made here yet")
    # Only what lies there is handed out, found by its name in the list: no path is made of what a page says.
    paths = dict(_listed(making.folder))
    path = paths.get(name)
    if path is None:
        return Answer.wrong(404, "there is no such file in the job folder")
    try:
        content = path.read_bytes()
    except OSError:
        raise MalformedError("file", "cannot be read", name[:80]) from None
    kind = mimetypes.guess_type(path.name)[0] or "application/octet-stream"
    return Answer(200, kind, content, {"Content-Security-Policy": _FILE_POLICY})
