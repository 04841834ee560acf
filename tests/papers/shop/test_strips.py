"""Full-size templates laid on strips: every member once, none over another, no steel off the paper, few tiles."""

from __future__ import annotations

import io
import re

import numpy as np
import pytest
from pypdf import PdfReader
from shapely import LineString, Point, unary_union
from shapely.geometry.base import BaseGeometry

from armature.papers.shop.strips import GAP, Outline, Strip, dense, strips
from armature.papers.shop.templates import _filled, templates, tile_size
from armature.shop import ShopPlan, shop_plan
from tests.shop.commissions import commission
from tests.trees import random_tree


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> ShopPlan:
    job = commission(tmp_path_factory.mktemp("job"), more="shop.anvil.copies = 0\n")
    return shop_plan(random_tree(60), job)


@pytest.fixture(scope="module")
def laid(plan: ShopPlan) -> list[Strip]:
    return strips(plan, tile_size(plan))


def steel(drawn: Outline, x: float, y: float) -> BaseGeometry:
    """Return all the paper that a tapering bar covers, disc by disc."""
    points, radii = dense(drawn, 3.0)
    discs = [Point(x + px, y - py).buffer(r) for (px, py), r in zip(points.tolist(), radii.tolist(), strict=True)]
    return unary_union([discs[n].union(discs[n + 1]).convex_hull for n in range(len(discs) - 1)])


def test_every_member_is_laid_once(plan: ShopPlan, laid: list[Strip]) -> None:
    tags = [drawn.tag for strip in laid for drawn, _, _ in strip.outlines]
    assert sorted(tags) == sorted(plan.tree.tags.tolist())


def test_members_on_a_strip_keep_clear_of_each_other(laid: list[Strip]) -> None:
    for strip in laid:
        bars = [steel(drawn, x, y) for drawn, x, y in strip.outlines]
        for first in range(len(bars)):
            for second in range(first):
                # The gap is kept up and down and sideways; two bars that climb steeply come a little nearer.
                assert bars[first].distance(bars[second]) > 0.5 * GAP


def test_no_steel_lies_on_a_tile_that_is_not_printed(plan: ShopPlan, laid: list[Strip]) -> None:
    tile = tile_size(plan)
    for strip in laid:
        filled = _filled(strip, tile)
        for number, (drawn, x, y) in enumerate(strip.outlines):
            line = LineString(drawn.line * [1.0, -1.0] + [x, y])
            points = np.array([line.interpolate(at).coords[0] for at in np.arange(0.0, line.length, 1.0)])
            assert (points >= -1e-6).all()
            assert (points <= [strip.width + 1e-6, strip.height + 1e-6]).all()
            for column, row in np.floor(points / tile).astype(int).tolist():
                assert number in filled[row, column]


def test_low_members_share_tiles(plan: ShopPlan, laid: list[Strip]) -> None:
    tile = tile_size(plan)
    low = [strip for strip in laid if strip.height <= tile[1] and len(strip.outlines) > 1]
    members = sum(len(strip.outlines) for strip in low)
    alone = sum(int(np.ceil(np.ptp(drawn.line[:, 0]) / tile[0])) for strip in low for drawn, _, _ in strip.outlines)
    assert members > 30
    # Each on paper of its own, these would take more than twice as many.
    assert sum(len(_filled(strip, tile)) for strip in low) < 0.5 * alone


def names(page: str, tag: str) -> bool:
    return re.search(rf"(?<![\w.-]){re.escape(tag)}(?![\d.-])", page) is not None


def test_every_tile_names_what_lies_on_it(plan: ShopPlan, laid: list[Strip]) -> None:
    text = [page.extract_text() for page in PdfReader(io.BytesIO(templates(plan, laid))).pages]
    tiles = [page for page in text if "column " in page]
    tile = tile_size(plan)
    wanted = [[strip.outlines[n][0].tag for n in rows] for strip in laid for rows in _filled(strip, tile).values()]
    assert len(tiles) == len(wanted)
    for page, tags in zip(tiles, wanted, strict=True):
        assert all(names(page, tag) for tag in tags)


def test_the_index_leads_to_the_pages_of_every_member(plan: ShopPlan, laid: list[Strip]) -> None:
    book = PdfReader(io.BytesIO(templates(plan, laid))).pages
    text = [page.extract_text() for page in book]
    listed: list[tuple[int, int, float, float, str]] = []
    for number, page in enumerate(book):
        if "Print only the pages" in text[number]:
            half = float(page.mediabox.width) / 2.0

            def seen(
                word: str, _cm: object, tm: list[float], _f: object, _s: float, n: int = number, middle: float = half
            ) -> None:
                listed.append((n, int(tm[4] > middle), -round(tm[5]), tm[4], word))

            page.extract_text(visitor_text=seen)
    pages = range(0)
    told = {}
    for *_, words in sorted(listed):
        for word in words.split():
            if re.fullmatch(r"\d+(-\d+)?", word):
                first, last = word.split("-")[0], word.split("-")[-1]
                pages = range(int(first), int(last) + 1)
            elif word in plan.tree.tags:
                told[word] = pages
    assert set(told) == set(plan.tree.tags.tolist())
    for tag, where in told.items():
        assert any(names(text[page - 1], tag) for page in where)
