"""What the easel answers to its page: one small function a request."""

from __future__ import annotations

import json
import mimetypes
import secrets
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from armature.commission import Commission, write
from armature.errors import CommissionError, FileError
from armature.pictures.easel.controls import CONTROLS, HABITS, outlines, shown_values, usual_spread
from armature.pictures.easel.saying import said_of
from armature.pictures.easel.session import NAME, Grown, Session, restored
from armature.pictures.easel.sketch import sketch
from armature.pictures.easel.works import Works
from armature.pictures.page import viewer_script, web
from armature.records.named import carry_named_files
from armature.saving import write_whole
from armature.tree import RANKS

_PAGE_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self' data:; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
# Files of a job folder may hold pages with scripts: they open without any right over the easel.
_FILE_POLICY = "sandbox allow-scripts"


@dataclass(frozen=True)
class Asked:
    """One request."""

    verb: str
    path: str
    query: dict[str, str]
    body: bytes
    encodings: str = ""

    def values(self) -> dict[str, Any]:
        """Return the request's JSON object."""
        try:
            found = json.loads(self.body or b"{}")
        except ValueError:
            raise CommissionError("request", "is not JSON") from None
        if not isinstance(found, dict):
            raise CommissionError("request", "must be an object")
        return found


@dataclass(frozen=True)
class Answer:
    """One reply."""

    status: int
    kind: str
    body: bytes
    headers: dict[str, str] = field(default_factory=dict)

    @staticmethod
    def of(value: Any) -> Answer:
        """Return a reply in JSON."""
        return Answer(200, "application/json", json.dumps(value, separators=(",", ":"), allow_nan=False).encode())

    @staticmethod
    def wrong(status: int, message: str) -> Answer:
        """Return a refusal with one line that the page shows."""
        return Answer(status, "application/json", json.dumps({"wrong": message}).encode())

    @staticmethod
    def moved(place: str, cookie: str) -> Answer:
        """Return a reply that leads on to another place with a cookie set."""
        return Answer(303, "text/plain", b"", {"Location": place, "Set-Cookie": cookie})


class Studio:
    """All sessions of one easel; jobs: the folder below which job folders are made."""

    def __init__(self, commission: Commission, works: Works, jobs: Path) -> None:
        self.works, self.jobs = works, jobs
        self.start, self.folder = write(commission), commission.folder
        self.sessions: dict[str, Session] = {}
        self.lock = threading.Lock()

    def new(self) -> Session:
        """Return a fresh session that starts from the commission the easel was opened with."""
        name = secrets.token_hex(8)
        session = Session(name, self._file(name), self.folder, self.works, [self.start])
        with self.lock:
            self.sessions[name] = session
        return session

    def session(self, name: str) -> Session:
        """Return a session by name, from its file where the program was closed in between."""
        if not NAME.fullmatch(name):
            raise CommissionError("session", "no such work at this easel")
        with self.lock:
            found = self.sessions.get(name) or restored(name, self._file(name), self.folder, self.works)
            if found is None:
                raise CommissionError("session", "no such work at this easel")
            self.sessions[name] = found
            return found

    def put_away(self) -> None:
        """Stop what is being made: nothing half-written stays behind."""
        with self.lock:
            for session in self.sessions.values():
                if session.making is not None:
                    session.making.stop()

    def earlier(self) -> list[str]:
        """Return the names of works that are kept on disk, the latest first."""
        kept = sorted((self.jobs / ".easel").glob("*.json"), key=lambda file: (-file.stat().st_mtime_ns, file.name))
        return [file.stem for file in kept if NAME.fullmatch(file.stem)][:12]

    def _file(self, name: str) -> Path:
        return self.jobs / ".easel" / f"{name}.json"


def answer(studio: Studio, asked: Asked) -> Answer:
    """Return the reply to a request; raises ArmatureError with a line for the page."""
    if asked.verb == "GET" and asked.path in _PAGES:
        return _PAGES[asked.path]()
    parts = asked.path.strip("/").split("/")
    if parts == ["api", "new"] and asked.verb == "POST":
        return Answer.of({"session": studio.new().name})
    if parts == ["api", "earlier"] and asked.verb == "GET":
        return Answer.of({"sessions": studio.earlier()})
    if len(parts) == 3 and parts[0] == "api":
        found = _ROUTES.get((asked.verb, parts[2]))
        if found is not None:
            return found(studio, studio.session(parts[1]), asked)
    if len(parts) >= 3 and parts[0] == "job" and asked.verb == "GET":
        return _job_file(studio.session(parts[1]), "/".join(parts[2:]))
    return Answer.wrong(404, "there is nothing here")


