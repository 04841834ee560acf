"""The name finder, opened as a visitor does: from disk, with no network, at a desk and on a telephone."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

from armature.commission import Commission, read
from armature.grow import grow
from armature.leaves import LeafPlan, plan_leaves
from armature.leaves.naming.names import search_key
from armature.leaves.naming.romanised import romanised
from armature.papers.leaves.finder import finder_page, finder_words
from armature.papers.leaves.places import height_text, limb_rows, side
from tests.papers.leaves.test_papers import TEXT

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or "chromium"
AWKWARD = [
    "<b>x</b>", "=1+1", "</script>", "<i onload=x>", 'Ann "Nan" O\'Hara', "&amp;", "{title}",
    "محمد نجار", "רות כהן", "王小明", "김들판", "मीरा शर्मा",
]  # fmt: skip
PLAIN = ["José Álvarez", "Søren Łuczak", "Jörg Groß", "Γιώργος Παππάς", "İpek I\u015f\u0131k", *["Ada Rao"] * 3]
# Beside them what the slips are looked for among: names that come near one another.
MORE = [
    "Larkin Moss", "Данило Шевченко", "Katherine Wright", "Philip Schmidt", "Mary Ann Thatcher", "Ольга Юхименко",
    "Nguyễn Văn Minh", "Michael Jackman", "Elizabeth Knight", "Christopher Bauer",
]  # fmt: skip
NAMES = AWKWARD + PLAIN + MORE
SLIPS = {
    "larkn": "Larkin Moss", "lrakin": "Larkin Moss", "Larkin Mos": "Larkin Moss", "Danilo": "Данило Шевченко",
    "Dannylo Shevchenko": "Данило Шевченко", "Sevcenko": "Данило Шевченко", "Catherine": "Katherine Wright",
    "Rite": "Katherine Wright", "Filip Shmit": "Philip Schmidt", "Schmitt": "Philip Schmidt",
    "maryann": "Mary Ann Thatcher", "Thacher": "Mary Ann Thatcher", "Olha Yukhymenko": "Ольга Юхименко",
    "Nguyn Van Min": "Nguyễn Văn Minh", "Micheal": "Michael Jackman", "Mikael": "Michael Jackman",
    "Elisabet Nite": "Elizabeth Knight", "Kristofer": "Christopher Bauer", "Mohammed Najjar": "محمد نجار",
    "Ruth Cohen": "רות כהן", "Alvarrez Jsoe": "José Álvarez", "Mira Sharma": "मीरा शर्मा",
    "Yorgos Papas": "Γιώργος Παππάς",
    "Кетрин": "Katherine Wright",
}  # fmt: skip
MARK = np.array([0x0B, 0x62, 0x54])
FULL = {
    "N": "north", "NE": "north-east", "E": "east", "SE": "south-east",
    "S": "south", "SW": "south-west", "W": "west", "NW": "north-west",
}  # fmt: skip


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, LeafPlan, Commission]:
    """Return the page, the plan it shows, and its commission."""
    home = tmp_path_factory.mktemp("finder")
    (home / "names.csv").write_text("name\n" + "\n".join(NAMES), encoding="utf-8")
    (home / "tree.toml").write_text("units = 'inch'\n" + TEXT, encoding="utf-8")
    commission = read(home / "tree.toml")
    plan = plan_leaves(commission, grow(commission), plates=False)
    (home / "finder.html").write_text(finder_page(plan, commission), encoding="utf-8")
    return home / "finder.html", plan, commission


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as started:
        opened = started.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield opened
        opened.close()


@pytest.fixture
def page(made: tuple[Path, LeafPlan, Commission], browser: Browser) -> Iterator[Page]:
    """Yield the page at a desk; nothing may go wrong on it, and nothing be asked from outside."""
    yield from opened(browser, made[0], {"width": 1100, "height": 760})


@pytest.fixture
def telephone(made: tuple[Path, LeafPlan, Commission], browser: Browser) -> Iterator[Page]:
    yield from opened(browser, made[0], {"width": 375, "height": 740}, touch=True)


def opened(browser: Browser, file: Path, size: dict[str, int], touch: bool = False) -> Iterator[Page]:
    context = browser.new_context(viewport=size, offline=True, has_touch=touch, is_mobile=touch)  # type: ignore[arg-type]
    shown = context.new_page()
    asked: list[str] = []
    wrong: list[str] = []
    shown.on("request", lambda request: asked.append(request.url))
    shown.on("pageerror", lambda error: wrong.append(str(error)))
    shown.on("console", lambda message: wrong.append(message.text))
    shown.on("dialog", lambda dialog: wrong.append(dialog.message))
    shown.goto(file.as_uri())
    yield shown
    assert wrong == []
    assert asked == [file.as_uri()]
    context.close()


def listed(page: Page) -> list[str]:
    return [text.strip() for text in page.locator("#found bdi").all_inner_texts()]


def near(page: Page) -> list[str]:
    return [text.strip() for text in page.locator("#close bdi").all_inner_texts()]


def tags(page: Page) -> list[str]:
    return page.locator("#found span").all_inner_texts()


def leaf_of(plan: LeafPlan, name: str) -> int:
    return int(np.flatnonzero(plan.tree.leaves.names == name)[0])


def marked(page: Page, folder: Path) -> tuple[float, float]:
    """Middle of the ring in px of the canvas, after a look at the picture: the mark's colour runs all around it."""
    x, y, r = (float(str(page.get_attribute("#view", f"data-{key}"))) for key in "xyr")
    page.locator("#view").screenshot(path=folder / "view.png")
    with Image.open(folder / "view.png") as seen:
        pixels = np.asarray(seen.convert("RGB")).astype(int)
    on = np.abs(pixels - MARK).max(axis=2) < 40
    # The canvas may begin at half a pixel of the page: of each place its neighbours count too.
    for axis in (0, 1):
        on = on | np.roll(on, 1, axis) | np.roll(on, -1, axis)
    a = np.linspace(0, 2 * np.pi, 90, endpoint=False)
    rim, beyond = (on[(y + d * np.sin(a)).astype(int), (x + d * np.cos(a)).astype(int)] for d in (r, r + 6))
    assert rim.mean() > 0.9
    assert beyond.mean() < 0.3
    return x, y


