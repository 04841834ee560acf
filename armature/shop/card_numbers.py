"""The numbers as they stand on the cards, rounded so that their errors cancel along each bar.

Every figure on a card is a whole step: a sixteenth of an inch or a millimetre, a degree. Rounded one by one, half a
degree here and there moves a tip by centimetres. Rounded together they need not: a bend a little long makes up for a
lean a little short. So each member is taken in turn, root to tips: its joint is aimed anew from the parent as paper
makes it, all figures go to the nearest step, and then single figures and pairs of them are moved by one step while that
brings the tip, and the places of its children, nearer to where they belong.

Size letters: M members, B bends, K figures of a member, C places that are compared, Q trials.
A bar is read as a smith reads it: START, a bend from its begin to its end mark (so that the radius follows), the way
round from the chalk line; the child's START lies on the parent's skin where its mark says, R / sin(lean) from the
parent's axis.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from armature.shop.bending import Paper, chalk_clocks
from armature.tree import (
    BendList,
    Chains,
    Floats,
    Ints,
    Joints,
    Tree,
    bend_list,
    bent,
    chalk_lines,
    dot,
    joined,
    joints,
    locate,
    parent_frames,
    row_norms,
    turned,
)

# Figures of a joint and of the bar as a whole; each bend adds its begin, its arc, its clock and its angle.
_FOOT, _CLOCK, _LEAN, _ROLL, _LENGTH, _FIXED = 0, 1, 2, 3, 4, 5
_EACH = 4
_ROUNDS, _MOVES = 3, 8
# A member that is still so far off, mm, all places together, is tried again from other figures, so many times at most.
_FAR, _RETRIES = 4.0, 2
# Places compared besides the tip count so much of it: the bar has to lie right, not only its end.
_BETWEEN = 0.35
_PLACES = 4
# A figure leaves its nearest step only where that is worth so much, mm2.
_DEAR = 0.25
# A bar on the base is leaned by plumb line, which tells a tenth of a degree; a jig on a parent does not.
PLUMB_DEG = 0.1
# Steps to the place of a parent that is square to a child's START; it halves what is missed at least.
_SQUARINGS = 12


@dataclass(frozen=True, eq=False)
class Written:
    """What the cards print, in mm and degrees, whole steps all.

    feet (M,): the mark on the parent's skin. clocks, leans, rolls (M,); on the base the clock counts from east to
    north, and in place of the roll stands where the chalk line faces, counted likewise. lengths (M,): START to tip.
    begins, ends, bend_clocks, angles (B,): marks of each bend, the way round from the chalk line, the bend.
    chains: the tree as these numbers make it. strays (M,): how far each tip then is from where it belongs.
    """

    feet: Floats
    clocks: Floats
    leans: Floats
    rolls: Floats
    lengths: Floats
    begins: Floats
    ends: Floats
    bend_clocks: Floats
    angles: Floats
    chains: Chains
    strays: Floats

    def lean_bearing(self, row: int) -> float:
        """Return where a member on the base leans to, deg clockwise from north."""
        return float((90.0 - self.clocks[row]) % 360.0)

    def chalk_bearing(self, row: int) -> float:
        """Return where the chalk line of a member on the base faces, deg clockwise from north."""
        return float((90.0 - self.rolls[row]) % 360.0)


def written(
    tree: Tree,
    listed: Joints,
    bends: BendList,
    clocks: Floats,
    paper: Paper,
    exists: NDArray[np.bool_] | None = None,
) -> Written:
    """Return the figures of all cards. clocks (B,): exact clocks of the bends, deg.

    exists: (M,) members that are made: what they carry is aimed from where they are, and not from where paper has them.
    """
    count = len(tree)
    per = np.bincount(bends.members, minlength=count)
    table = np.zeros((count, _FIXED + _EACH * int(per.max(initial=0))))
    built: list[Chains] = []
    lines = np.zeros((0, 3))
    place = np.zeros(count, dtype=np.int64)
    marks = _skin_marks(tree, listed)
    for level in tree.levels:
        parents = np.where(tree.parents[level] >= 0, place[tree.parents[level]], -1)
        own = _Level(
            tree, listed, marks, bends, clocks, paper, level, parents, built[-1] if built else None, lines, per
        )
        table[level, : own.steps.shape[1]] = own.settled()
        chains, chalks = own.made(table[level, : own.steps.shape[1]])
        if exists is not None and exists[level].any():
            rows = np.arange(len(level)) + len(level) * exists[level]
            chains = joined([chains, tree.chains.taken(level)]).taken(rows)
            chalks = np.where(exists[level, None], listed.chalks[level], chalks)
        built.append(chains)
        lines = chalk_lines(chains, chalks)
        place[level] = np.arange(len(level))
    order = np.argsort(np.concatenate(tree.levels), kind="stable")
    chains = joined(built).taken(order)
    at = _FIXED + _EACH * (bends.numbers - 1)
    first, second, third, fourth = (table[bends.members, at + n] for n in range(_EACH))
    strays = row_norms(chains.vertices[chains.offsets[1:] - 1] - tree.tips)
    # A bar on the base that is turned past plumb leans to the other side.
    past = (tree.parents < 0) & (table[:, _LEAN] < 0.0)
    table[past, _LEAN] *= -1.0
    table[past, _CLOCK] += 180.0
    return Written(
        feet=table[:, _FOOT],
        clocks=_half_turn(table[:, _CLOCK]),
        leans=table[:, _LEAN],
        rolls=_half_turn(table[:, _ROLL]),
        lengths=table[:, _LENGTH],
        begins=first,
        ends=first + second,
        bend_clocks=_half_turn(third),
        angles=fourth,
        chains=chains,
        strays=strays,
    )


def card_strays(tree: Tree, paper: Paper) -> Floats:
    """Return how far each tip is from where it belongs when the tree is made from its cards: (M,) mm."""
    bends = bend_list(tree.chains)
    return written(tree, joints(tree), bends, chalk_clocks(bends), paper).strays


def _skin_marks(tree: Tree, listed: Joints) -> Floats:
    """Return where along its parent each START lies square to the parent's run: (M,) mm, 0 on the base."""
    rows = np.flatnonzero(tree.parents >= 0)
    parents, at = tree.parents[rows], listed.feet[rows].copy()
    for _ in range(_SQUARINGS):
        places, along, _ = locate(tree.chains, parents, at)
        at = np.clip(at + 0.7 * dot(tree.starts[rows] - places, along), 0.0, tree.lengths[parents])
    marks = np.zeros(len(tree))
    marks[rows] = at
    return marks


