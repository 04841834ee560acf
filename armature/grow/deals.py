"""Deals: how many branches each limb bears and how many twigs each of these, exactly as asked, and under which tags.

Counts are dealt by Webster's divisor method (Balinski and Young, Fair Representation, 1982, from memory): one more in
all is one more somewhere and no fewer anywhere, so that no tag comes or goes but those asked for. What a member is
worth is drawn from its own tag and never from its row; of the children of one parent the later numbers weigh less.

Size letters: A axes that bear branches, B branches, K carriers of twigs (branchlets where there are any, else the
branches), T twigs.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from armature.edge import GrowthError
from armature.seeds import keys, normal, uniform
from armature.tree import BRANCH, BRANCHLET, LIMB, PLURALS, TWIG, Floats, Ints, Strings, Tree

# How unlike the axes are in what they bear: the standard deviation of the logarithm.
_LIMB_SPREAD = 0.32
# A long shoot bears more than a spur: the power of its length that goes into its share, and chance beside it.
_BY_LENGTH, _SHARE_SPREAD = 1.0, 0.25
# By how much each later number of one parent weighs less.
_LATER = 0.03
_ROUNDS = 80
_FIRST = re.compile(r"[A-Z]+01$")


@dataclass(frozen=True, eq=False)
class Deals:
    """Who bears what.

    axes: (A,) tags. branches: (B,) tags, on: (B,) axis of each. carriers: (K,) tags, of: (K,) branch of each.
    twigs: (T,) tags, holders: (T,) carrier of each. forks: (T,) the twig that bears each, -1 where its carrier does.
    """

    axes: Strings
    branches: Strings
    on: Ints
    carriers: Strings
    of: Ints
    twigs: Strings
    holders: Ints
    forks: Ints


def deals(
    seed: int,
    limbs: int,
    counts: tuple[int, int, int],
    spread: float,
    forks: int = 0,
    leads: bool = False,
    kept: Tree | None = None,
) -> Deals:
    """Return the deal of (branches, branchlets, twigs) over limbs; spread: of the logarithm of lengths.

    leads: whether the trunk bears branches of its own, as the last axis. kept: members that are made: their tags are
    among those dealt. Raises GrowthError where more are made than asked.
    """
    branches, branchlets, twigs = counts
    made = _made(kept, limbs, counts)
    axes = np.array(_filled_up(sorted(made[LIMB]), limbs, limb_tag) + ["T"] * leads)
    worth = np.exp(_LIMB_SPREAD * normal(keys(seed, axes, "share"), 1)[:, 0])
    tags, on, number = _named(axes, worth, branches, made[BRANCH], lambda parent, n: f"{parent}{n + 1:02d}")
    carriers, of = tags, np.arange(branches)
    weights = _worth(seed, tags, number, spread)
    if branchlets:
        carriers, of, number = _named(tags, weights, branchlets, made[BRANCHLET], lambda parent, n: f"{parent}.{n + 1}")
        weights = _worth(seed, carriers, number, spread)
    names, holders, number = _named(carriers, weights, twigs, made[TWIG], lambda parent, n: f"{parent}-{n + 1}")
    return Deals(axes, tags, on, carriers, of, names, holders, _forked(seed, names, holders, number, forks, kept))


_LETTERS = "ABCDEFGHIJKLMNOPQSUVWXYZ"


def limb_tag(number: int) -> str:
    """Return the tag of a limb: A to Z without R and T, which are roots and stems, then AA, AB, …

    >>> limb_tag(0), limb_tag(17), limb_tag(18), limb_tag(23), limb_tag(24)
    ('A', 'S', 'U', 'Z', 'AA')
    """
    if number < len(_LETTERS):
        return _LETTERS[number]
    letters = ""
    number += 27 - len(_LETTERS)
    while number:
        number, letter = divmod(number - 1, 26)
        letters = chr(65 + letter) + letters
    return letters


def _made(kept: Tree | None, limbs: int, counts: tuple[int, int, int]) -> dict[int, set[str]]:
    made: dict[int, set[str]] = {}
    for rank, asked in zip((LIMB, BRANCH, BRANCHLET, TWIG), (limbs, *counts), strict=True):
        made[rank] = set() if kept is None else set(kept.tags[kept.of_rank(rank)].tolist())
        if len(made[rank]) > asked:
            raise GrowthError(
                f"growth: {len(made[rank])} {PLURALS[rank]} are made already, {asked} asked: ask for no fewer than are"
                " made"
            )
    return made


def _filled_up(own: list[str], count: int, tag: Callable[[int], str]) -> list[str]:
    """Return `count` tags: those of its own, and the first others that are free."""
    taken, tags = set(own), list(own)
    numbers = itertools.count()
    while len(tags) < count:
        fresh = tag(next(numbers))
        if fresh not in taken:
            tags.append(fresh)
    return sorted(tags, key=lambda each: (len(each), each))


def _named(
    parents: Strings, worth: Floats, total: int, made: set[str], tag: Callable[[str, int], str]
) -> tuple[Strings, Ints, Ints]:
    """Return tags dealt over parents, the parent of each, and its number from 1; made tags are among them."""
    own: list[list[str]] = [[] for _ in parents]
    rows = {str(parent): row for row, parent in enumerate(parents)}
    for each in sorted(made):
        own[rows[_parent_of(each)]].append(each)
    shares = dealt(worth, total, np.maximum([len(tags) for tags in own], 1))
    names: list[str] = []
    for row, share in enumerate(shares.tolist()):
        parent = str(parents[row])
        names += _filled_up(own[row], share, lambda n, parent=parent: tag(parent, n))  # type: ignore[misc]
    on = np.repeat(np.arange(len(shares)), shares)
    number = np.array([_number_of(name) for name in names], dtype=np.int64)
    return np.array(names), on, number


def _parent_of(tag: str) -> str:
    return tag.rstrip("0123456789").rstrip("-.")


def _number_of(tag: str) -> int:
    return int(tag[len(tag.rstrip("0123456789")) :])


def drawn_lengths(seed: int, tags: Strings) -> Floats:
    """Return the draw of each tag (Q,), in deviations, by which it is longer than its fellows."""
    bell = np.clip(normal(keys(seed, tags, "length"), 1)[:, 0], -2.4, 2.2)
    # The first shoot of each parent is a strong one, so that no limb is left bare.
    first = np.array([_FIRST.match(str(tag)) is not None for tag in tags], dtype=bool)
    return np.where(first, 0.45 + 0.55 * np.abs(bell), bell)


def dealt(worth: Floats, total: int, least: Ints | int = 1) -> Ints:
    """Return whole shares (N,) in the ratio of `worth` (N,), each at least `least` (N,), that add up to `total`.

    Webster's method. Needs total to be no less than the sum of the least.

    >>> dealt(np.array([5.0, 3.0, 0.1]), 10).tolist()
    [6, 3, 1]
    """
    worth = np.maximum(np.asarray(worth, dtype=np.float64), 1e-12).round(12)
    low, high = 0.0, 2.0 * total / float(worth.min()) + 1.0
    for _ in range(_ROUNDS):
        middle = 0.5 * (low + high)
        if _at(worth, middle, least).sum() > total:
            high = middle
        else:
            low = middle
    shares = _at(worth, low, least)
    short = total - int(shares.sum())
    if short:
        order = np.argsort(-(worth / (shares + 0.5)), kind="stable")
        shares[order[:short]] += 1
    return shares


def portions(shares: Floats, total: int, least: int) -> Ints:
    """Return whole portions in the ratio of `shares` (N,), each at least `least`, that add up to `total` exactly.

    By largest remainder. Needs total >= N * least.

    >>> portions(np.array([5.0, 3.0, 0.1]), 10, least=1).tolist()
    [5, 4, 1]
    """
    left = total - least * len(shares)
    exact = left * shares / max(float(shares.sum()), 1e-300)
    whole = np.floor(exact).astype(np.int64)
    order = np.argsort(-(exact - whole).round(9), kind="stable")
    whole[order[: left - int(whole.sum())]] += 1
    return whole + least


def _at(worth: Floats, rate: float, least: Ints | int) -> Ints:
    return np.maximum(np.floor(worth * rate + 0.5).astype(np.int64), least)


def _worth(seed: int, tags: Strings, number: Ints, spread: float) -> Floats:
    chance = normal(keys(seed, tags, "share"), 1)[:, 0]
    later = 1.0 / (1.0 + _LATER * number)
    return np.asarray(np.exp(_BY_LENGTH * spread * drawn_lengths(seed, tags) + _SHARE_SPREAD * chance) * later)


def _forked(seed: int, tags: Strings, holders: Ints, number: Ints, forks: int, kept: Tree | None) -> Ints:
    """Return the twig that bears each twig (T,), -1 for those that sit on their carrier; `forks` of them do not.

    A twig is borne by the one before it on the same carrier, which is no fork itself, and no twig bears two.
    """
    bearers = np.full(len(tags), -1, dtype=np.int64)
    made = np.array([kept is not None and str(tag) in kept.rows for tag in tags], dtype=bool)
    rows = {str(tag): row for row, tag in enumerate(tags)}
    if kept is not None:
        for row in np.flatnonzero(made).tolist():
            parent = str(kept.tags[kept.parents[kept.rows[str(tags[row])]]])
            bearers[row] = rows.get(parent, -1)
    more = forks - int((bearers >= 0).sum())
    if more <= 0:
        return bearers
    luck = uniform(keys(seed, tags, "fork"), 1)[:, 0]
    # Every second twig of a carrier may fork off the one before it: a count more or less moves no other fork.
    even = (number % 2 == 0) & ~made
    even[1:] &= (number[:-1] == number[1:] - 1) & (holders[:-1] == holders[1:]) & (bearers[:-1] < 0)
    may = np.flatnonzero(even & ~np.isin(np.arange(len(tags)) - 1, bearers[bearers >= 0]))
    chosen = may[np.argsort(luck[may].round(12), kind="stable")][:more]
    bearers[chosen] = chosen - 1
    return bearers
