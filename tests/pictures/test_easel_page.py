"""The easel in a real browser: move, look, pick, compare, make, download, by hand and by keyboard."""

from __future__ import annotations

import shutil
import threading
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Page, sync_playwright

from armature.commission import read
from armature.pictures.easel.server import Easel, listening
from tests.crew import CREW
from tests.pictures.asking import works
from tests.pictures.scenes import small

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or "chromium"


@pytest.fixture(scope="module")
def easel(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Easel]:
    started = listening(small()[0], works(), tmp_path_factory.mktemp("jobs"), "127.0.0.1", 0, CREW)
    threading.Thread(target=started.run, daemon=True).start()
    yield started
    started.stop()


@pytest.fixture(scope="module")
def page(easel: Easel) -> Iterator[Page]:
    with sync_playwright() as started:
        browser = started.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        opened = browser.new_context(viewport={"width": 1280, "height": 800}).new_page()
        opened.set_default_timeout(240_000)
        wrong: list[str] = []
        foreign: list[str] = []
        opened.on("pageerror", lambda error: wrong.append(str(error)))
        opened.on("request", lambda asked: foreign.append(asked.url) if not _own(asked.url, easel) else None)
        opened.goto(easel.address)
        opened.wait_for_selector("#tree[data-tree]")
        yield opened
        assert wrong == []
        assert foreign == []
        browser.close()


def _own(url: str, easel: Easel) -> bool:
    return url.startswith((easel.address.split("?")[0], "data:", "blob:"))


def _next(page: Page, before: str | None) -> str:
    page.wait_for_selector(f"body:not(.busy) #tree[data-tree]:not([data-tree='{before}'])")
    return str(page.get_attribute("#tree", "data-tree"))


def test_the_page_shows_a_tree_and_everything_fits(page: Page, tmp_path: Path) -> None:
    page.locator("#tree").screenshot(path=tmp_path / "tree.png")
    with Image.open(tmp_path / "tree.png") as opened:
        seen = np.asarray(opened.convert("RGB")).astype(int)
    assert ((seen[..., 0] > seen[..., 1] + 25) & (seen[..., 1] > seen[..., 2])).mean() > 0.003
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    page.wait_for_selector("#panel[data-tree]")
    assert "of 100" in page.inner_text("#look")
    page.wait_for_selector("#panel[data-settled]:not([data-settled=''])")
    assert page.inner_text("#standing") == "Stands."
    assert page.inner_text("#reasons") == "not checked for ice"
    assert "as make will make it: mending moved 2 members" in page.inner_text("#caption")


def test_a_key_on_a_slider_grows_another_tree_and_undo_takes_it_back(page: Page) -> None:
    before = page.get_attribute("#tree", "data-tree")
    twigs = page.locator("#growth-twigs")
    value = twigs.input_value()
    twigs.focus()
    page.keyboard.press("ArrowRight")
    after = _next(page, before)
    assert int(twigs.input_value()) == int(value) + 1
    page.keyboard.press("Control+z")
    _next(page, after)
    assert twigs.input_value() == value


def test_a_habit_offers_its_own_spread(page: Page) -> None:
    before = page.get_attribute("#tree", "data-tree")
    assert page.is_hidden("#usual")
    page.select_option("#habit", "columnar")
    after = _next(page, before)
    page.click("#usual:has-text('columnar habit')")
    _next(page, after)
    # 0.35 of the height of 2.4 m, and 0.92 of that.
    assert float(page.input_value("#canopy-spread-0")) == pytest.approx(0.84, abs=0.03)
    assert float(page.input_value("#canopy-spread-1")) == pytest.approx(0.77, abs=0.03)
    assert page.is_hidden("#usual")


def test_a_running_make_is_stopped_from_the_page(page: Page) -> None:
    before = page.get_attribute("#tree", "data-tree")
    page.fill("#seed", "15")
    page.keyboard.press("Tab")
    _next(page, before)
    page.click("#make")
    page.click("#stop")
    page.wait_for_selector("#made:has-text('stopped: nothing was written')")
    assert page.is_enabled("#make")
    assert page.is_hidden("#stop")
    page.click("#another")
    _next(page, str(int(before or 0) + 1))


def test_a_click_on_the_trunk_names_it(page: Page) -> None:
    # Look at the foot of the tree from near by: the trunk fills the middle of the stage.
    page.evaluate("viewer.home(); viewer.view.target = [0, 0, 250]; viewer.view.away = 1500; viewer.draw()")
    stage = page.locator("#tree").bounding_box()
    assert stage is not None
    page.mouse.click(stage["x"] + stage["width"] / 2, stage["y"] + stage["height"] / 2)
    page.wait_for_selector("#message:has-text('trunk T')")
    page.click("#front")


def test_trees_stand_side_by_side(page: Page) -> None:
    before = page.get_attribute("#tree", "data-tree")
    page.click("#aside")
    page.click("#another")
    _next(page, before)
    page.click("text=show beside")
    page.wait_for_selector(f"#other:not([hidden]) canvas[data-tree='{before}'][data-frames]")
    page.click("text=hide")


def test_the_commission_is_downloaded_and_a_broken_one_is_refused_on_the_page(page: Page, tmp_path: Path) -> None:
    with page.expect_download() as waiting:
        page.click("#download")
    waiting.value.save_as(tmp_path / "mine.toml")
    assert read(tmp_path / "mine.toml").title == "Test alder"
    (tmp_path / "broken.toml").write_text("title = \n")
    page.set_input_files("#open", tmp_path / "broken.toml")
    page.wait_for_selector("#message:has-text('is not TOML')")
    before = page.get_attribute("#tree", "data-tree")
    page.click("#another")
    _next(page, before)


def test_make_runs_and_offers_its_files(page: Page) -> None:
    page.click("#make")
    page.wait_for_selector("#files a:has-text('summary.md')")


def test_another_page_has_its_own_tree_and_a_page_loaded_again_finds_its_own(page: Page, easel: Easel) -> None:
    seed = page.input_value("#seed")
    other = page.context.new_page()
    other.goto(easel.address)
    other.wait_for_selector("#tree[data-tree]")
    assert other.input_value("#seed") == "7"
    other.close()
    page.reload()
    page.wait_for_selector("#tree[data-tree]")
    assert page.input_value("#seed") == seed
    page.set_viewport_size({"width": 820, "height": 1180})
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
