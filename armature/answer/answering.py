"""Planning again: what exists stays as it is, and the rest keeps its place in the crown around it.

Size letters: M members, K members that exist. Level by level from the trunk out, what exists is set where it is welded,
or turned at its joint to come nearest to the plan; what is not made yet follows its parent as that really is; what then
comes too near is moved apart.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from armature.answer.forged import Posed, aimed, found, set_at, wanted_of, welded
from armature.answer.standing import Standing
from armature.answer.unmade import AIMED, STANDS, Placed, aimed_again, as_carded, unsound
from armature.grow import Meeting, growing_of, parted
from armature.made import Steel
from armature.tree import BendList, Chains, Floats, Ints, Joints, Tree, bend_list, joined, joints, row_norms

if TYPE_CHECKING:
    from armature.commission import Commission


@dataclass(frozen=True, eq=False)
class Answer:
    """A plan as the steel that exists leaves it.

    tree: all members, those that exist as they are. plan: the tree as it was planned. exists, measured (M,): which
    members are made, and of which it is known how they came out. ways (M,): STANDS, AIMED or BENT; those that exist
    stand. moved (M,): mm, how far each tip is from its place in the plan. offs (M,): mm, how far the line of a measured
    member lies off its plan, root of the mean square over the places of its children and tip. meetings: what is still
    too near.
    """

    tree: Tree
    plan: Tree
    exists: NDArray[np.bool_]
    measured: NDArray[np.bool_]
    ways: Ints
    moved: Floats
    offs: Floats
    meetings: tuple[Meeting, ...]

    def __repr__(self) -> str:
        counts = [int((self.ways[~self.exists] == way).sum()) for way in range(3)]
        said = f"{counts[0]} cards stand, {counts[1]} members are aimed again, {counts[2]} bent anew"
        return f"Answer: {int(self.exists.sum())} members exist; {said}; {len(self.meetings)} pairs too near"

    @property
    def changed(self) -> Ints:
        """Rows of members that are not made and whose cards no longer hold."""
        return np.flatnonzero(~self.exists & (self.ways != STANDS))


def answered(plan: Tree, commission: Commission, steel: Steel) -> Answer:
    """Return the plan around the steel that exists; members that nothing moved keep their rows to the last bit."""
    planned, bends = joints(plan), bend_list(plan.chains)
    standing = Standing(plan, planned.chalks)
    at = np.full(len(plan), -1, dtype=np.int64)
    for number, tag in enumerate(steel.tags.tolist()):
        at[plan.rows[tag]] = number
    measured = at >= 0
    measured[measured] = steel.measured[at[measured]]
    loads = plan.summed_to_root(np.ones(len(plan)))
    ways, offs = np.full(len(plan), STANDS), np.zeros(len(plan))
    for level in plan.levels:
        parents = plan.parents[level]
        shifted = (parents >= 0) & standing.moved[np.maximum(parents, 0)]
        known = (at[level] >= 0) & (shifted | measured[level])
        _set_forged(standing, plan, planned, steel, level[known], at, loads, offs)
        fresh = level[shifted & (at[level] < 0)]
        if len(fresh):
            ways[fresh] = _set_unmade(standing, plan, commission, planned, fresh, bends)
    tree = _sized(_leaved(standing.tree, plan), steel, at)
    tree, left = _clear(tree.rounded(), standing, commission, steel, ways)
    return Answer(
        tree=tree,
        plan=plan,
        exists=at >= 0,
        measured=measured,
        ways=ways,
        moved=row_norms(tree.tips - plan.tips),
        offs=offs,
        meetings=tuple(left),
    )


def _set_forged(
    standing: Standing, plan: Tree, planned: Joints, steel: Steel, rows: Ints, at: Ints, loads: Floats, offs: Floats
) -> None:
    """Place members that exist; `offs` hears how far they lie off the plan."""
    posed: list[Posed] = []
    for row in rows.tolist():
        number = int(at[row])
        bends = steel.bends.taken(np.array([number]))
        wanted = wanted_of(plan, row, loads)
        read = np.array([each[number] for each in (steel.ats, steel.clocks, steel.leans, steel.rolls)])
        if steel.welded[number] and not np.isfinite(steel.tips[number]).all():
            own = welded(standing, row, bends, planned, read, wanted)
        else:
            start = steel.starts[number]
            if np.isfinite(start).all():
                own = set_at(standing, row, bends, wanted, start)
            else:
                own = aimed(standing, row, bends, wanted)
            if steel.welded[number]:
                place, _, _ = standing.frames(np.array([row]), np.array([own.station]))
                own = found(own, place[0], steel.tips[number], steel.mids[number], wanted)
        posed.append(own)
        offs[row] = own.off
    if posed:
        chains = joined([each.chains for each in posed])
        standing.put(
            rows,
            chains,
            np.array([each.chalk for each in posed]),
            np.array([each.station for each in posed]),
            np.array([each.setback for each in posed]),
            chains.lengths / plan.lengths[rows],
        )


def _set_unmade(
    standing: Standing, plan: Tree, commission: Commission, planned: Joints, rows: Ints, bends: BendList
) -> Ints:
    """Place members of one level that are not made, and return how: STANDS, AIMED or BENT."""
    fit, least = commission.shop.anvil.fit, growing_of(commission).least_radius
    carded = as_carded(standing, rows, planned, bends)
    ends = carded.chains.vertices[carded.chains.offsets[1:] - 1]
    off = (row_norms(ends - plan.tips[rows]) > fit) | unsound(carded, standing.tree, rows)
    again = aimed_again(standing, plan, rows, planned, fit, least)
    bad = unsound(again, standing.tree, rows)
    # What cannot be aimed again stays on its card, and is told by how far its tip is off.
    chosen = _chosen(carded, again, off & ~bad)
    standing.put(rows, chosen.chains, chosen.chalks, chosen.stations, chosen.setbacks, chosen.longer)
    return chosen.ways


def _chosen(one: Placed, other: Placed, second: NDArray[np.bool_]) -> Placed:
    count = len(second)
    rows = np.arange(count) + count * second
    both: Chains = joined([one.chains, other.chains])
    columns = {
        name: np.where(
            second.reshape((-1,) + (1,) * (getattr(one, name).ndim - 1)), getattr(other, name), getattr(one, name)
        )
        for name in ("chalks", "stations", "setbacks", "longer", "ways")
    }
    return Placed(both.taken(rows), **columns)


def _leaved(tree: Tree, plan: Tree) -> Tree:
    """Return the tree with its leaves where they hang on twigs that got longer or shorter."""
    leaves = tree.leaves
    shares = tree.lengths / plan.lengths
    return tree.hung(
        replace(
            leaves,
            stations=np.where(shares[leaves.twigs] == 1.0, leaves.stations, leaves.stations * shares[leaves.twigs]),
        )
    )


def _sized(tree: Tree, steel: Steel, at: Ints) -> Tree:
    """Return the tree with members as thick as they were read; between two readings their share of the plan runs
    straight."""
    if not len(steel.sizes):
        return tree
    tapers = tree.tapers
    diameters, tips = tapers.diameters.copy(), tapers.tips.copy()
    for number in np.unique(steel.size_of).tolist():
        row = int(np.flatnonzero(at == number)[0])
        own = np.flatnonzero(steel.size_of == number)
        order = own[np.argsort(steel.size_shares[own], kind="stable")]
        to = slice(int(tapers.offsets[row]), int(tapers.offsets[row + 1]))
        places = tapers.stations[to] / float(tree.lengths[row])
        shares, sizes = steel.size_shares[order], steel.sizes[order]
        diameters[to] *= np.interp(places, shares, sizes)
        tips[row] *= float(np.interp(1.0, shares, sizes))
    return replace(tree, tapers=replace(tapers, diameters=diameters, tips=tips).narrowed())


def _clear(
    tree: Tree, standing: Standing, commission: Commission, steel: Steel, ways: Ints
) -> tuple[Tree, list[Meeting]]:
    """Return the tree with what is not made moved clear of all, and what is still too near; `ways` hears what moved."""
    if not standing.moved.any() and not len(steel.sizes):
        return tree, []
    # What is forged but not welded yet can still be turned at its joint.
    stays = steel.tags[steel.welded | ~steel.measured].tolist()
    clear, left = parted(tree, commission, stays)
    own = np.flatnonzero((clear.stations != tree.stations) | (row_norms(clear.axes - tree.axes) > 1e-9))
    # What only rides on a member that was moved keeps its joint on it.
    turned = [row for row in own.tolist() if not _rides(clear, tree, row)]
    ways[turned] = np.maximum(ways[turned], AIMED)
    return clear.rounded(), left


def _rides(clear: Tree, tree: Tree, row: int) -> bool:
    """Return whether a member's joint on its parent is the same as before."""
    if clear.stations[row] != tree.stations[row]:
        return False
    one, other = (joints(each.taken(_line(each, row))) for each in (clear, tree))
    off = [getattr(one, name)[-1] - getattr(other, name)[-1] for name in ("clocks", "leans", "rolls")]
    return bool(np.abs(off).max() < 1e-6)


def _line(tree: Tree, row: int) -> Ints:
    """Return the rows that carry a member, and its own."""
    rows = []
    while row >= 0:
        rows.append(row)
        row = int(tree.parents[row])
    return np.array(sorted(rows), dtype=np.int64)
