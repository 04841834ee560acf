"""An easel for tests: works that are quick or slow by the seed, and a page that asks."""

from __future__ import annotations

import http.client
import json
import threading
import time
from pathlib import Path
from typing import Any

from armature.commission import Commission
from armature.edge import CommissionError
from armature.grow import grow
from armature.job import Standing
from armature.job.folder import job_folder
from armature.look import judged
from armature.pictures.easel import Settled, Works
from armature.pictures.easel.server import Easel, listening
from armature.progress import Told
from armature.tree import Tree
from tests.crew import CREW
from tests.pictures.scenes import small


def make(commission: Commission, folder: Path, told: Told) -> None:
    if commission.seed == 13:
        raise CommissionError("seed", "is unlucky here", 13)
    with job_folder(folder) as aside:
        (aside / "summary.md").write_text(f"# {commission.title}\n", encoding="utf-8")
        for share in range(1200 if commission.seed == 15 else 1):
            told("lists", share / 1200.0)
            time.sleep(0.05 if commission.seed == 15 else 0.0)


def settle(commission: Commission, _folder: Path, told: Told) -> Settled:
    for share in range(40 if commission.seed == 14 else 1):
        told("mending", share / 40.0)
        time.sleep(0.05 if commission.seed == 14 else 0.0)
    tree = grow(commission)
    return Settled(
        tree, judged(tree), Standing(True, "Stands.", ("not checked for ice",)), ("mending moved 2 members",)
    )


def totals(_commission: Commission, tree: Tree) -> list[tuple[str, str]]:
    return [("Members", str(len(tree)))]


def works() -> Works:
    return Works(grow, judged, settle, totals, make)


class Caller:
    """A page that asks the easel."""

    def __init__(self, easel: Easel, host: str | None = None, headers: dict[str, str] | None = None) -> None:
        self.port = easel.server.port
        own = {
            "Host": host or f"127.0.0.1:{self.port}",
            "X-House": "1",
            "Cookie": f"house-{self.port}={easel.server.cookie}",
        }
        self.headers = {**own, **(headers or {})}

    def ask(self, path: str, body: Any = None) -> tuple[int, bytes]:
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=120)
        text = body if isinstance(body, str) or body is None else json.dumps(body)
        line.request("GET" if body is None else "POST", path, text, self.headers)
        reply = line.getresponse()
        found = reply.status, reply.read()
        line.close()
        return found

    def told(self, path: str, body: Any = None) -> dict[str, Any]:
        status, text = self.ask(path, body)
        assert status == 200, text
        return dict(json.loads(text))

    def begun(self) -> str:
        return str(self.told("/api/new", {})["session"])


def started(jobs: Path, host: str = "127.0.0.1") -> Easel:
    easel = listening(small()[0], works(), jobs, host, 0, CREW)
    threading.Thread(target=easel.run, daemon=True).start()
    return easel


def finished(page: Caller, work: str) -> dict[str, Any]:
    for _ in range(12000):
        found = page.told(f"/api/{work}/progress")
        if found["state"] != "making":
            return found
        time.sleep(0.02)
    raise AssertionError("make did not end")
