"""Members of a grown garden put together by hand from what their cards print, and nothing else."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader

import armature
from armature.commission import changed, read
from armature.grow import grow
from armature.papers.shop.packet import packet
from armature.shop import ShopPlan, shop_plan
from armature.tree import BRANCH, LIMB, TWIG

Vector = np.ndarray[tuple[int], np.dtype[np.float64]]
# A number rounded to whole steps is off by the step over the root of twelve, one time with another.
ROUNDED = 1.0 / np.sqrt(12.0)


@dataclass(frozen=True)
class Card:
    """What one card prints: mm and degrees, R positive."""

    finished: float
    thick: float
    thin: float
    taper: float
    bends: tuple[tuple[float, float, float, float], ...]
    parent: str
    at: float
    clock: float
    lean: float
    roll: float
    chord: float
    to_parent: float


@pytest.fixture(scope="module")
def plan() -> ShopPlan:
    preset = Path(armature.__file__).parent.parent / "presets" / "garden.toml"
    asked = changed(read(preset), {"units": "mm", "shop.anvil.copies": 0})
    return shop_plan(grow(asked), asked)


@pytest.fixture(scope="module")
def cards(plan: ShopPlan) -> dict[str, str]:
    text = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(packet(plan))).pages)
    parts = re.split(r"(?m)^(\S+) (?=(?:trunk|limb|branch|twig) on )", text)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def angle(text: str) -> float:
    """Return an angle as printed: R 35, L 12, 180."""
    value = float(re.sub(r"[^\d]", "", text))
    return -value if text.startswith("L") else value


def read_card(text: str) -> Card:
    """Return the numbers of a card."""
    size = float(re.search(r"ROUND BAR\n([\d.]+) mm", text)[1])  # type: ignore[index]
    finished = float(re.search(r"FINISHED\n(\d+) mm", text)[1])  # type: ignore[index]
    thins = re.search(r"TAPER\n(?:from (\d+) mm|whole length)\n([\d.]+) mm to ([\d.]+) mm", text)
    taper, thick, thin = (float(thins[1] or 0), float(thins[2]), float(thins[3])) if thins else (0.0, size, size)
    rows = re.findall(r"(?m)^\d+ (\d+) mm (chalk|[RL]? ?\d+°)\s*(?:first|[RL]? ?\d+°) (\d+)° (\d+) mm", text)
    bends = tuple((float(m), 0.0 if c == "chalk" else angle(c), float(b), float(r)) for m, c, b, r in rows)
    joint = re.search(r"ROLL\n(\S+) (\d+) mm ([RL]? ?\d+°) (\d+)° (any|[RL]? ?\d+°)", text)
    chord = re.search(r"start to tip (\d+) mm tip to tip of \S+ (\d+) mm", text)
    if joint is None or chord is None:
        return Card(finished, thick, thin, taper, bends, "", 0, 0, 0, 0, 0, 0)
    roll = 0.0 if joint[5] == "any" else angle(joint[5])
    numbers = float(joint[2]), angle(joint[3]), float(joint[4]), roll
    return Card(finished, thick, thin, taper, bends, joint[1], *numbers, float(chord[1]), float(chord[2]))


def about(v: Vector, axis: Vector, degrees: float) -> Vector:
    """Return a vector turned about a unit axis, right-handed (Rodrigues)."""
    a = np.radians(degrees)
    turned = v * np.cos(a) + np.cross(axis, v) * np.sin(a) + axis * (axis @ v) * (1.0 - np.cos(a))
    return np.asarray(turned)


def walked(card: Card, start: Vector, d: Vector, chalk: Vector, to: float) -> tuple[Vector, Vector, Vector]:
    """Return place, direction and chalk `to` mm along a bar that leaves `start` along d."""
    at, place = 0.0, start
    for mark, clock, bend, radius in card.bends:
        run = min(mark, to) - at
        place, at = place + d * run, at + run
        if at >= to:
            return place, d, chalk
        inward = about(chalk, d, clock)
        axis = np.cross(d, inward)
        turn = min(bend, np.degrees((to - at) / radius))
        centre = place + inward * radius
        place = centre + about(place - centre, axis, turn)
        d, chalk, at = about(d, axis, turn), about(chalk, axis, turn), at + radius * np.radians(turn)
    return place + d * (to - at), d, chalk


def put_on(card: Card, parent: Card, mirrored: bool = False) -> tuple[Vector, Vector]:
    """Return start and tip of a member in the frame of its parent, whose bar begins at the origin."""
    origin, up, east = np.zeros(3), np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0])
    skin = radius_at(parent, card.at)
    lean = np.radians(card.lean)
    # Its axis meets the parent's before the mark on the skin, where it comes out: R / tan(lean) before.
    p, t, c = walked(parent, origin, up, east, card.at - skin / np.tan(lean))
    u = about(c, t, -card.clock if mirrored else card.clock)
    d = np.cos(lean) * t + np.sin(lean) * u
    n = about(np.cos(lean) * u - np.sin(lean) * t, d, card.roll)
    start = p + d * skin / np.sin(lean)
    return start, walked(card, start, d, n, card.finished)[0]


def radius_at(card: Card, station: float) -> float:
    share = np.clip((station - card.taper) / max(card.finished - card.taper, 1.0), 0.0, 1.0)
    return float(card.thick + share * (card.thin - card.thick)) / 2.0


def spread(card: Card, parent: Card) -> float:
    """Return three standard deviations of the tip-to-tip distance, mm, from rounding alone."""
    degree = np.radians(ROUNDED)
    levers = [card.finished] * 3 + [card.finished - mark for mark, *_ in card.bends for _ in range(2)]
    levers += [abs(parent.finished - mark) for mark, *_ in parent.bends for _ in range(2)]
    lengths = 4 + 2 * len(card.bends) + 2 * len(parent.bends)
    return 3.0 * float(np.sqrt(degree**2 * np.square(levers).sum() + ROUNDED**2 * lengths))


@pytest.mark.parametrize(("rank", "number"), [(LIMB, 1), (BRANCH, 5), (BRANCH, 20), (TWIG, 50), (TWIG, 300)])
def test_a_member_made_from_its_card_alone_meets_its_check_dimensions(
    plan: ShopPlan, cards: dict[str, str], rank: int, number: int
) -> None:
    tag = str(plan.tree.tags[plan.tree.of_rank(rank)[number]])
    card = read_card(cards[tag])
    parent = read_card(cards[card.parent])
    assert len(card.bends) == len(plan.bend_rows(plan.tree.rows[tag])) > 0
    start, tip = put_on(card, parent)
    end, _, _ = walked(parent, np.zeros(3), np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0]), parent.finished)
    allowed = spread(card, parent)
    assert np.linalg.norm(tip - start) == pytest.approx(card.chord, abs=allowed)
    assert np.linalg.norm(tip - end) == pytest.approx(card.to_parent, abs=allowed)
    # Rounding moves a tip by little: less than a twentieth of what there is to measure.
    assert allowed < 0.06 * max(card.to_parent, card.chord, parent.finished)


def test_reading_left_for_right_is_found_by_the_check_dimensions(plan: ShopPlan, cards: dict[str, str]) -> None:
    branches = plan.tree.tags[plan.tree.of_rank(BRANCH)].tolist()
    missed = {False: 0, True: 0}
    for tag in branches:
        card = read_card(cards[tag])
        parent = read_card(cards[card.parent])
        end, _, _ = walked(parent, np.zeros(3), np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0]), parent.finished)
        for mirrored in missed:
            _, tip = put_on(card, parent, mirrored)
            missed[mirrored] += abs(float(np.linalg.norm(tip - end)) - card.to_parent) > spread(card, parent)
    assert missed[False] == 0
    # A branch that leaves in the plane of a straight limb has the same distance on either side.
    assert missed[True] > len(branches) / 2