def test_a_typed_name_is_marked_on_the_tree_and_told_in_words(
    page: Page, made: tuple[Path, LeafPlan, Commission], tmp_path: Path
) -> None:
    _, plan, commission = made
    leaf = leaf_of(plan, "José Álvarez")
    tag, (x, y, z) = str(plan.tree.leaves.tags[leaf]), plan.hung.eyes[leaf].tolist()
    page.fill("#query", "jose")
    assert listed(page) == ["José Álvarez"]
    page.keyboard.press("Enter")
    told = page.inner_text("#told")
    limb = str(plan.tree.tags[limb_rows(plan.tree)[plan.tree.leaves.twigs[leaf]]])
    assert tag.startswith(limb)
    within = z <= commission.leaves.lettering.reach
    assert told.splitlines()[0] == "José Álvarez"
    assert f"On limb {limb}, the one to the " in told
    assert (
        f"{height_text(z, 'inch')} above the ground, {'within reach' if within else 'out of reach overhead'}." in told
    )
    assert f"On the {FULL[side(x, y)]} side" in told
    assert f"Leaf {tag}." in told
    assert tag in str(page.get_attribute("#view", "aria-label"))
    # The viewer stands on the leaf's own side, so that it hangs in the middle of the picture, and is told so.
    box = page.locator("#view").bounding_box()
    assert box
    across, _ = marked(page, tmp_path)
    assert across == pytest.approx(box["width"] / 2, abs=4)
    assert f"You stand {FULL[side(x, y)]} of the tree" in page.inner_text("#stand")


