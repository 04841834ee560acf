"""A tree put together by hand from what its cards print and nothing else: the text of the PDF, read as a smith does."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from pathlib import Path

import numpy as np
import pytest

import armature
from armature.commission import changed, read
from armature.grow import grow
from armature.papers.shop.packet import packet
from armature.shop import ShopPlan, shop_plan
from tests.papers.printed import dials, texts
from tests.shop.commissions import commission
from tests.trees import random_tree

Vector = np.ndarray[tuple[int], np.dtype[np.float64]]
UP, EAST = np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0])
# A length in millimetres, halves allowed, or in inches with the fraction set small.
SLASH = "\N{FRACTION SLASH}"
LENGTH = rf"(?:\d+(?:\.\d+)? mm|(?:\d+ ?)?(?:\d+{SLASH}\d+)?\")"
ANGLE = r"[RL]? ?\d+°"


def mm(text: str) -> float:
    """Return a length as printed, in mm."""
    if text.endswith("mm"):
        return float(text.removesuffix("mm"))
    whole = sum((Fraction(part.replace(SLASH, "/")) for part in text.removesuffix('"').split()), Fraction(0))
    return float(whole * Fraction(127, 5))


def angle(text: str) -> float:
    """Return an angle as printed: R 35, L 12, 180; R positive."""
    value = float(re.sub(r"[^\d]", "", text))
    return -value if text.strip().startswith("L") else value


@dataclass(frozen=True)
class Card:
    """What one card prints: mm and degrees, R positive."""

    finished: float
    calipers: tuple[tuple[float, float], ...]
    bends: tuple[tuple[float, float, float, float], ...]
    parent: str
    at: float
    clock: float
    lean: float
    roll: float

    def thickness(self, station: float) -> float:
        """Return what the caliper reads at a station."""
        places, sizes = zip(*self.calipers, strict=True)
        return float(np.interp(station, places, sizes))


def read_card(text: str) -> Card:
    """Return the numbers of a card."""
    finished = mm(re.search(rf"FINISHED ({LENGTH})", text)[1])  # type: ignore[index]
    rows = re.findall(rf"(?m)^\d+ ({LENGTH}) ({LENGTH}) (chalk|{ANGLE}) .*? (\d+)° ", text)
    bends = tuple((mm(b), mm(e), 0.0 if c == "chalk" else angle(c), float(a)) for b, e, c, a in rows)
    joint = re.search(
        rf"5 WELD ON\n(\S+)\nAT\n({LENGTH})\n±.*?CLOCK ±\d+°\n({ANGLE}).*?"
        rf"LEAN ±\d+°\n(\d+)°.*?ROLL ±\d+°\n(any|{ANGLE})",
        text,
        re.DOTALL,
    )
    calipers = read_calipers(text, finished)
    if joint is None:
        stands = re.search(r"LEAN\n(\d+\.\d)°.*?LEANS TO\n(plumb|\d+).*?CHALK FACES\n(\d+)°", text, re.DOTALL)
        assert stands is not None, text
        toward = 0.0 if stands[2] == "plumb" else float(stands[2])
        return Card(finished, calipers, bends, "", 0.0, toward, float(stands[1]), float(stands[3]))
    roll = 0.0 if joint[5] == "any" else angle(joint[5])
    return Card(finished, calipers, bends, joint[1], mm(joint[2]), angle(joint[3]), float(joint[4]), roll)


def read_calipers(text: str, finished: float) -> tuple[tuple[float, float], ...]:
    line = re.search(r"CALIPER ±\S+(?: mm)? ?(.*?)\n3 PUNCH", text, re.DOTALL)[1]  # type: ignore[index]
    if "all along" in line:
        size = mm(re.match(LENGTH, line)[0])  # type: ignore[index]
        return ((0.0, size), (finished, size))
    unit = "" if '"' in line else " mm"
    number = LENGTH if not unit else r"\d+(?:\.\d+)?"
    places = re.findall(rf"({number}) at (START|{number})", line)
    return tuple((0.0 if at == "START" else mm(at + unit), mm(size + unit)) for size, at in places)


def about(v: Vector, axis: Vector, degrees: float) -> Vector:
    """Return a vector turned about a unit axis, right-handed (Rodrigues)."""
    a = np.radians(degrees)
    turned = v * np.cos(a) + np.cross(axis, v) * np.sin(a) + axis * (axis @ v) * (1.0 - np.cos(a))
    return np.asarray(turned)


@dataclass(frozen=True)
class Bar:
    """A bar as it was bent and set: its card, where START is, its axis and its chalk direction there."""

    card: Card
    start: Vector
    axis: Vector
    chalk: Vector

    def walked(self, to: float) -> tuple[Vector, Vector, Vector]:
        """Return place, direction and chalk `to` mm along the bar from START."""
        at, place, d, chalk = 0.0, self.start, self.axis, self.chalk
        for begin, end, clock, bend in self.card.bends:
            run = min(begin, to) - at
            place, at = place + d * run, at + run
            if at >= to:
                return place, d, chalk
            inward = about(self.chalk_at(chalk, d), d, clock)
            axis = np.cross(d, inward)
            turn = bend * min((to - at) / (end - begin), 1.0)
            centre = place + inward * (end - begin) / np.radians(bend)
            place = centre + about(place - centre, axis, turn)
            d, chalk, at = about(d, axis, turn), about(chalk, axis, turn), at + (end - begin) * turn / bend
        return place + d * (to - at), d, chalk

    @staticmethod
    def chalk_at(chalk: Vector, d: Vector) -> Vector:
        """Return the chalk direction made square to the bar again: rounding errors of many turns are taken out."""
        square = chalk - (chalk @ d) * d
        return np.asarray(square / np.linalg.norm(square))

    @cached_property
    def tip(self) -> Vector:
        """The end of the bar."""
        return self.walked(self.card.finished)[0]


def toward(bearing: float) -> Vector:
    """Return the level direction of a compass bearing."""
    return np.array([np.sin(np.radians(bearing)), np.cos(np.radians(bearing)), 0.0])


def stood(card: Card) -> Bar:
    """Return a bar set on the base: leaning by compass, its chalk line facing a bearing."""
    lean = np.radians(card.lean)
    d = np.cos(lean) * UP + np.sin(lean) * toward(card.clock)
    faced = toward(card.roll)
    chalk = faced - (faced @ d) / d[2] * UP
    return Bar(card, np.zeros(3), d, chalk / np.linalg.norm(chalk))


def put_on(card: Card, parent: Bar, mirrored: bool = False) -> Bar:
    """Return a bar welded on its parent: its START on the skin at mark and clock, leaning from the parent there."""
    skin, lean = parent.card.thickness(card.at) / 2.0, np.radians(card.lean)
    p, t, c = parent.walked(card.at)
    u = about(c, t, -card.clock if mirrored else card.clock)
    d = np.cos(lean) * t + np.sin(lean) * u
    chalk = about(np.cos(lean) * u - np.sin(lean) * t, d, card.roll)
    return Bar(card, p + u * skin, d, chalk)


def cards_of(plan: ShopPlan) -> dict[str, Card]:
    text = "\n".join(texts(packet(plan)))
    parts = re.split(r"(?m)^(\S+)\n(?=(?:trunk|limb|branch|branchlet|twig) on )", text)
    return {tag: read_card(part) for tag, part in zip(parts[1::2], parts[2::2], strict=True)}


def built(cards: dict[str, Card], mirrored: str = "") -> dict[str, Bar]:
    """Return all bars, each on its parent."""
    bars: dict[str, Bar] = {}

    def bar(tag: str) -> Bar:
        if tag not in bars:
            card = cards[tag]
            bars[tag] = put_on(card, bar(card.parent), tag == mirrored) if card.parent else stood(card)
        return bars[tag]

    for tag in cards:
        bar(tag)
    return bars


def missed(plan: ShopPlan, bars: dict[str, Bar]) -> Vector:
    tips = np.array([bars[tag].tip for tag in plan.tree.tags.tolist()])
    return np.asarray(np.linalg.norm(tips - plan.tree.tips, axis=1))


@pytest.fixture(scope="module")
def garden() -> ShopPlan:
    preset = Path(armature.__file__).parent.parent / "presets" / "garden.toml"
    asked = changed(read(preset), {"shop.anvil.copies": 0, "growth.twigs": 140, "leaves.count": 300})
    return shop_plan(grow(asked), asked)


@pytest.fixture(scope="module")
def cards(garden: ShopPlan) -> dict[str, Card]:
    return cards_of(garden)


def test_the_garden_made_from_its_printed_cards_alone_has_its_tips_in_place(
    garden: ShopPlan, cards: dict[str, Card]
) -> None:
    assert sorted(cards) == sorted(garden.tree.tags.tolist())
    counts = np.bincount(garden.bends.members, minlength=len(garden.tree))
    assert [len(cards[tag].bends) for tag in garden.tree.tags.tolist()] == counts.tolist()
    off = missed(garden, built(cards))
    # What was asked of paper in sixteenths of an inch and whole degrees: 2.5 mm in the middle, 10 mm at worst.
    assert np.median(off) < 2.5
    assert off.max() < 10.0
    # The plan says the same of itself, but for caliper sizes, which it takes exactly.
    assert off.max() == pytest.approx(garden.truth.paper.max(), abs=2.0)


def test_every_dial_points_where_its_figure_says(tmp_path: Path) -> None:
    plan = shop_plan(random_tree(24), commission(tmp_path, more="shop.anvil.copies = 0\n"))
    # The first stands on the page that draws the words.
    read_off = dials(packet(plan))[1:]
    # One a bend, one a joint, and one for all that is punched on bars with a card of their own.
    assert len(read_off) > len(plan.bends.members) + len(plan.tree)
    for pointed, told in read_off:
        wanted = 0.0 if told == "chalk" else angle(told)
        # Hands are drawn to the tenth of a degree and stored to the hundredth of a point.
        assert abs((pointed - wanted + 180.0) % 360.0 - 180.0) < 1.0, (pointed, told)


def test_a_metric_tree_made_from_its_printed_cards_alone_has_its_tips_in_place(tmp_path: Path) -> None:
    plan = shop_plan(random_tree(24), commission(tmp_path, more="shop.anvil.copies = 0\n"))
    off = missed(plan, built(cards_of(plan)))
    assert np.median(off) < 2.5
    assert off.max() < 10.0


def test_reading_left_for_right_is_found_by_the_printed_checks(garden: ShopPlan, cards: dict[str, Card]) -> None:
    tree, poses = garden.tree, garden.poses
    points = {f"pin {name}": poses.pin_mm * toward(90.0 * n) for n, name in enumerate("NESW")}
    points |= {f"{tag} START": tree.starts[row] for tag, row in tree.rows.items()}
    points |= {f"{tag} tip": tree.tips[row] for tag, row in tree.rows.items()}
    bars = built(cards)
    wrong = 3.0 * garden.commission.shop.anvil.fit
    right, told, asked = 0, 0, 0
    for tag in tree.tags[tree.ranks == 2].tolist():
        row, card = tree.rows[tag], cards[tag]
        if min(abs(card.clock), 180.0 - abs(card.clock)) < 30.0:
            continue
        for mirrored in (False, True):
            tip = put_on(card, bars[card.parent], mirrored).tip
            read_off = [np.linalg.norm(tip - points[name]) for name in poses.names[row].tolist()]
            # Three tapes and the plumb line: a tip mirrored in the plane of two points may show on one of them alone.
            worst = max(np.abs(np.array(read_off) - poses.distances[row]).max(), np.abs(tip - poses.tips[row]).max())
            told += mirrored and worst > wrong
            right += not mirrored and worst < 10.0
        asked += 1
    assert asked > 10
    assert (right, told) == (asked, asked)
