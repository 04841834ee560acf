"""Hang points: the asked number of leaves, shared out by length and light, on the outer part of the twigs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from armature.edge import GrowthError
from armature.grow.deals import portions
from armature.seeds import keys, uniform
from armature.tree import TWIG, Floats, Ints, Leaves, Tree

if TYPE_CHECKING:
    from armature.commission import Commission

_OUTER = 0.35


def hung(tree: Tree, commission: Commission) -> Tree:
    """Return the tree with the commission's leaves: loops at least `leaves.spacing` apart, designs and names left open.

    Longer twigs and twigs with more light (farther out and up) bear more. Raises GrowthError where the twigs cannot
    hold so many without their loops touching.
    """
    count = commission.leaves.count
    twigs = tree.of_rank(TWIG)
    gap = commission.leaves.spacing
    room = np.maximum((tree.lengths[twigs] * (1.0 - _OUTER) - 4.0) / gap, 0.0).astype(np.int64) + 1
    if count > room.sum():
        raise GrowthError(
            f"leaves.count: the twigs hold {int(room.sum())} leaves {gap:.0f} mm apart, {count} asked: more twigs, a"
            " larger spread or fewer leaves would help"
        )
    each = _shared(tree, twigs, room, count)
    owners = np.repeat(np.arange(len(twigs)), each)
    number = np.arange(count) - np.repeat(np.cumsum(each) - each, each)
    stations = _stations(tree, twigs, each, owners, number, gap, commission.seed)
    tags = np.array([f"{tree.tags[twigs[o]]}-{n + 1}" for o, n in zip(owners.tolist(), number.tolist(), strict=True)])
    designs = 1 + (uniform(keys(commission.seed, tags, "design"), 1)[:, 0] * commission.leaves.designs).astype(np.int64)
    return tree.hung(Leaves(tags, twigs[owners], stations, designs, np.full(count, "", dtype="<U1")))


def _shared(tree: Tree, twigs: Ints, room: Ints, count: int) -> Ints:
    """Return leaves on each twig (T,): in proportion to length and light, never more than it has room for."""
    tips = tree.tips[twigs]
    middle = tips.mean(axis=0) if len(tips) else np.zeros(3)
    out = np.sqrt(np.sum((tips - middle) ** 2, axis=1))
    light = 0.6 + out / max(float(out.max(initial=0.0)), 1e-9) + 0.4 * (tips[:, 2] > middle[2])
    each = np.zeros(len(twigs), dtype=np.int64)
    while each.sum() < count:
        open_twigs = each < room
        share = np.where(open_twigs, tree.lengths[twigs] * light, 0.0)
        each = np.minimum(each + portions(share, int(count - each.sum()), least=0), room)
    return each


def _stations(tree: Tree, twigs: Ints, each: Ints, owners: Ints, number: Ints, gap: float, seed: int) -> Floats:
    """Return stations (L,) mm: one leaf near the tip, the others spread unevenly back over the outer part."""
    length = tree.lengths[twigs][owners]
    span = length * (1.0 - _OUTER) - 4.0
    spare = np.maximum(span - (each[owners] - 1) * gap, 0.0)
    luck = np.sort(_by_twig(seed, tree, twigs, each), axis=None, kind="stable") - np.repeat(np.arange(len(twigs)), each)
    return np.asarray(length * _OUTER + number * gap + (0.15 + 0.85 * luck) * spare)


def _by_twig(seed: int, tree: Tree, twigs: Ints, each: Ints) -> Floats:
    """Return draws (L,) in [0, 1) from each twig's own stream, lifted by the twig's number so that a sort keeps them
    grouped."""
    most = int(each.max(initial=0))
    draws = uniform(keys(seed, tree.tags[twigs], "leaves"), max(most, 1))
    used = np.arange(max(most, 1)) < each[:, None]
    return np.asarray((draws + np.arange(len(twigs))[:, None])[used])
