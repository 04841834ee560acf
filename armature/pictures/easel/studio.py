"""All works of one easel, each by its name."""

from __future__ import annotations

import secrets
import threading
from pathlib import Path

from armature.commission import Commission, write
from armature.edge import CommissionError
from armature.pictures.easel.session import NAME, Crew, Session, Step, restored
from armature.pictures.easel.works import Works

# Works in hand; what was kept of others comes back from its file.
MOST_WORKS = 64


class Studio:
    """All sessions of one easel; jobs: the folder below which job folders are made; crew: who works for its pages."""

    def __init__(self, commission: Commission, works: Works, jobs: Path, crew: Crew) -> None:
        self.works, self.jobs, self.crew = works, jobs, crew
        self.start, self.folder = write(commission), commission.folder
        self.sessions: dict[str, Session] = {}
        self.lock = threading.Lock()

    def new(self) -> Session:
        """Return a fresh session that starts from the commission the easel was opened with."""
        name = secrets.token_hex(8)
        session = Session(name, self._file(name), self.folder, self.works, self.crew, [Step(self.start)])
        with self.lock:
            self._take_in_hand(session)
        return session

    def session(self, name: str) -> Session:
        """Return a session by name, from its file where the program was closed in between."""
        if not NAME.fullmatch(name):
            raise CommissionError("session", "no such work at this easel")
        with self.lock:
            session = self.sessions.get(name) or restored(name, self._file(name), self.folder, self.works, self.crew)
            if session is None:
                raise CommissionError("session", "no such work at this easel")
            self._take_in_hand(session)
            return session

    def put_away(self) -> None:
        """Stop what is being made: nothing half-written stays behind."""
        with self.lock:
            for session in self.sessions.values():
                if session.making is not None:
                    session.making.stop()

    def earlier(self) -> list[str]:
        """Return the names of works that are kept on disk, the latest first; those that a page has in hand are its own
        alone.
        """
        kept = sorted((self.jobs / ".easel").glob("*.json"), key=lambda file: (-file.stat().st_mtime_ns, file.name))
        with self.lock:
            return [file.stem for file in kept if NAME.fullmatch(file.stem) and file.stem not in self.sessions][:12]

    def _take_in_hand(self, session: Session) -> None:
        """Put a session last; of more than there is room for, the longest unasked one goes that nothing is made of."""
        self.sessions.pop(session.name, None)
        idle = [name for name, each in self.sessions.items() if each.making is None or each.making.done]
        for name in idle[: max(len(self.sessions) + 1 - MOST_WORKS, 0)]:
            del self.sessions[name]
        self.sessions[session.name] = session

    def _file(self, name: str) -> Path:
        return self.jobs / ".easel" / f"{name}.json"