def _faced(d: Floats, azimuths: Floats) -> Floats:
    """Return the directions square to d (Q, 3) that face azimuths (Q,) rad, counted from east to north: (Q, 3)."""
    flat = np.stack([np.cos(azimuths), np.sin(azimuths), np.zeros(len(azimuths))], axis=1)
    upright = np.where(np.abs(d[:, 2]) > 1e-6, d[:, 2], 1e-6)
    faced = flat - np.array([0.0, 0.0, 1.0]) * (dot(flat, d) / upright)[:, None]
    return np.asarray(faced / np.maximum(row_norms(faced), 1e-12)[:, None])


def _half_turn(angles: Floats) -> Floats:
    """Return angles within +-180, halves of a turn as +180."""
    return np.asarray(180.0 - np.mod(180.0 - angles, 360.0)) + 0.0


class _Level:
    """All members of one depth, their parents already built from paper: figures (n, K), steps (n, K) and what they
    make."""

    def __init__(
        self,
        tree: Tree,
        listed: Joints,
        marks: Floats,
        bends: BendList,
        clocks: Floats,
        paper: Paper,
        rows: Ints,
        parents: Ints,
        before: Chains | None,
        lines: Floats,
        per: Ints,
    ) -> None:
        self.tree, self.rows, self.parents, self.before, self.lines = tree, rows, parents, before, lines
        self.counts = per[rows]
        most = int(self.counts.max(initial=0))
        self.inside = np.arange(most) < self.counts[:, None]
        flat = np.flatnonzero(np.isin(bends.members, rows))
        # The bends of a level come in the order of its rows, as rows ascend within it.
        length, angle = paper.length_mm, paper.angle_deg
        exact = np.zeros((len(rows), _FIXED + _EACH * most))
        exact[:, _FOOT], exact[:, _LENGTH] = marks[rows], tree.lengths[rows]
        arcs = bends.radii * np.radians(bends.bends)
        for n, values in enumerate((bends.marks, arcs, clocks, bends.bends)):
            column = np.zeros((len(rows), most))
            column[self.inside] = values[flat]
            exact[:, _FIXED + n :: _EACH] = column
        self.steps = np.full(exact.shape, angle)
        self.steps[:, [_FOOT, _LENGTH]] = length
        self.steps[parents < 0, _LEAN] = PLUMB_DEG
        self.steps[:, _FIXED::_EACH] = self.steps[:, _FIXED + 1 :: _EACH] = length
        self.free = np.ones(exact.shape, dtype=bool)
        for n in range(_EACH):
            self.free[:, _FIXED + n :: _EACH] = self.inside
        # The first bend goes toward the chalk line, whatever else moves; a straight bar has no roll.
        if most:
            self.free[:, _FIXED + 2] = False
        self.free[:, _ROLL] &= self.counts > 0
        self.free[parents < 0, _FOOT] = False
        self._places()
        self._aim(exact, listed, marks)
        self.exact = exact

    def settled(self) -> Floats:
        """Return the figures, (n, K): nearest steps, then moved where that cancels errors."""
        nearest = np.round(self.exact / self.steps)
        # A bend takes at least a step of the bar: its radius follows from its two marks.
        arcs = slice(_FIXED + 1, None, _EACH)
        nearest[:, arcs] = np.where(self.inside, np.maximum(nearest[:, arcs], 1.0), 0.0)
        self.shortest = nearest <= 1.0
        self.shortest[:, :_FIXED] = False
        self.shortest[:, _FIXED::_EACH] = self.shortest[:, _FIXED + 2 :: _EACH] = False
        moved = np.zeros_like(nearest)
        for _ in range(_ROUNDS):
            figures = (nearest + moved) * self.steps
            slopes, missed = self._slopes(figures)
            cost = (missed**2).sum(axis=1)
            step = _best_moves(slopes, missed, moved, self.free, self.shortest)
            trial = moved + step
            better = self._cost((nearest + trial) * self.steps) < cost - 1e-9
            moved = np.where(better[:, None], trial, moved)
            if not better.any():
                break
        return self._unlapped((nearest + self._retried(nearest, moved)) * self.steps, np.arange(len(nearest)))

    def _retried(self, nearest: Floats, moved: Floats) -> Floats:
        """Return moves (n, K) in which members that are still off have been tried again from other figures.

        Each figure of theirs in turn is moved first, whatever that costs, and the rest follow: moves that help only
        together are found so.
        """
        for _ in range(_RETRIES):
            figures = (nearest + moved) * self.steps
            cost = self._cost(self._unlapped(figures.copy(), np.arange(len(figures))))
            far = np.flatnonzero(cost > _FAR**2)
            if not len(far):
                break
            slopes, missed = self._slopes(figures)
            better = False
            for row in far.tolist():
                trials = self._restarted(row, slopes[row], missed[row], moved[row])
                own = np.full(len(trials), row)
                costs = (
                    (self._seen(self._unlapped((nearest[row] + trials) * self.steps[row], own), own) - self.wanted[row])
                    ** 2
                ).sum(axis=1)
                best = int(costs.argmin())
                if costs[best] < cost[row] - 1e-9:
                    moved[row], better = trials[best], True
            if not better:
                break
        return moved

    def _restarted(self, row: int, slopes: Floats, missed: Floats, moved: Floats) -> Floats:
        """Return moves (Q, K) of one member, each begun with a step of one figure that is then left alone."""
        columns = np.flatnonzero(self.free[row])
        first = np.repeat(columns, 2)
        steps = np.tile([1.0, -1.0], len(columns))
        allowed = np.abs(moved[first] + steps) <= 1.0
        allowed &= ~(self.shortest[row, first] & (moved[first] + steps < 0.0))
        first, steps = first[allowed], steps[allowed]
        each = np.arange(len(first))
        begun = np.tile(moved, (len(first), 1))
        begun[each, first] += steps
        free = np.tile(self.free[row], (len(first), 1))
        free[each, first] = False
        many = np.broadcast_to(slopes, (len(first), *slopes.shape))
        off = missed + slopes[first] * steps[:, None]
        return begun + _best_moves(many, off, begun, free, np.tile(self.shortest[row], (len(first), 1)))

    def _unlapped(self, figures: Floats, owners: Ints) -> Floats:
        """Return figures in which no bend begins before the one before it ends, nor ends past the tip.

        owners: (Q,) whose they are. The figures given are used up.
        """
        last = np.zeros(len(figures))
        for at in range(self.inside.shape[1]):
            begin, arc, own = _FIXED + _EACH * at, _FIXED + _EACH * at + 1, self.inside[owners, at]
            figures[own, begin] = np.maximum(figures[own, begin], last[own])
            last = np.where(own, figures[:, begin] + figures[:, arc], last)
        figures[:, _LENGTH] = np.maximum(figures[:, _LENGTH], last)
        return figures

    def made(self, figures: Floats, own: Ints | None = None) -> tuple[Chains, Floats]:
        """Return the bars (Q,) that figures (Q, K) make, and their chalk directions (Q, 3).

        own: (Q,) whose they are.
        """
        own = np.arange(len(self.rows)) if own is None else own
        parents = self.parents[own]
        lean = np.radians(figures[:, _LEAN])
        grounded = parents < 0
        p, t, c = parent_frames(self.before, self.lines, parents, figures[:, _FOOT])
        p = np.where(grounded[:, None], self.tree.starts[self.rows[own]], p)
        clock = np.radians(figures[:, _CLOCK])[:, None]
        u = np.cos(clock) * c + np.sin(clock) * np.cross(t, c)
        d = np.cos(lean)[:, None] * t + np.sin(lean)[:, None] * u
        plain = np.cos(lean)[:, None] * u - np.sin(lean)[:, None] * t
        chalks = turned(plain, d, np.radians(figures[:, _ROLL]))
        chalks = np.where(grounded[:, None], _faced(d, np.radians(figures[:, _ROLL])), chalks)
        starts = p + u * self._radii(own, figures[:, _FOOT])[:, None]
        return bent(self._bent_as(figures, own), starts, d, chalks), chalks

    def _bent_as(self, figures: Floats, own: Ints) -> BendList:
        begins, arcs, clocks, angles = (figures[:, _FIXED + n :: _EACH] for n in range(_EACH))
        ends = begins + arcs
        inside, counts = self.inside[own], self.counts[own]
        last = np.concatenate([np.zeros((len(own), 1)), ends], axis=1)
        turns = np.diff(clocks, axis=1, prepend=0.0)
        numbers = np.broadcast_to(np.arange(1, inside.shape[1] + 1), inside.shape)
        tails = figures[:, _LENGTH] - np.take_along_axis(last, counts[:, None], axis=1)[:, 0]
        return BendList(
            members=np.repeat(np.arange(len(own)), counts),
            numbers=numbers[inside],
            marks=begins[inside],
            feeds=(begins - last[:, :-1])[inside],
            turns=turns[inside],
            bends=angles[inside],
            radii=(arcs / np.radians(np.maximum(angles, 1e-6)))[inside],
            tails=tails,
        )

    def _radii(self, own: Ints, feet: Floats) -> Floats:
        parents = self.tree.parents[self.rows[own]]
        return np.where(parents >= 0, self.tree.diameters_at(np.maximum(parents, 0), feet) / 2.0, 0.0)

    def _places(self) -> None:
        """Choose stations (n, C) to compare: of children where there are any, else between; the tip is the last."""
        tree = self.tree
        shares = (np.arange(_PLACES) + 1.0) / (_PLACES + 1.0)
        self.stations = tree.lengths[self.rows][:, None] * shares
        order = np.lexsort((tree.stations, tree.parents))
        starts = np.searchsorted(tree.parents[order], self.rows)
        ends = np.searchsorted(tree.parents[order], self.rows, side="right")
        for at, (first, last) in enumerate(zip(starts.tolist(), ends.tolist(), strict=True)):
            if last > first:
                self.stations[at] = np.quantile(tree.stations[order[first:last]], shares)
        owners = np.repeat(self.rows, _PLACES)
        between = locate(tree.chains, owners, self.stations.ravel())[0].reshape(-1, _PLACES, 3)
        places = np.concatenate([between * _BETWEEN, tree.tips[self.rows][:, None]], axis=1)
        self.wanted = places.reshape(-1, 3 * _PLACES + 3)

    def _aim(self, exact: Floats, listed: Joints, marks: Floats) -> None:
        """Set the angles of joints so that members point where they should from parents as paper makes them."""
        _, along, chalk = parent_frames(self.before, self.lines, self.parents, marks[self.rows])
        d, n = self.tree.axes[self.rows], listed.chalks[self.rows]
        side = d - dot(along, d)[:, None] * along
        lean = np.arctan2(row_norms(np.cross(along, d)), dot(along, d))
        u = np.where(lean[:, None] > 1e-9, side / np.maximum(row_norms(side), 1e-300)[:, None], chalk)
        plain = np.cos(lean)[:, None] * u - np.sin(lean)[:, None] * along
        exact[:, _LEAN] = np.degrees(lean)
        exact[:, _CLOCK] = np.degrees(np.arctan2(dot(np.cross(along, chalk), u), dot(chalk, u)))
        roll = np.degrees(np.arctan2(dot(np.cross(d, plain), n), dot(plain, n)))
        roll = np.where(self.parents < 0, np.degrees(np.arctan2(n[:, 1], n[:, 0])), roll)
        exact[:, _ROLL] = np.where(self.counts > 0, roll, 0.0)

    def _seen(self, figures: Floats, own: Ints) -> Floats:
        """Return the places compared, weighed: (Q, 3 C)."""
        chains, _ = self.made(figures, own)
        rows = np.repeat(np.arange(len(own)), _PLACES)
        between = locate(chains, rows, self.stations[own].ravel())[0].reshape(-1, _PLACES, 3) * _BETWEEN
        tips = chains.vertices[chains.offsets[1:] - 1][:, None]
        return np.concatenate([between, tips], axis=1).reshape(len(own), -1)

    def _cost(self, figures: Floats) -> Floats:
        own = np.arange(len(self.rows))
        return np.asarray(((self._seen(figures, own) - self.wanted) ** 2).sum(axis=1))

    def _slopes(self, figures: Floats) -> tuple[Floats, Floats]:
        """Return what one step of each figure moves, (n, K, 3 C), and what is missed now, (n, 3 C)."""
        own, column = np.nonzero(self.free)
        trials = figures[own].copy()
        trials[np.arange(len(own)), column] += self.steps[own, column]
        now = self._seen(figures, np.arange(len(self.rows)))
        slopes = np.zeros((*figures.shape, now.shape[1]))
        slopes[own, column] = self._seen(trials, own) - now[own]
        return slopes, now - self.wanted


