"""An easel of its own for each test that asks for one."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from armature.pictures.easel.server import Easel
from tests.pictures.asking import started


@pytest.fixture
def easel(tmp_path: Path) -> Iterator[Easel]:
    begun = started(tmp_path / "jobs")
    yield begun
    begun.stop()
