"""The chain of straights and arcs that a bar was bent to, from offsets and tapes.

A few readings cannot tell every feed, bend, turn and radius by themselves: what they leave open stays as near to the
plan as the shop's own tolerances say (least squares with the plan as prior, each figure weighed by its error; any
textbook of estimation, from memory). Offsets count from the bar's own base line, START to tip; how the bar was rolled
about that line is found with the rest, so that it need not be measured.

Size letters: B bends of the bar, X figures that are sought, Q trial bars, K readings, S samples along a bar.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from armature.made.measures import Offsets, Tape
from armature.tree import BendList, Chains, Floats, bent, locate, row_norms

if TYPE_CHECKING:
    from armature.commission import Anvil

# A reading on the floor or a tape is this true, mm, standard deviation (common practice, no source).
READ = 1.0
_SAMPLES = 160
# How far the length of an arc may be out, as a share; the least bend, deg, and straight, mm, that a fit may come to.
_ARC, _LEAST_BEND, _LEAST_RUN = 0.15, 0.5, 0.1
_EAST, _CHALK = np.array([[1.0, 0.0, 0.0]]), np.array([[0.0, 1.0, 0.0]])


@dataclass(frozen=True, eq=False)
class Shape:
    """A bar as bent: `bends` of one member; `rms`, `most` mm, how far readings lie off it, NaN where none were taken;
    `worst`, which of the offsets lies furthest off, -1 for a tape."""

    bends: BendList
    rms: float
    most: float
    worst: int = -1

    @property
    def length(self) -> float:
        """Length along the bar from START to tip, mm."""
        own = self.bends
        return float(own.feeds.sum() + (own.radii * np.radians(own.bends)).sum() + own.tails.sum())


def shape_of(planned: BendList, anvil: Anvil, offsets: Offsets | None, tapes: tuple[Tape, ...]) -> Shape:
    """Return the shape of a bar planned with the given bends (one member), as offsets and tapes along it tell.

    tapes: those of lengths on the bar itself. Without readings it is the plan.
    """
    readings = [tape for tape in tapes if tape.what in ("length", "chord", "rise")]
    if offsets is None and not readings:
        return Shape(planned, np.nan, np.nan)
    from scipy.optimize import least_squares

    bar = _Bar(planned, _spreads(planned, anvil))
    misses = _Misses(bar, offsets, readings)
    start = np.zeros(bar.count + 1)
    start[-1] = misses.first_roll()
    # A handful of steps is enough; where bends meet, the last hairs would take thousands.
    found = least_squares(misses.all_at, start, jac=misses.slopes_at, method="lm", xtol=1e-6, ftol=1e-6, max_nfev=60)
    # What is left is told in mm: the part of the sum that readings make.
    left = misses.readings_at(found.x[None])[0] * READ
    worst = int(np.argmax(np.abs(left))) - len(readings)
    if offsets is not None and worst >= 0:
        worst = len(offsets.alongs) - 1 if worst == len(left) - len(readings) - 1 else worst % (len(offsets.alongs) - 1)
    fitted = bar.bends(found.x[None, :-1])
    return Shape(fitted, float(np.sqrt(np.mean(left**2))), float(np.abs(left).max()), max(worst, -1))


def _spreads(planned: BendList, anvil: Anvil) -> Floats:
    """Return how far each figure sought may be out, (X,), in its unit: feeds and tail, bends, turns but the first,
    arcs. A shop's tolerance is two standard deviations; here it is one, for what went wrong is to be found."""
    count = len(planned.bends)
    runs = np.append(planned.feeds, planned.tails)
    feeds = np.maximum(np.hypot(anvil.feed, anvil.drawn * runs), 0.5)
    bends, turns = np.full(count, max(anvil.bend, 0.5)), np.full(max(count - 1, 0), max(anvil.turn, 0.5))
    return np.concatenate([feeds, bends, turns, np.full(count, _ARC)])


@dataclass(frozen=True, eq=False)
class _Bar:
    """A bar as planned, and how far each of X figures may be out: figures are sought in that measure."""

    planned: BendList
    spreads: Floats

    @property
    def count(self) -> int:
        return len(self.spreads)

    def bends(self, figures: Floats) -> BendList:
        """Return the bends of Q bars from figures (Q, X)."""
        own, (trials, bends) = self.planned, (len(figures), len(self.planned.bends))
        off = figures * self.spreads
        # Bends of a real bar do not run into each other.
        runs = np.maximum(np.append(own.feeds, own.tails) + off[:, : bends + 1], _LEAST_RUN)
        angles = np.maximum(own.bends + off[:, bends + 1 : 2 * bends + 1], _LEAST_BEND)
        turns = np.tile(own.turns, (trials, 1))
        turns[:, 1:] += off[:, 2 * bends + 1 : 3 * bends]
        arcs = own.radii * np.radians(own.bends) * np.exp(off[:, 3 * bends : 4 * bends])
        numbers = np.tile(own.numbers, trials)
        feeds, radii = runs[:, :bends].ravel(), (arcs / np.radians(angles)).ravel()
        ends = np.cumsum(runs[:, :bends], axis=1) + np.cumsum(arcs, axis=1) - arcs
        members = np.repeat(np.arange(trials), bends)
        return BendList(members, numbers, ends.ravel(), feeds, turns.ravel(), angles.ravel(), radii, runs[:, bends])

    def chains(self, figures: Floats) -> Chains:
        count = len(figures)
        origin = np.zeros((count, 3))
        return bent(self.bends(figures), origin, np.repeat(_EAST, count, 0), np.repeat(_CHALK, count, 0))


