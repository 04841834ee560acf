"""The client's page, opened as the client does: from disk, with no network."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright
from pypdf import PdfReader

from armature.pictures.facts import facts
from armature.pictures.light import baked
from armature.pictures.packed import packed
from armature.pictures.page import LARGEST_BYTES, PageKnows, client_page
from armature.pictures.scene import staged
from armature.pictures.solar import sun_direction
from armature.tree import RANKS
from tests.pictures.scenes import small

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or "chromium"


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    commission, tree = small()
    bare = {each.name: each.light for each in staged(tree, leaves=False, rays=4, fine=0.6).parts}
    path = tmp_path_factory.mktemp("view") / "client.html"
    scene = staged(tree, rays=4, fine=0.6)
    solid = [each for each in scene.parts if each.name not in ("ground", "figure")]
    alone = baked([each for each in scene.parts if each.name == "ground"], solid, scene.sky.sun, 4)[0].light
    still = np.full((300, 240, 3), 128, dtype=np.uint8)
    knows = PageKnows("d" * 64, "mm", still, alone, alone)
    return client_page(scene, tree, facts(commission, tree), path, "new", bare, knows)


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
    opened.wait_for_selector("#tree[data-frames]", timeout=30_000)
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
    alone = seen("alone")
    assert (np.abs(alone - bare).max(axis=2) > 20).mean() > 0.003
    # The figure takes its shadow along: the ground alone is drawn twice, and differs where it lay.
    opened.evaluate("for (const each of viewer.scene.parts) if (each.name !== 'ground') viewer.hidden.add(each.name)")
    opened.evaluate("viewer.ask()")
    without = seen("ground")
    opened.evaluate("viewer.hidden.delete('figure'); viewer.replace('light', (part) => viewer.lights(part))")
    opened.evaluate("viewer.hidden.add('figure'), viewer.draw()")
    assert (np.abs(seen("shadowed") - without).max(axis=2) > 8).any()
    opened.evaluate("viewer.hidden.clear(); viewer.ask()")
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


@pytest.fixture
def opened(page: Path, browser: Browser) -> Iterator[Page]:
    """Yield the page at a desk; nothing may go wrong on it."""
    context = browser.new_context(viewport={"width": 900, "height": 640}, offline=True, accept_downloads=True)
    shown = context.new_page()
    wrong: list[str] = []
    shown.on("pageerror", lambda error: wrong.append(str(error)))
    shown.goto(page.as_uri())
    shown.wait_for_selector("#tree[data-frames]", timeout=30_000)
    yield shown
    assert wrong == []
    context.close()


def test_a_tap_tells_tag_and_length_and_a_signed_word_is_saved(opened: Page, tmp_path: Path) -> None:
    _, tree = small()
    row = tree.of_rank(1)[0] if len(tree.of_rank(1)) else 1
    tag = str(tree.tags[row])
    opened.fill("#tag", tag.lower())
    assert (
        opened.inner_text("#part") == f"{RANKS[int(tree.ranks[row])]} {tag}, {_metres(float(tree.lengths[row]))} long"
    )
    opened.fill("#note", "</script><b>a little</b> lower")
    opened.click("#add")
    leaf = str(tree.leaves.tags[0])
    opened.fill("#tag", leaf)
    assert opened.inner_text("#part") == f"Leaf {leaf}, without a name"
    opened.fill("#tag", "ZZ99")
    assert opened.inner_text("#part") == "no part has this tag"
    assert opened.locator("#notes b").count() == 0
    opened.click("#sign")
    assert opened.inner_text("#signed") == "It wants yes or not yet."
    opened.check("[name=says][value=yes]", force=True)
    opened.fill("#by", "Ann Lee")
    opened.fill("#on", "2026-05-04")
    with opened.expect_download() as kept:
        opened.click("#sign")
    kept.value.save_as(tmp_path / "word.json")
    said = json.loads((tmp_path / "word.json").read_text(encoding="utf-8"))
    assert said == {
        "format": "armature approval", "version": 1, "title": "Test alder", "design": "d" * 64, "says": "yes",
        "by": "Ann Lee", "on": "2026-05-04", "notes": [{"tag": tag, "text": "</script><b>a little</b> lower"}],
    }  # fmt: skip
    # A tap in the picture: on the trunk, a third of a metre up, by the page's own projection.
    place = opened.evaluate("viewer.onCanvas([0, 0, 330], viewer.matrices().seen)")
    box = opened.locator("#tree").bounding_box()
    assert box
    opened.mouse.click(box["x"] + place[0], box["y"] + place[1])
    assert opened.input_value("#tag") == "T"
    assert opened.inner_text("#part").startswith("trunk T, ")


def _metres(mm: float) -> str:
    return f"{mm:.0f} mm" if mm < 1000 else f"{mm / 1000:.2f} m"


def test_dimensions_stand_where_the_tree_ends_and_a_picture_can_be_kept(opened: Page, tmp_path: Path) -> None:
    _, tree = small()
    opened.check("#measured")
    opened.wait_for_timeout(300)
    words = opened.locator("#sizes text").all_text_contents()
    high, wide = opened.evaluate("viewer.scene.high"), opened.evaluate("viewer.scene.low")
    assert words[0] == f"{high[2] / 1000:.2f} m"
    assert high[2] == pytest.approx(float(tree.tips[:, 2].max()), rel=0.02)
    assert words[1:] == [_metres(high[0] - wide[0]), _metres(high[1] - wide[1])]
    with opened.expect_download() as kept:
        opened.click("#keep")
    kept.value.save_as(tmp_path / "tree.png")
    assert _shot(tmp_path / "tree.png").std() > 20


def test_the_shadow_of_an_hour_falls_where_geometry_puts_it(opened: Page) -> None:
    """Whether a place of the ground is shaded, by the page's own picture of it: the figure's head at 1.72 m throws its
    shadow 1.72 m / tan(height) from its foot, away from the sun of Spencer's series."""
    opened.check("[name=season][value=spring]", force=True)
    opened.evaluate("at('hour').value = '10'; at('hour').dispatchEvent(new Event('input'))")
    opened.wait_for_timeout(400)
    sun = sun_direction(date(2026, 3, 20), 10.0, 45.0)
    assert opened.evaluate("viewer.sky.sunDirection") == pytest.approx(sun.tolist(), abs=1e-4)
    scene = staged(small()[1], rays=0, fine=0.4)
    figure = next(each for each in scene.parts if each.name == "figure").vertices
    chest = figure[:, :2].mean(axis=0)
    cast = chest - 1100.0 * sun[:2] / sun[2]
    asked = [cast.tolist(), (cast + [0.0, 900.0]).tolist()]
    # Looked at from straight above the shadow, which then lies in the middle of the picture.
    light = opened.evaluate(
        """places => places.map(([x, y]) => {
          Object.assign(viewer.view, {target: [x, y, 0], pitch: 89, away: 9000});
          viewer.moving = false;
          viewer.draw();
          const gl = viewer.gl, seen = new Uint8Array(4);
          gl.readPixels(gl.drawingBufferWidth / 2, gl.drawingBufferHeight / 2, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, seen);
          return seen[1];
        })""",
        asked,
    )
    assert light[0] < 0.75 * light[1], light