def test_the_mark_stands_where_a_pinhole_camera_sees_the_leaf(
    page: Page, made: tuple[Path, LeafPlan, Commission], tmp_path: Path
) -> None:
    """Seen from 30 deg north of east at eye height: offsets across and up over depth, by similar triangles; only the
    camera's distance is taken from the page, and the scale, one for both, from the fit."""
    _, plan, _ = made
    seen = []
    for name in ("José Álvarez", "Søren Łuczak", "Γιώργος Παππάς", "王小明"):
        page.fill("#query", name)
        page.keyboard.press("Enter")
        page.evaluate("turn.value = '30'; turn.dispatchEvent(new Event('input'))")
        x, y, z = plan.hung.eyes[leaf_of(plan, name)].tolist()
        c, s = np.cos(np.pi / 6), np.sin(np.pi / 6)
        depth = page.evaluate("away") - (x * c + y * s)
        # The ring lies around the blade, half a leaf below the eye and at least 3 px.
        seen.append((*marked(page, tmp_path), (y * c - x * s) / depth, (z - 1600.0) / depth, 37.5 / depth))
    across, down, right, up, blade = np.array(seen).T
    scale, middle = np.polyfit(right, across, 1)
    assert np.ptp(across) > 50
    assert scale * right + middle == pytest.approx(across, abs=0.5)
    lower = down - np.maximum(scale * blade, 3.0) + scale * up
    assert np.ptp(down) > 20
    assert np.ptp(lower) < 1.0, "the eye's level is one line"


def test_the_tree_keeps_its_place_and_size_whatever_is_told(
    page: Page, made: tuple[Path, LeafPlan, Commission]
) -> None:
    """Words that run over a line, a name of several leaves and no name at all leave the tree where it stands."""
    places = [page.locator("#view").bounding_box()]
    for name in (*PLAIN, "nobody at all"):
        page.fill("#query", name)
        page.keyboard.press("Enter")
        places.append(page.locator("#view").bounding_box())
    assert all(place == places[0] for place in places)
    page.fill("#query", "jose")
    page.keyboard.press("Enter")
    words = page.locator("#told")
    page.evaluate("told.querySelector('p').textContent = 'a longer way to say it, '.repeat(30)")
    assert page.locator("#view").bounding_box() == places[0]
    assert words.evaluate("told => told.scrollHeight > told.clientHeight && getComputedStyle(told).overflowY") == "auto"


def test_names_show_as_typed_and_are_never_markup(page: Page) -> None:
    for name in AWKWARD:
        page.fill("#query", name)
        assert name in listed(page)
        page.locator("#found button", has_text=name).first.click()
        assert page.inner_text("#told h2") == name
        assert page.locator("#told b, #told img, .lists b, .lists img").count() == 0


def test_names_are_found_however_they_are_typed(page: Page) -> None:
    typed = [
        ("jose alvarez", "José Álvarez"), ("ALVAREZ, jose", "José Álvarez"), ("alv", "José Álvarez"),
        ("soren luczak", "Søren Łuczak"), ("soeren", "Søren Łuczak"), ("joerg gross", "Jörg Groß"),
        ("jorg", "Jörg Groß"), ("γιωργος", "Γιώργος Παππάς"), ("ipek isik", "İpek I\u015f\u0131k"),
        ("ohara", 'Ann "Nan" O\'Hara'), ("小明", "王小明"),
        ("نجار", "محمد نجار"), ("כהן", "רות כהן"), ("शर्मा", "मीरा शर्मा"),
    ]  # fmt: skip
    for asked, name in typed:
        page.fill("#query", asked)
        assert name in listed(page), asked
        assert len(listed(page)) <= 2, asked


def test_slips_of_the_finger_other_scripts_and_sounds_find_the_name_all_the_same(page: Page) -> None:
    lost, crowded = [], []
    for typed, name in SLIPS.items():
        page.evaluate("typed => { query.value = typed; query.dispatchEvent(new Event('input')); }", typed)
        shown = listed(page) + near(page)
        lost += [typed] if name not in shown else []
        crowded += [typed] if shown and (name not in shown[:2] or len(shown) > 6) else []
    assert (lost, crowded) == ([], [])