def _page() -> Answer:
    return Answer(
        200, "text/html; charset=utf-8", web("easel.html").encode(), {"Content-Security-Policy": _PAGE_POLICY}
    )


def _state(session: Session, grown: Grown, studio: Studio) -> dict[str, Any]:
    return {
        "tree": grown.number,
        "title": grown.commission.title,
        "units": grown.commission.units,
        "values": shown_values(grown.commission),
        "usual": usual_spread(grown.commission),
        "undo": session.at > 0,
        "redo": session.at < len(session.steps) - 1,
        "members": len(grown.tree),
        "shelf": [_shelved(number, each) for number, each in sorted(session.aside.items())],
        "jobs": str(studio.jobs.resolve()),
    }


def _shelved(number: int, grown: Grown) -> dict[str, Any]:
    kept = grown.commission
    growth = kept.growth
    return {"tree": number, "says": f"seed {kept.seed} · {growth.limbs}, {growth.branches}, {growth.twigs}"}


def _look_at(studio: Studio, session: Session, _asked: Asked) -> Answer:
    return Answer.of(
        {
            **_state(session, session.present(), studio),
            "controls": _CONTROLS,
            "habits": [*HABITS, *outlines(session.folder)],
        }
    )


def _move(studio: Studio, session: Session, asked: Asked) -> Answer:
    given = asked.values()
    moved = given.get("values")
    if not isinstance(moved, dict):
        raise CommissionError("request", "must say which values")
    return Answer.of(_state(session, session.moved(moved, bool(given.get("keep"))), studio))


def _step(by: int) -> Callable[[Studio, Session, Asked], Answer]:
    return lambda studio, session, _asked: Answer.of(_state(session, session.stepped(by), studio))


def _open(studio: Studio, session: Session, asked: Asked) -> Answer:
    try:
        text = asked.body.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise CommissionError("uploaded file", "is not text in UTF-8") from None
    return Answer.of(_state(session, session.opened(text), studio))


def _set_aside(studio: Studio, session: Session, _asked: Asked) -> Answer:
    return Answer.of(_state(session, session.set_aside(), studio))


def _take_back(studio: Studio, session: Session, asked: Asked) -> Answer:
    return Answer.of(_state(session, session.taken_back(_number(asked.values().get("tree"))), studio))


def _take_down(studio: Studio, session: Session, asked: Asked) -> Answer:
    session.aside.pop(_number(asked.values().get("tree")), None)
    return Answer.of(_state(session, session.present(), studio))


def _scene(_studio: Studio, session: Session, asked: Asked) -> Answer:
    number = _number(asked.query.get("tree"))
    tree, metal = session.seen(number), session.on_shelf(number).commission.leaves.metal
    return Answer(200, "application/octet-stream", sketch(tree, asked.query.get("fine") == "1", metal))


def _panel(_studio: Studio, session: Session, asked: Asked) -> Answer:
    """Return what is said at once of a tree: as make will make it where that is known, else as first grown."""
    number = _number(asked.query.get("tree"))
    return Answer.of(said_of(session, number, session.settled.get(number)))


def _settle(_studio: Studio, session: Session, asked: Asked) -> Answer:
    """Return what is said of a tree once it is settled as make will make it."""
    number = _number(asked.query.get("tree"))
    settled = session.settle(number)
    return Answer.of({"tree": number, "gone": True} if settled is None else said_of(session, number, settled))


def _member(_studio: Studio, session: Session, asked: Asked) -> Answer:
    """Return what is known of a picked member or leaf."""
    tree = session.seen(_number(asked.query.get("tree")))
    row = _number(asked.query.get("row"))
    if asked.query.get("part") == "leaves":
        if not 0 <= row < len(tree.leaves):
            raise CommissionError("leaf", "no such row", row)
        leaves = tree.leaves
        name = f", {leaves.names[row]}" if leaves.names[row] else ""
        twig = int(leaves.twigs[row])
        return Answer.of({"row": twig, "says": f"leaf {leaves.tags[row]}{name}: design {leaves.designs[row]}"})
    if not 0 <= row < len(tree):
        raise CommissionError("member", "no such row", row)
    size = f"{tree.lengths[row]:.0f} mm long, {tree.start_diameters[row]:.1f} to {tree.end_diameters[row]:.1f} mm thick"
    return Answer.of({"row": row, "says": f"{RANKS[int(tree.ranks[row])]} {tree.tags[row]}: {size}"})


