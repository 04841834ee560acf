"""The easel with the whole house behind it: from the page to a job folder on disk, the same tree on both."""

from __future__ import annotations

import json
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import sync_playwright

from armature.cli.pictures import works
from armature.commission import changed, read
from armature.files.design import load
from armature.grow import grow
from armature.job import standing_of
from armature.make import make
from armature.pictures.easel.server import Easel, listening
from armature.strength import assessed
from tests.crew import CREW
from tests.pictures.test_easel_page import CHROMIUM

# A weeping tree, whose crown is mended, in a wind that its thinnest limbs do not stand as first drawn.
TEXT = """
title = "Well-side willow"
seed = 3
[canopy]
habit = "pendulous"
height = "3 m"
[growth]
limbs = 3
branches = 7
twigs = 30
[leaves]
count = 24
designs = 3
[site]
wind_speed = "115 mph"
exposure = "C"
[pictures]
width = 160
height = 200
turntable = 2
turntable_side = 64
"""


@pytest.fixture
def easel(tmp_path: Path) -> Iterator[Easel]:
    started = listening(read(TEXT), works(), tmp_path / "jobs", "127.0.0.1", 0, CREW)
    threading.Thread(target=started.run, daemon=True).start()
    yield started
    started.stop()


def test_the_job_folder_holds_the_tree_that_the_page_shows(easel: Easel, tmp_path: Path) -> None:
    with sync_playwright() as started:
        browser = started.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": 1280, "height": 800})
        page.set_default_timeout(600_000)
        page.goto(easel.address)
        page.wait_for_selector("#panel[data-settled]:not([data-settled=''])")
        told = page.inner_text("#look"), page.inner_text("#standing"), page.inner_text("#caption")
        faults = page.locator("#faults button").count()
        page.click("#make")
        page.wait_for_selector("#files a:has-text('summary.md')")
        folder = Path(page.inner_text("#made"))
        browser.close()
    session = next(iter(easel.studio.sessions.values()))
    shown = session.settled[session.present().number]
    tree, commission = load(folder)
    assert tree.hung(shown.tree.leaves).same_as(shown.tree)
    look = json.loads((folder / "look.json").read_text())
    assert look["overall"] == shown.verdict.overall
    assert told[0] == f"{look['overall']:.0f} of 100"
    assert faults == sum(row["score"] < 80.0 for row in look["measures"])
    strength = json.loads((folder / "strength.json").read_text())
    assert told[1].startswith("Stands") == strength["verdict"]["word"].startswith("passes")
    assert "as make will make it" in told[2]
    for name in ("summary.md", "shop/packet.pdf", "mesh/tree.glb", "view/sheet.png", "bars.csv"):
        assert (folder / name).stat().st_size > 0, name
    # From the page or the command line: one commission, one tree.
    (tmp_path / "same.toml").write_text(session.text())
    again = make(read(tmp_path / "same.toml"), tmp_path / "again", ("plates", "shop", "papers", "mesh", "pictures"))
    assert again.tree.hung(tree.leaves).same_as(tree)
    assert commission == read(tmp_path / "same.toml")


def test_standing_is_said_in_words_with_a_line_for_each_reason() -> None:
    windy = changed(read(TEXT), {"site.wind_speed": "170 mph", "canopy.height": "6 m", "canopy.spread": ["5 m", "4 m"]})
    found = assessed(grow(windy), windy)
    said = standing_of(found)
    assert not said.stands
    assert said.says == f"Does not stand yet: {(found.ratios > 1.0).sum()} of {len(found.tree)} members fall short."
    assert len(said.rows) == min((found.ratios > 1.0).sum(), 80)
    assert found.ratios[said.rows[0]] == found.ratios.max()
    assert all(" times what is allowed, " in line or line.startswith("not checked") for line in said.reasons)
    assert len(said.reasons) >= 2
    calm = changed(windy, {"site.wind_speed": None})
    assert standing_of(assessed(grow(calm), calm)).says.startswith(("Not proven to stand", "Does not stand yet"))