def test_what_is_too_far_from_every_name_finds_the_nearest_or_nothing(page: Page) -> None:
    page.fill("#query", "Lorberin Mossy")
    assert page.inner_text("#count") == "No such name on this tree"
    assert page.inner_text("h2.near") == "Nearest names"
    assert near(page)[0] == "Larkin Moss"
    page.fill("#query", "zzzzqqqq")
    assert near(page) == []
    assert not page.locator("h2.near").is_visible()
    page.fill("#query", "larkin")
    assert (listed(page), near(page)) == (["Larkin Moss"], [])


def test_slips_are_counted_as_by_hand_and_alike_sounds_share_a_key(page: Page) -> None:
    """Edits with neighbours changed about as one (optimal string alignment): kitten to sitting is the textbooks' 3."""
    pairs = [["kitten", "sitting"], ["abcd", "abdc"], ["", "abc"], ["ca", "abc"], ["same", "same"]]
    assert page.evaluate("pairs => pairs.map(([a, b]) => slips(a, b, false))", pairs) == [3, 1, 3, 3, 0]
    assert page.evaluate("slips('lark', 'larkin', true)") == 0
    for one, two in [("knight", "nite"), ("philip", "filip"), ("schmidt", "shmit"), ("wright", "rite")]:
        assert page.evaluate("([a, b]) => sound(a) === sound(b)", [one, two]), (one, two)
    assert page.evaluate("sound('larkin') !== sound('martin')")


def test_the_page_spells_other_scripts_as_the_house_does(page: Page) -> None:
    typed = [
        *NAMES,
        "Григорій Ющенко",
        "காயத்ரி",
        "がっこう",
        "キャサリン",
        "Արամ",
        "გიორგი",
        "김들판",
        "ছবি",
        "Ћирић",
        "ﷲ",
    ]
    spelled = page.evaluate("names => names.map(name => romanised(name, data.letters))", typed)
    assert spelled == [list(romanised(name)) for name in typed]


def test_the_page_speaks_the_visitors_language(page: Page) -> None:
    """Every language says every word, with the same things put in; what is put in stands in what is shown."""
    words = finder_words()
    assert len(words) >= 5
    assert next(iter(words)) == "en"
    for own in words.values():
        for key, said in words["en"].items():
            assert type(own[key]) is type(said), key
            if isinstance(said, str):
                assert sorted(re.findall(r"{\w+}", said)) == sorted(re.findall(r"{\w+}", own[key])), (
                    own["language"],
                    key,
                )
            elif isinstance(said, list):
                assert len(own[key]) == len(said)
        assert own.keys() == words["en"].keys()
    page.fill("#query", "larkin")
    page.keyboard.press("Enter")
    page.select_option("#tongue", "de")
    assert page.inner_text("#count") == "1 Blatt"
    assert "über dem Boden" in page.inner_text("#told")
    assert " m über" in page.inner_text("#told")
    assert page.evaluate("document.documentElement.lang") == "de"
    page.select_option("#tongue", "ar")
    assert page.evaluate("[document.documentElement.dir, getComputedStyle(told).direction]") == ["rtl", "rtl"]
    assert "{" not in page.inner_text("body")


def test_the_plan_shows_the_way_from_the_trunk_and_turns_with_a_compass(
    page: Page, made: tuple[Path, LeafPlan, Commission]
) -> None:
    plan = made[1]
    page.fill("#query", "larkin")
    page.keyboard.press("Enter")
    x, y, _ = plan.hung.eyes[leaf_of(plan, "Larkin Moss")].tolist()
    assert f"from the trunk {height_text(float(np.hypot(x, y)), 'inch')} to the {FULL[side(x, y)]}" in page.inner_text(
        "#told"
    )

    # Read from a copy: a browser warns of a canvas that is read often.
    page.evaluate(
        """0, window.copied = from => {
          const to = Object.assign(document.createElement("canvas"), {width: from.width, height: from.height});
          const pen = to.getContext("2d", {willReadFrequently: true});
          pen.drawImage(from, 0, 0);
          return pen;
        }, 0"""
    )

    def at() -> tuple[float, float]:
        """Middle of the mark's blot, from the middle of the plan, right and up."""
        seen = page.evaluate("[...copied(plan).getImageData(0, 0, plan.width, plan.height).data]")
        pixels = np.array(seen).reshape(int(page.evaluate("plan.height")), -1, 4)
        on = np.abs(pixels[:, :, :3].astype(int) - MARK).max(axis=2) + 255 * (pixels[:, :, 3] < 250) < 12
        down, across = np.nonzero(on)
        far = np.hypot(down - on.shape[0] / 2, across - on.shape[1] / 2)
        tip = far > far.max() - 8
        return float(across[tip].mean() - on.shape[1] / 2), float(on.shape[0] / 2 - down[tip].mean())

    right, up = at()
    assert np.arctan2(up, right) == pytest.approx(np.arctan2(y, x), abs=0.1)
    page.evaluate("turned({absolute: true, alpha: 270})")
    right, up = at()
    assert np.arctan2(right, up) % 6.2832 == pytest.approx((np.arctan2(x, y) - np.pi / 2) % 6.2832, abs=0.1), (
        "east is up"
    )
    with page.expect_download() as kept:
        page.click(".keep")
    assert kept.value.suggested_filename.endswith(".png")