@dataclass(frozen=True, eq=False)
class _Misses:
    """By how much trial bars miss what was read and what was planned; the last figure is the roll, radians."""

    bar: _Bar
    offsets: Offsets | None
    tapes: list[Tape]

    def all_at(self, figures: Floats) -> Floats:
        return np.asarray(self._all(figures[None])[0])

    def slopes_at(self, figures: Floats) -> Floats:
        step = 1e-6
        tried = self._all(np.concatenate([figures[None], figures + step * np.eye(len(figures))]))
        return np.asarray((tried[1:] - tried[0]).T / step)

    def _all(self, figures: Floats) -> Floats:
        return np.concatenate([self.readings_at(figures), figures[:, :-1]], axis=1)

    def readings_at(self, figures: Floats) -> Floats:
        """Return by how much (Q, K) readings are missed, in units of their own error."""
        chains = self.bar.chains(figures[:, :-1])
        local = _on_base_line(chains)
        missed = [self._of_tape(tape, chains, local)[:, None] for tape in self.tapes]
        if self.offsets is not None:
            own = self.offsets
            read = _read_at(chains, local, own.alongs[:-1])
            cosine, sine = np.cos(figures[:, -1:]), np.sin(figures[:, -1:])
            missed += [cosine * read[:, :, 1] + sine * read[:, :, 2] - own.rises[:-1]]
            missed += [cosine * read[:, :, 2] - sine * read[:, :, 1] - own.lifts[:-1]]
            missed += [local[:, -1:, 0] - own.alongs[-1]]
        return np.concatenate(missed, axis=1) / READ

    def first_roll(self) -> float:
        """Return the roll at which the planned bar comes nearest to what was read, radians."""
        if self.offsets is None:
            return 0.0
        chains = self.bar.chains(np.zeros((1, self.bar.count)))
        read = _read_at(chains, _on_base_line(chains), self.offsets.alongs[:-1])[0]
        rises, lifts = self.offsets.rises[:-1], self.offsets.lifts[:-1]
        across = float(read[:, 2] @ rises - read[:, 1] @ lifts)
        return float(np.arctan2(across, float(read[:, 1] @ rises + read[:, 2] @ lifts)))

    def _of_tape(self, tape: Tape, chains: Chains, local: Floats) -> Floats:
        if tape.what == "length":
            return np.asarray(chains.lengths - tape.distance)
        if tape.what == "chord":
            return np.asarray(local[:, -1, 0] - tape.distance)
        return np.asarray(np.hypot(local[:, :, 1], local[:, :, 2]).max(axis=1) - tape.distance)


def _stations(chains: Chains) -> Floats:
    return np.asarray(np.linspace(0.0, 1.0, _SAMPLES) * chains.lengths[:, None])


def _on_base_line(chains: Chains) -> Floats:
    """Return points along each of Q bars as they lie to its own base line: (Q, S, 3) mm along it, toward the chalk line
    and square to both."""
    stations = _stations(chains)
    rows = np.repeat(np.arange(len(chains)), _SAMPLES)
    points = locate(chains, rows, stations.ravel())[0].reshape(len(chains), _SAMPLES, 3)
    return np.asarray(np.einsum("qsk,qjk->qsj", points, _axes(points[:, -1])))


def _axes(tips: Floats) -> Floats:
    """Return the base line, and the directions in which offsets are read, of bars from the origin to tips (Q, 3):
    (Q, 3, 3)."""
    base = tips / np.maximum(row_norms(tips), 1e-9)[:, None]
    side = _CHALK - (base @ _CHALK[0])[:, None] * base
    side /= np.maximum(row_norms(side), 1e-9)[:, None]
    return np.stack([base, side, np.cross(base, side)], axis=1)


def _read_at(chains: Chains, local: Floats, alongs: Floats) -> Floats:
    """Return where Q bars pass the given places (K,) mm along their base lines: (Q, K, 3) mm, as `_on_base_line`."""
    stations, count = _stations(chains), len(alongs)
    at = np.empty((len(chains), count))
    for row in range(len(chains)):
        # A bar that doubles back is read where it first gets that far.
        at[row] = np.interp(alongs, np.maximum.accumulate(local[row, :, 0]), stations[row])
    points = locate(chains, np.repeat(np.arange(len(chains)), count), at.ravel())[0].reshape(len(chains), count, 3)
    tips = locate(chains, np.arange(len(chains)), chains.lengths)[0]
    return np.asarray(np.einsum("qsk,qjk->qsj", points, _axes(tips)))
