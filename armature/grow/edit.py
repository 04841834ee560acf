"""Edits of a grown tree: what stands stays as it is, to the last bend."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from armature.edge import CommissionError
from armature.grow.aim import Buds
from armature.grow.canopy import envelope
from armature.grow.crown import sprouting_of
from armature.grow.growing import growing_of
from armature.grow.kept import in_order
from armature.grow.members import grown
from armature.grow.season import last_stations, manners_of
from armature.grow.sprouting import ways
from armature.seeds import keys, uniform
from armature.tree import BRANCH, BRANCHLET, TWIG, Tree

if TYPE_CHECKING:
    from armature.commission import Commission


def twig_added(tree: Tree, commission: Commission, carrier: str) -> Tree:
    """Return the tree with one more twig, without leaves, on the branch or branchlet of the given tag.

    Every other member keeps its row's numbers: bends, joint, diameters, cut length. Raises CommissionError for a tag
    that carries no twigs, GrowthError where the carrier has no room left.
    """
    row = tree.rows.get(carrier, -1)
    if row < 0 or tree.ranks[row] not in (BRANCH, BRANCHLET):
        raise CommissionError("carrier", "must be the tag of a branch or branchlet of this tree", carrier)
    siblings = np.flatnonzero((tree.parents == row) & (tree.ranks == TWIG))
    number = max((int(str(tag).rsplit("-", 1)[1]) for tag in tree.tags[siblings]), default=0) + 1
    twig, parents = min(commission.steel.bars), np.array([row])
    tags = np.array([f"{carrier}-{number}"])
    diameters = np.array([twig])
    length = tree.lengths[row]
    high = np.minimum(last_stations(tree, parents, diameters), 0.97 * length)
    low = np.minimum(np.full(1, 0.2 * length), 0.9 * high)
    luck = uniform(keys(commission.seed, tags, "added"), 1)[:, 0]
    wanted = low + luck * (high - low)
    usual = np.full(1, float(np.median(tree.lengths[tree.of_rank(TWIG)])))
    canopy = envelope(commission)
    sprouting = sprouting_of(commission, TWIG, canopy, None)
    first = ways(tree, canopy, sprouting, commission.seed, tags, parents, wanted, usual, 9.0 * diameters, 0)
    buds = Buds(tags, parents, first.targets, diameters, wanted, np.zeros(1), low, high, first.leans, usual)
    manners = manners_of(commission, TWIG, canopy, diameters, np.zeros(1), np.full(1, 9.0 * twig), sprouting)
    return in_order(grown(tree, buds, manners, growing_of(commission)))