def test_the_page_folds_what_is_typed_as_the_house_folds_names(page: Page) -> None:
    typed = [
        *NAMES,
        "Þór Æsa Œuvre",
        "MAẞE",
        "ŁÓDŹ Đặng",
        "ﬁne ½ Ⅷ",
        "Jean-Luc  d’Arc",
        "Αλέξης Σ.",
        "காயத்ரி",
        "İI \u0131i",
    ]
    folded = page.evaluate("names => names.map(folded)", typed)
    assert folded == [search_key(name).split("|")[0] for name in typed]


def test_a_name_given_twice_shows_all_its_leaves(page: Page, made: tuple[Path, LeafPlan, Commission]) -> None:
    leaves = made[1].tree.leaves
    own = sorted(leaves.tags[leaves.names == "Ada Rao"].tolist())
    page.fill("#query", "ada rao")
    assert sorted(tags(page)) == own
    assert page.inner_text("#count") == "3 leaves"
    page.keyboard.press("Enter")
    first = tags(page)[0]
    others = page.locator("#told .more button").all_inner_texts()
    assert sorted([first, *others]) == own
    page.locator("#told .more button").first.click()
    assert f"Leaf {others[0]}." in page.inner_text("#told")


def test_no_such_name_is_said_and_no_stranger_stays_marked(page: Page) -> None:
    page.locator("#found button").first.click()
    assert "Leaf" in page.inner_text("#told")
    page.fill("#query", "nobody at all")
    assert page.inner_text("#told") == ""
    assert "is marked" not in (page.get_attribute("#view", "aria-label") or "")
    assert page.inner_text("#count") == "No such name on this tree"
    assert listed(page) == []


def test_the_keyboard_alone_finds_a_leaf_and_walks_around(page: Page) -> None:
    assert page.evaluate("document.activeElement.id") == "query"
    page.keyboard.type("ada")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    assert page.locator("#found button").nth(1).get_attribute("aria-pressed") == "true"
    assert tags(page)[1] in page.inner_text("#told")
    page.keyboard.press("Escape")
    assert page.evaluate("document.activeElement.id") == "query"
    page.focus("#turn")
    before = page.input_value("#turn")
    page.keyboard.press("ArrowRight")
    assert page.input_value("#turn") != before


def test_on_a_telephone_nothing_is_cut_off_and_the_answer_comes_into_view(telephone: Page, tmp_path: Path) -> None:
    telephone.fill("#query", "ada")
    telephone.locator("#found button").first.tap()
    assert telephone.evaluate("document.documentElement.scrollWidth") <= 375
    told = telephone.locator("#told").bounding_box()
    view = telephone.locator("#view").bounding_box()
    assert told
    assert view
    assert 0 <= told["y"] < 300
    assert view["height"] > 300
    assert view["y"] < 500, "the tree stands on the same screen as the words"
    assert not telephone.locator("#found").is_visible(), "the list makes room for the answer"
    across, _ = marked(telephone, tmp_path)
    assert across == pytest.approx(view["width"] / 2, abs=4)
    telephone.locator("#query").tap()
    assert telephone.locator("#found").is_visible()
