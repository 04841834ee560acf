"""The character of a tree: what sets it apart from others that read as grown as well as it does.

None of this is good or bad, and none of it is scored: it is what an artist chooses by.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import astuple, dataclass

import numpy as np

from armature.look.balance import crown_offset
from armature.look.forks import tips_carried
from armature.look.skeleton import Skeleton
from armature.look.verdict import Verdict
from armature.tree import Floats


@dataclass(frozen=True)
class Character:
    """What an eye takes in at once.

    balance: 1 with the crown's middle over its foot, less by its way off, over half the width. dominance: share of the
    tips on the limb that carries most. openness: share of the bare crown that shows sky, mean over the sides. crotch:
    height at which the lowest limb leaves, over the tree's. spread: mean level extent of the crown, mm.
    """

    balance: float
    dominance: float
    openness: float
    crotch: float
    spread: float


@dataclass(frozen=True)
class Trait:
    """How a trait is spoken of: words for the lowest third of a survey, the middle and the highest.

    seen: the least difference between lowest and highest that an eye can tell; common practice, no source.
    """

    title: str
    low: str
    middle: str
    high: str
    seen: float


TRAITS = {
    "balance": Trait("balance", "leaning", "poised", "centred", 0.03),
    "dominance": Trait("share of the leading limb", "shared", "uneven", "led", 0.05),
    "openness": Trait("openness", "dense", "half-open", "airy", 0.02),
    "crotch": Trait("height of the crotch", "low-forked", "mid-forked", "high-forked", 0.03),
    "spread": Trait("spread reached", "slender", "middle-wide", "wide", 0.05),
}


def character_of(skeleton: Skeleton, verdict: Verdict) -> Character:
    """Return the character of a tree, from its skeleton and the full verdict on it."""
    limbs = np.flatnonzero(skeleton.ranks == 1)
    tips = tips_carried(skeleton)[limbs]
    sky = next((each.value for each in (*verdict.findings, *verdict.reported) if each.name == "sky_gap"), 0.0)
    low, top = float(skeleton.points[:, 2].min()), float(skeleton.points[:, 2].max())
    off = crown_offset(skeleton).value
    return Character(
        balance=round(1.0 - off, 4) if np.isfinite(off) else 1.0,
        dominance=round(float(tips.max() / tips.sum()), 4) if len(limbs) else 1.0,
        openness=round(float(sky), 4),
        crotch=round(float(skeleton.feet[limbs, 2].min() - low) / max(top - low, 1e-9), 4) if len(limbs) else 1.0,
        spread=round(float(np.ptp(skeleton.points[:, :2], axis=0).mean()), 1),
    )


def numbers(characters: Sequence[Character]) -> Floats:
    """Return characters (K) as rows of numbers in the order of `TRAITS`: (K, 5)."""
    return np.array([astuple(each) for each in characters], dtype=np.float64).reshape(-1, len(TRAITS))


def unlikeness(characters: Sequence[Character]) -> Floats:
    """Return the numbers (K, 5) in shares of how far each trait ranges over them; 0 where no eye can tell them
    apart."""
    table = numbers(characters)
    if not len(table):
        return table
    spans, low = np.ptp(table, axis=0), table.min(axis=0)
    told = spans >= _seen(table)
    return np.asarray(np.where(told, (table - low) / np.where(told, spans, 1.0), 0.0))


def in_words(characters: Sequence[Character]) -> list[tuple[str, ...]]:
    """Return each tree's character in a word a trait, by thirds of the trees given; no word where all are alike."""
    below = np.stack([_below(column) for column in numbers(characters).T], axis=1)
    told = [trait.title not in alike(characters) for trait in TRAITS.values()]
    said: list[tuple[str, ...]] = []
    for row in below.tolist():
        pairs = zip(TRAITS.values(), row, strict=True)
        words = [(trait.low, trait.middle, trait.high)[min(int(3.0 * share), 2)] for trait, share in pairs]
        said.append(tuple(word for word, differs in zip(words, told, strict=True) if differs))
    return said


def alike(characters: Sequence[Character]) -> tuple[str, ...]:
    """Return the traits in which no eye can tell the trees apart."""
    most = unlikeness(characters).max(axis=0, initial=0.0)
    return tuple(trait.title for trait, share in zip(TRAITS.values(), most.tolist(), strict=True) if share <= 0.0)


def _below(column: Floats) -> Floats:
    """Return the share of the values (K,) below each, those equal to it taken half: (K,)."""
    order = np.sort(column)
    low, high = np.searchsorted(order, column), np.searchsorted(order, column, side="right")
    return np.asarray((low + high) / 2.0 / max(len(column), 1))


def _seen(table: Floats) -> Floats:
    """Return the least visible difference of each trait; that of the spread is a share of the spread."""
    seen = np.array([trait.seen for trait in TRAITS.values()])
    seen[-1] *= max(float(table[:, -1].mean()), 1e-9)
    return seen
