"""The client's page, opened as the client does: from disk, with no network."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser, sync_playwright

from armature.pictures.facts import facts
from armature.pictures.packed import packed
from armature.pictures.page import LARGEST_BYTES, client_page
from armature.pictures.scene import staged
from tests.pictures.scenes import small

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or "chromium"


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    commission, tree = small()
    bare = {each.name: each.light for each in staged(tree, leaves=False, rays=4, fine=0.6).parts}
    path = tmp_path_factory.mktemp("view") / "client.html"
    return client_page(staged(tree, rays=4, fine=0.6), tree, facts(commission, tree), path, "new", bare)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as started:
        opened = started.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield opened
        opened.close()


def _shot(path: Path) -> np.ndarray:
    with Image.open(path) as seen:
        return np.asarray(seen.convert("RGB")).astype(int)


def test_the_page_opens_offline_and_its_switches_change_what_is_seen(
    page: Path, browser: Browser, tmp_path: Path
) -> None:
    context = browser.new_context(viewport={"width": 900, "height": 640}, offline=True)
    opened = context.new_page()
    asked: list[str] = []
    wrong: list[str] = []
    opened.on("request", lambda request: asked.append(request.url))
    opened.on("pageerror", lambda error: wrong.append(str(error)))
    opened.goto(page.as_uri())
    opened.wait_for_selector("#tree[data-frames]", timeout=120_000)
    stage = opened.locator("#tree")

    def seen(name: str) -> np.ndarray:
        opened.wait_for_timeout(400)
        stage.screenshot(path=tmp_path / f"{name}.png")
        return _shot(tmp_path / f"{name}.png")

    leafy = seen("leafy")
    copper = (leafy[..., 0] > leafy[..., 1] + 25) & (leafy[..., 1] > leafy[..., 2])
    assert copper.mean() > 0.01
    assert len(np.unique(leafy.reshape(-1, 3), axis=0)) > 500
    opened.check("[name=age][value=green]", force=True)
    green = seen("green")
    assert ((green[..., 1] > green[..., 0] + 5) & copper).sum() > 0.5 * copper.sum()
    opened.check("[name=crown][value=bare]", force=True)
    bare = seen("bare")
    assert (np.abs(bare - leafy).max(axis=2) > 30)[copper].mean() > 0.6
    opened.uncheck("#figure")
    assert (np.abs(seen("alone") - bare).max(axis=2) > 20).mean() > 0.003
    before = opened.evaluate("viewer.view.yaw")
    stage.focus()
    opened.keyboard.press("ArrowRight")
    assert opened.evaluate("viewer.view.yaw") != before
    near = opened.evaluate("viewer.view.away")
    opened.keyboard.press("+")
    assert opened.evaluate("viewer.view.away") < near
    assert wrong == []
    assert [url for url in asked if not url.startswith("file:")] == []
    context.close()


def test_the_page_says_the_facts_and_names_no_address(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    commission, tree = small()
    for label, value in facts(commission, tree).rows:
        assert label in text
        assert value.replace('"', "&quot;").replace("'", "&#x27;") in text
    assert re.search(r"https?://|//cdn|@import|url\(", text) is None
    assert "default-src 'none'" in text
    assert page.stat().st_size < LARGEST_BYTES


def test_a_title_cannot_break_out_of_the_page(tmp_path: Path) -> None:
    from dataclasses import replace

    commission, tree = small()
    sly = replace(facts(commission, tree), title="</title><script>alert(1)</script>$style")
    text = client_page(staged(tree, rays=0, fine=0.4), tree, sly, tmp_path / "page.html").read_text(encoding="utf-8")
    assert "<script>alert" not in text
    assert text.count("<script") == 2


def test_the_same_tree_gives_the_same_page(tmp_path: Path) -> None:
    commission, tree = small()
    pages = [
        client_page(staged(tree, rays=2, fine=0.4), tree, facts(commission, tree), tmp_path / name).read_bytes()
        for name in ("a.html", "b.html")
    ]
    assert pages[0] == pages[1]


def test_faces_of_a_packed_scene_sum_to_those_of_the_scene() -> None:
    _, tree = small()
    scene = staged(tree, rays=0, fine=0.6)
    raw = packed(scene, tree)
    long = int.from_bytes(raw[:4], "little")
    head, base = json.loads(raw[4 : 4 + long]), 4 + long + -long % 4
    for told, each in zip(head["parts"], scene.parts, strict=True):
        kind, place, count = told["arrays"]["faces"]
        assert kind == "u32"
        steps = np.frombuffer(raw, np.uint32, count, base + place).reshape(-1, 3)
        assert (np.cumsum(steps, axis=0, dtype=np.uint32) == each.faces).all()
