"""The window in which the tree is turned: on a screen made up for the test, and on a machine without one."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageGrab, features

from armature.pictures.cameras import fitted, toward
from armature.pictures.probe import RAYS, way, window_class
from armature.pictures.raster import GraphicsStage
from armature.pictures.scene import staged
from armature.pictures.window import turnable
from tests.pictures.scenes import small

_MAQUETTE = Path(__file__).parents[2] / "presets" / "maquette.toml"


@pytest.fixture(scope="module")
def display() -> Iterator[str]:
    if shutil.which("Xvfb") is None or not features.check("xcb"):
        pytest.skip("no made-up screen on this machine: xvfb is not installed")
    read, write = os.pipe()
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(write), "-noreset", "-screen", "0", "1100x950x24"],
        pass_fds=[write],
        stderr=subprocess.DEVNULL,
    )
    os.close(write)
    with os.fdopen(read) as told:
        number = told.readline().strip()
    yield f":{number}"
    server.terminate()
    server.wait(60)


def _asked(display: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "armature", "show", str(_MAQUETTE), "--window"],
        env={**os.environ, "DISPLAY": display},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def test_a_window_opens_and_shows_the_tree(display: str) -> None:
    shown = _asked(display)
    try:
        copper = 0.0
        for _ in range(150):
            seen = np.asarray(ImageGrab.grab(xdisplay=display).convert("RGB")).astype(int)
            copper = float(((seen[..., 0] > seen[..., 1] + 25) & (seen[..., 1] > seen[..., 2])).mean())
            if copper > 0.01 or shown.poll() is not None:
                break
            time.sleep(0.2)
        assert shown.poll() is None
        assert copper > 0.01
    finally:
        shown.terminate()
        shown.communicate(timeout=120)


def test_without_a_screen_one_line_says_so() -> None:
    shown = _asked("")
    _, said = shown.communicate(timeout=240)
    assert shown.returncode == 2
    assert len(said.strip().splitlines()) == 1
    assert "--window: needs a screen" in said


@pytest.mark.skipif(way() == RAYS, reason="no graphics library works on this machine")
def test_the_light_follows_the_eye_as_the_tree_is_turned() -> None:
    scene = staged(small()[1], rays=4)
    first, later = (fitted(scene.subject, toward(azimuth, 4.0), (1000, 900)) for azimuth in (-90.0, 20.0))
    stage = turnable(scene, first, window_class(way()), off_screen=True)
    stage.render()
    stage.camera.position, stage.camera.focal_point = later.eye, later.target
    turned = np.asarray(stage.screenshot(return_img=True)).astype(int)
    stage.close()
    still = GraphicsStage(scene, (1000, 900), window_class(way()), 1)
    expected = still.draw(later).astype(int)
    still.close()
    apart = np.abs(turned - expected).max(axis=2)
    assert np.median(apart) <= 2
    assert (apart > 60).mean() < 0.03
    assert Image.fromarray(expected.astype(np.uint8)).size == (1000, 900)