def test_little_is_drawn_while_the_tree_turns_and_all_of_it_at_rest(opened: Page) -> None:
    whole = opened.evaluate("viewer.draw(), viewer.triangles")
    moving = opened.evaluate("viewer.turn(5, 0), viewer.draw(), viewer.triangles")
    assert moving < 35_000
    assert moving < 0.6 * whole
    for _ in range(100):
        opened.wait_for_timeout(100)
        if not opened.evaluate("viewer.moving"):
            break
    assert opened.evaluate("viewer.draw(), viewer.triangles") == whole


def test_every_control_has_a_name_and_is_reached_by_the_keyboard(opened: Page) -> None:
    """WCAG 2.2, 4.1.2 and 2.1.1: of what takes focus each has a label, and tab walks through all of it."""
    nameless = opened.evaluate(
        """[...document.querySelectorAll("button, input, textarea, canvas")].filter((each) =>
          !each.labels?.length && !each.textContent.trim() && !each.getAttribute("aria-label")).length"""
    )
    assert nameless == 0
    reached = set()
    for _ in range(30):
        opened.keyboard.press("Tab")
        reached.add(opened.evaluate("document.activeElement.id || document.activeElement.name"))
    assert {
        "tree",
        "crown",
        "age",
        "figure",
        "measured",
        "home",
        "turn",
        "keep",
        "tag",
        "note",
        "says",
        "by",
        "sign",
    } <= reached


def test_colours_of_words_stand_out_from_their_ground(opened: Page) -> None:
    """WCAG 2.2, 1.4.3: a contrast of 4.5 or more, of luminances by its own formula."""
    pairs = opened.evaluate(
        """["#signed", ".under", "dt", "dd", "#part", "legend", ".foot", ".hint"].map((each) => {
          const style = getComputedStyle(document.querySelector(each));
          return [style.color, style.backgroundColor];
        })"""
    )
    paper = (246, 243, 236)
    for colour, ground in pairs:
        fore, back = _channels(colour), _channels(ground)
        light = sorted((_luminance(fore[:3]), _luminance(back[:3] if len(back) == 3 else paper)))
        assert (light[1] + 0.05) / (light[0] + 0.05) >= 4.5, (colour, ground)


def _channels(colour: str) -> tuple[float, ...]:
    return tuple(float(each) for each in re.findall(r"[\d.]+", colour))


def _luminance(colour: tuple[float, ...]) -> float:
    share = [c / 255 / 12.92 if c / 255 <= 0.03928 else ((c / 255 + 0.055) / 1.055) ** 2.4 for c in colour]
    return 0.2126 * share[0] + 0.7152 * share[1] + 0.0722 * share[2]


def test_where_nothing_can_be_turned_a_still_stands_and_a_word_can_be_signed(page: Path, browser: Browser) -> None:
    context = browser.new_context(viewport={"width": 900, "height": 640}, offline=True)
    shown = context.new_page()
    shown.add_init_script("HTMLCanvasElement.prototype.getContext = () => null")
    shown.goto(page.as_uri())
    shown.wait_for_selector("#wrong:not([hidden])")
    assert "A still stands here" in shown.inner_text("#wrong")
    assert shown.evaluate("still.complete && still.naturalWidth") == 240
    assert shown.locator("#still").is_visible()
    assert not shown.locator("#tree").is_visible()
    assert not shown.locator("#home").is_visible()
    assert shown.locator("#sign").is_visible()
    context.close()


def test_it_prints_on_one_clean_sheet(opened: Page, tmp_path: Path) -> None:
    opened.pdf(path=tmp_path / "page.pdf", prefer_css_page_size=True)
    pages = PdfReader(tmp_path / "page.pdf").pages
    text = pages[0].extract_text()
    assert len(pages) == 1
    assert "Test alder" in text
    assert "Height" in text
    assert "save the picture" not in text
    assert "Your word" not in text
    assert len(pages[0].images) == 1


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
