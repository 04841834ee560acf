"""What the easel answers to its page: one small function a request."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from armature.edge import CommissionError
from armature.pictures import viewer_script, web
from armature.pictures.easel.controls import CONTROLS, HABITS, outlines, shown_values, usual_spread
from armature.pictures.easel.looking import member, panel, scene, settle
from armature.pictures.easel.results import begin, commission_file, job_file, progress, save, stop
from armature.pictures.easel.session import Grown, Session
from armature.pictures.easel.studio import Studio
from armature.server import Answer, Asked, MalformedError, whole_number

_PAGE_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self' data:; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)


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
        reply = _ROUTES.get((asked.verb, parts[2]))
        if reply is not None:
            session = studio.session(parts[1])
            with session.turn():
                return reply(studio, session, asked)
    if len(parts) >= 3 and parts[0] == "job" and asked.verb == "GET":
        return job_file(studio.session(parts[1]), "/".join(parts[2:]))
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
            "habits": [*HABITS, *outlines(session.present().commission.folder)],
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
    given = asked.values()
    text, files = given.get("commission"), given.get("files", {})
    if not isinstance(text, str) or not isinstance(files, dict):
        raise MalformedError("request", "must hand over a commission and its files")
    return Answer.of(_state(session, session.opened(text.removeprefix("\ufeff"), files), studio))


def _set_aside(studio: Studio, session: Session, _asked: Asked) -> Answer:
    return Answer.of(_state(session, session.set_aside(), studio))


def _take_back(studio: Studio, session: Session, asked: Asked) -> Answer:
    return Answer.of(_state(session, session.taken_back(whole_number(asked.values().get("tree"))), studio))


def _take_down(studio: Studio, session: Session, asked: Asked) -> Answer:
    session.aside.pop(whole_number(asked.values().get("tree")), None)
    return Answer.of(_state(session, session.present(), studio))


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
    ("GET", "scene"): scene,
    ("GET", "panel"): panel,
    ("GET", "settle"): settle,
    ("GET", "member"): member,
    ("GET", "commission.toml"): commission_file,
    ("GET", "progress"): progress,
    ("POST", "move"): _move,
    ("POST", "undo"): _step(-1),
    ("POST", "redo"): _step(1),
    ("POST", "open"): _open,
    ("POST", "aside"): _set_aside,
    ("POST", "back"): _take_back,
    ("POST", "down"): _take_down,
    ("POST", "save"): save,
    ("POST", "make"): begin,
    ("POST", "stop"): stop,
}
