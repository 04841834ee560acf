"""A server of two rooms and an easel, for each file of tests that asks for one."""

from __future__ import annotations

import threading
from collections.abc import Iterator

import pytest

from armature.pictures.easel.server import Easel
from armature.pictures.easel.server import listening as easel_listening
from armature.server import Room, Server, listening
from tests.crew import CREW
from tests.pictures.scenes import small
from tests.server.asking import answered, works


@pytest.fixture(scope="module")
def server() -> Iterator[Server]:
    rooms = {"/": Room(answered, largest_body=1000, seconds_for_body=0.5), "/ledger": Room(answered, threads=2)}
    started = listening(rooms, "127.0.0.1", 0)
    running = threading.Thread(target=started.run)
    running.start()
    yield started
    started.stop()
    running.join(120.0)
    assert not running.is_alive()


@pytest.fixture(scope="module")
def easel(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Easel]:
    jobs = tmp_path_factory.mktemp("work") / "jobs"
    started = easel_listening(small()[0], works(), jobs, "127.0.0.1", 0, CREW)
    threading.Thread(target=started.run, daemon=True).start()
    yield started
    started.stop()