def _best_moves(
    slopes: Floats, missed: Floats, moved: Floats, free: NDArray[np.bool_], shortest: NDArray[np.bool_]
) -> Floats:
    """Return moves (n, K) of -1, 0 or 1 step that cut the miss (n, 3 C) most, by single figures and pairs in turn.

    Figures stay within one step of the nearest.
    """
    gram = np.einsum("nki,nji->nkj", slopes, slopes)
    pull = np.einsum("nki,ni->nk", slopes, missed)
    count, figures = pull.shape
    moves = np.zeros((count, figures))
    signs = np.array([1.0, -1.0])
    own = np.diagonal(gram, axis1=1, axis2=2)
    signed_gram = np.concatenate([np.concatenate([gram, -gram], axis=2), np.concatenate([-gram, gram], axis=2)], axis=1)
    for _ in range(_MOVES):
        at = moved + moves
        single = np.concatenate(
            [2.0 * sign * pull + own + _DEAR * (np.abs(at + sign) - np.abs(at)) for sign in signs], axis=1
        )
        barred = np.concatenate(
            [~free | (np.abs(at + sign) > 1.0) | (shortest & (at + sign < 0.0)) for sign in signs], axis=1
        )
        single = np.where(barred, np.inf, single)
        pairs = single[:, :, None] + single[:, None, :] + 2.0 * signed_gram
        same = np.arange(figures)
        for a in (0, figures):
            for b in (0, figures):
                pairs[:, same + a, same + b] = np.inf
        best_single, best_pair = single.argmin(axis=1), pairs.reshape(count, -1).argmin(axis=1)
        one = single[np.arange(count), best_single]
        two = pairs.reshape(count, -1)[np.arange(count), best_pair]
        if (np.minimum(one, two) >= -1e-6).all():
            break
        for row in np.flatnonzero(np.minimum(one, two) < -1e-6).tolist():
            chosen = [int(best_single[row])] if one[row] <= two[row] else list(divmod(int(best_pair[row]), 2 * figures))
            for each in chosen:
                figure, sign = each % figures, signs[each // figures]
                moves[row, figure] += sign
                pull[row] += sign * gram[row, figure]
    return moves