def _commission(_studio: Studio, session: Session, _asked: Asked) -> Answer:
    kept = {"Content-Disposition": 'attachment; filename="commission.toml"'}
    return Answer(200, "application/toml; charset=utf-8", session.text().encode(), kept)


def _save(studio: Studio, session: Session, asked: Asked) -> Answer:
    """Write the commission into the folder of jobs under a plain name."""
    name = str(asked.values().get("name", "")).strip()
    if not name or name != Path(name).name or name.startswith(".") or not name.isprintable() or "\\" in name:
        raise CommissionError("name", "must be a plain file name", name)
    path = studio.jobs / (name if name.endswith(".toml") else f"{name}.toml")
    try:
        studio.jobs.mkdir(parents=True, exist_ok=True)
        write_whole(path, session.text().encode())
        carry_named_files(studio.jobs, studio.jobs, session.present().commission, replaces=False)
    except FileError:
        raise
    except OSError as error:
        raise FileError(path, f"cannot be written: {error.strerror or error}") from None
    return Answer.of({"path": str(path)})


def _begin(studio: Studio, session: Session, _asked: Asked) -> Answer:
    session.begin_making()
    return _progress(studio, session, _asked)


def _stop(studio: Studio, session: Session, asked: Asked) -> Answer:
    if session.making is not None:
        session.making.stop()
    return _progress(studio, session, asked)


def _progress(_studio: Studio, session: Session, _asked: Asked) -> Answer:
    making = session.making
    if making is None:
        return Answer.of({"state": "none"})
    state = "making" if not making.done else "wrong" if making.wrong else "done"
    files = _files(making.folder) if state == "done" else []
    found = {"state": state, "what": making.what, "share": making.share, "wrong": making.wrong}
    return Answer.of({**found, "files": files, "folder": str(making.folder)})


def _files(folder: Path) -> list[list[Any]]:
    return [
        [str(path.relative_to(folder).as_posix()), path.stat().st_size]
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.is_symlink()
    ]


def _job_file(session: Session, name: str) -> Answer:
    """Return a file of the session's own job folder; nothing outside of it, whatever the name says."""
    from urllib.parse import unquote

    making = session.making
    if making is None:
        return Answer.wrong(404, "nothing has been made here yet")
    root = making.folder.resolve()
    path = (root / unquote(name)).resolve()
    if not path.is_relative_to(root) or not path.is_file():
        return Answer.wrong(404, "there is no such file in the job folder")
    kind = mimetypes.guess_type(path.name)[0] or "application/octet-stream"
    return Answer(200, kind, path.read_bytes(), {"Content-Security-Policy": _FILE_POLICY})


def _number(given: Any) -> int:
    try:
        return int(given)
    except (TypeError, ValueError):
        raise CommissionError("request", "must be a whole number", given) from None


_CONTROLS = [
    {"key": c.key, "label": c.label, "group": c.group, "low": c.low, "high": c.high, "step": c.step, "unit": c.unit}
    for c in CONTROLS
]
_PAGES: dict[str, Callable[[], Answer]] = {
    "/": _page,
    "/viewer.js": lambda: Answer(200, "text/javascript; charset=utf-8", viewer_script().encode()),
    "/easel.js": lambda: Answer(200, "text/javascript; charset=utf-8", web("easel.js").encode()),
    "/easel.css": lambda: Answer(200, "text/css; charset=utf-8", web("easel.css").encode()),
}
_ROUTES: dict[tuple[str, str], Callable[[Studio, Session, Asked], Answer]] = {
    ("GET", "state"): _look_at,
    ("GET", "scene"): _scene,
    ("GET", "panel"): _panel,
    ("GET", "settle"): _settle,
    ("GET", "member"): _member,
    ("GET", "commission.toml"): _commission,
    ("GET", "progress"): _progress,
    ("POST", "move"): _move,
    ("POST", "undo"): _step(-1),
    ("POST", "redo"): _step(1),
    ("POST", "open"): _open,
    ("POST", "aside"): _set_aside,
    ("POST", "back"): _take_back,
    ("POST", "down"): _take_down,
    ("POST", "save"): _save,
    ("POST", "make"): _begin,
    ("POST", "stop"): _stop,
}
