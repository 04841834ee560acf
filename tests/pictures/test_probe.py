"""Drawing on machines with and without graphics libraries."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

from armature.pictures import probe

_LIBRARIES = ("libEGL.so", "libEGL.so.1", "libOSMesa.so", "libOSMesa.so.6", "libOSMesa.so.8", "libGL.so.1", "libGL.so")


def _hidden(folder: Path) -> dict[str, str]:
    """Return an environment in which every graphics library is found as an empty file first."""
    folder.mkdir()
    for name in _LIBRARIES:
        (folder / name).write_bytes(b"")
    kept = {key: value for key, value in os.environ.items() if key not in ("ARMATURE_GRAPHICS", "DISPLAY")}
    return {**kept, "LD_LIBRARY_PATH": str(folder), "XDG_CACHE_HOME": str(folder / "cache")}


@pytest.mark.skipif(sys.platform != "linux", reason="libraries are hidden by the loader of Linux")
def test_with_every_library_hidden_the_picture_is_drawn_by_rays_and_said_so(tmp_path: Path) -> None:
    script = (
        "from pathlib import Path\n"
        "from armature.pictures import picture\n"
        "from armature.pictures.stages import manner\n"
        "from tests.trees import gallows\n"
        "picture(gallows(), Path(__import__('sys').argv[1]), size=(160, 200))\n"
        "print(manner())\n"
    )
    target = tmp_path / "seen.png"
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", script, str(target)],
        env=_hidden(tmp_path / "hidden"),
        capture_output=True,
        text=True,
        timeout=120,
        cwd=Path(__file__).parents[2],
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert "casting rays" in done.stdout
    with Image.open(target) as seen:
        assert seen.size == (160, 200)
    kept = json.loads((tmp_path / "hidden" / "cache" / "armature" / "graphics.json").read_text())
    assert kept["way"] == "rays"


@pytest.fixture
def _forgotten(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.delenv("ARMATURE_GRAPHICS", raising=False)
    probe.way.cache_clear()


@pytest.mark.usefixtures("_forgotten")
def test_the_answer_is_kept_and_asked_again_when_the_libraries_change(monkeypatch: pytest.MonkeyPatch) -> None:
    tried: list[str] = []

    def works(name: str) -> bool:
        tried.append(name)
        return name == "osmesa"

    monkeypatch.setattr(probe, "_works", works)
    monkeypatch.setattr(probe, "_candidates", lambda: ["egl", "osmesa"])
    assert probe.way() == "osmesa"
    probe.way.cache_clear()
    assert probe.way() == "osmesa"
    assert tried == ["egl", "osmesa"]
    monkeypatch.setenv("DISPLAY", ":77")
    probe.way.cache_clear()
    assert probe.way() == "osmesa"
    assert tried == ["egl", "osmesa"] * 2
    probe.way.cache_clear()


@pytest.mark.usefixtures("_forgotten")
def test_a_broken_or_locked_cache_costs_only_the_trial(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(probe, "_works", lambda _name: False)
    (tmp_path / "armature").write_text("in the way")
    assert probe.way() == probe.RAYS
    probe.way.cache_clear()


def test_a_child_that_dies_counts_as_no_library(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(probe, "_TRIAL", "import os, signal; os.kill(os.getpid(), signal.SIGSEGV)")
    assert not probe._works("egl")


def test_the_environment_may_name_the_way(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("ARMATURE_GRAPHICS", "rays")
    probe.way.cache_clear()
    assert probe.way() == "rays"
    probe.way.cache_clear()
