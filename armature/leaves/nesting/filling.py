"""Filling plates: which leaves go on which plate, one layout used as often as its leaves are wanted."""

from __future__ import annotations

import time
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import cache

import numpy as np
from numpy.typing import NDArray

from armature.edge import CommissionError
from armature.leaves.nesting.kinds import fewest_kinds
from armature.leaves.nesting.packing import Strip, available, packed, within
from armature.leaves.nesting.plates import (
    Plate,
    Rules,
    allowed_turns,
    counts_on,
    placed_shapes,
    plate_faults,
    turned_boxes,
    turned_shape,
)
from armature.leaves.nesting.pressing import Press
from armature.leaves.outline import Design, polygon
from armature.seeds import keys, uniform

Ints = NDArray[np.int64]
Size = tuple[float, float]
# Share of a plate that leaves can be hoped to cover: where the search for the right number starts.
_HOPED = 0.74
# More than any plate takes: the quick way leaves out what does not fit.
_MOST = 0.8
# Density that a minute on two cores reaches on plates of many leaves; a number of leaves beyond it is not found.
_SEEN = 0.725
_FEW = 24
_ROUND = 12.0
_WORKERS = 2
_NOTHING = (np.zeros(0, dtype=np.int64), np.zeros(0), np.zeros((0, 2)))


def filled(
    designs: Sequence[Design], counts: Ints, sizes: Sequence[Size], offcuts: Sequence[Size], rules: Rules
) -> tuple[list[Plate], str]:
    """Return plates that hold `counts` leaves of each design, and the engine: `spyrrow` or `pressing`."""
    tight = available() and rules.seconds > 0
    left = counts.copy()
    plates: list[Plate] = []
    press, clock = Press(designs, rules), _Budget(rules.seconds) if tight else None
    waiting, laid_once = list(offcuts), 0
    while left.any():
        size, once = (waiting.pop(0), True) if waiting else (_size_for(designs, left, sizes, rules), False)
        plate = _one_plate(press, left, size, clock, once)
        if len(plate) == 0:
            plate = alone(press, left, size)
        if len(plate) == 0:
            if once:
                continue
            size_text = f"{size[0]:g} x {size[1]:g} mm"
            raise CommissionError("leaves.plates.sizes", "no leaf could be laid on the plate", size_text)
        used = counts_on(plate, designs)
        laid_once += once
        times = 1 if once else max(int(np.min(left[used > 0] // used[used > 0])), 1)
        plates += [plate] * times
        left = left - used * times

    def lay(wanted: Ints, length: float, height: float) -> Plate:
        plate = press.plate(wanted, max(length, height), min(length, height), 2)
        return plate if length >= height else upright(plate)

    plates = fewest_kinds(plates, designs, counts, laid_once, lay)
    return plates, "spyrrow" if tight else "pressing"


class _Budget:
    """Seconds of search left, shared out by the leaves that a layout settles."""

    def __init__(self, seconds: float) -> None:
        self.end = time.monotonic() + seconds

    def rest(self) -> float:
        """Seconds left."""
        return max(self.end - time.monotonic(), 0.0)

    def share(self, part: float) -> float:
        """Seconds for a layout that settles `part` of the leaves still to be laid, a little more for the first."""
        return self.rest() * min(1.2 * part, 1.0)


def _one_plate(press: Press, left: Ints, size: Size, clock: _Budget | None, once: bool) -> Plate:
    """One plate from the leaves left, laid with its long side along x and turned back where it stands upright.

    The quick way serves whatever the search finds in its time: the fuller plate is kept, of equals the shorter.
    """
    length, height = max(size), min(size)
    wanted = mixed(left, _hoped(press.designs, left, length, height, _MOST))
    # Fewer lie on it than are tried: so it is run as often as those that are hoped for are left of each design.
    hoped = wanted * (_HOPED / _MOST)
    runs = int(np.min(left[wanted > 0] / hoped[wanted > 0]))
    plate = press.plate(wanted, length, height, runs)
    if clock is not None and clock.rest() >= 1.0:
        searched = _tight(press, left, length, height, clock, once)
        if not plate_faults(searched, press.designs, press.rules):
            plate = max(plate, searched, key=lambda p: (round(press.area(p), 3), -_reach(p, press.designs)))
    return plate if size[0] >= size[1] else upright(plate)


def alone(press: Press, left: Ints, size: Size) -> Plate:
    """Return the plate with one leaf in its middle, for a leaf that fills it so far that the quick way's cells find no
    room: the first of the largest that fits at some whole degree; empty where none does.
    """
    length, height = max(size), min(size)
    turns = allowed_turns(press.rules, 1.0)
    room = length - 2 * press.rules.margin, height - 2 * press.rules.margin
    for k in np.argsort(-press.areas, kind="stable").tolist():
        shape = polygon(press.designs[k].outline, 0.01)
        for turn in turns if left[k] else ():
            x0, y0, x1, y1 = turned_shape(shape, turn, np.zeros(2)).bounds
            if x1 - x0 <= room[0] and y1 - y0 <= room[1]:
                shift = np.round([[(length - x0 - x1) / 2, (height - y0 - y1) / 2]], 4)
                one = Plate(length, height, np.array([press.designs[k].number]), np.array([turn]), shift)
                return one if size[0] >= size[1] else upright(one)
    return Plate(size[0], size[1], *_NOTHING)


def _reach(plate: Plate, designs: Sequence[Design]) -> float:
    return max((s.bounds[2] for s in placed_shapes(plate, designs, 0.1)), default=0.0)


def upright(plate: Plate) -> Plate:
    """Return the plate turned a quarter to the left, its lower left corner again at the origin."""
    shifts = np.stack([plate.height - plate.shifts[:, 1], plate.shifts[:, 0]], axis=1)
    return Plate(plate.height, plate.width, plate.designs, (plate.turns + 90.0) % 360.0, shifts)


def _tight(press: Press, left: Ints, length: float, height: float, clock: _Budget, once: bool) -> Plate:
    """The fullest plate found in its share of the time, its gaps then filled with what can be pressed in."""
    count = _hoped(press.designs, left, length, height, _HOPED)
    seconds = clock.share(1.0 if _serves_all(left, count) and not once else count / int(left.sum()))
    search = _few if count <= _FEW else _many
    plate = search(press.designs, left, length, height, press.rules, seconds)
    if plate_faults(plate, press.designs, press.rules):
        return plate
    rest = left - counts_on(plate, press.designs)
    return press.filled(plate, left - rest + np.minimum(rest, 3))


def _serves_all(left: Ints, count: int) -> bool:
    """Whether one layout of that many leaves, used again and again, settles nearly all that is left."""
    return bool(np.min(left[left > 0]) >= 2 * count / np.count_nonzero(left))


def _many(designs: Sequence[Design], left: Ints, length: float, height: float, rules: Rules, seconds: float) -> Plate:
    """One long search for the number of leaves that such plates have been seen to take; the last of them may go."""
    batch = mixed(left, _hoped(designs, left, length, height, _SEEN))
    strip = packed(designs, batch, height - 2 * rules.margin, rules, max(seconds, 1.0), rules.seed, _WORKERS)
    return within(strip, designs, length, height, rules.margin)


def _few(designs: Sequence[Design], left: Ints, length: float, height: float, rules: Rules, seconds: float) -> Plate:
    """Short searches in pairs: one leaf more while all fit, else another mix of leaves; the fullest plate is kept."""
    inner = height - 2 * rules.margin
    best = Plate(length, height, *_NOTHING)
    areas = np.array([d.area for d in designs])
    count = _hoped(designs, left, length, height, _HOPED)
    rounds = int(np.clip(seconds / _ROUND, 1, 12))

    def one(number: int) -> Strip:
        batch = mixed(left, count, number)
        return packed(designs, batch, inner, rules, max(seconds / rounds, 1.0), rules.seed + number)

    for number in range(rounds):
        with ThreadPoolExecutor(_WORKERS) as pool:
            strips = list(pool.map(one, [_WORKERS * number + w for w in range(_WORKERS)]))
        plates = [within(s, designs, length, height, rules.margin) for s in strips]
        best = max([best, *plates], key=lambda p: float(np.dot(counts_on(p, designs), areas)))
        whole = max(len(p) for p in plates) == count
        if whole and count >= left.sum():
            break
        count = min(count + 1, int(left.sum())) if whole else max(len(best) + number % 2, 1)
    return best


def mixed(left: Ints, count: int, number: int = 0) -> Ints:
    """Return `count` leaves drawn from those left in proportion, by largest remainder: (D,).

    number: which of several such mixes; each gives the odd leaves to other designs.

    >>> mixed(np.array([10, 10, 20]), 4).tolist()
    [1, 1, 2]
    """
    total = int(left.sum())
    if count >= total:
        return left.copy()
    exact = left * (count / total)
    whole = np.floor(exact).astype(np.int64)
    odd = exact - whole if number == 0 else uniform(keys(number, [str(k) for k in range(len(left))], "mix"), 1)[:, 0]
    rest = np.argsort(np.where(whole < left, -odd, np.inf), kind="stable")[: count - int(whole.sum())]
    whole[rest] += 1
    return np.asarray(np.minimum(whole, left))


def _hoped(designs: Sequence[Design], left: Ints, length: float, height: float, share: float) -> int:
    mean = float(np.dot([d.area for d in designs], left) / left.sum())
    return int(min(max(np.floor(share * length * height / mean), 1), left.sum()))


def _size_for(designs: Sequence[Design], left: Ints, sizes: Sequence[Size], rules: Rules) -> Size:
    """The preferred plate that takes every design of which leaves are left; of none, the first that takes any."""
    wanted = [d for d, n in zip(designs, left, strict=True) if n]
    fits = [[_fits(d, size, rules) for d in wanted] for size in sizes] if len(sizes) > 1 else []
    for enough in (all, any):
        for size, each in zip(sizes, fits, strict=False):
            if enough(each):
                return size
    return sizes[0]


@cache
def _fits(design: Design, size: Size, rules: Rules) -> bool:
    room = sorted(v - 2 * rules.margin for v in size)
    boxes = turned_boxes(np.asarray(polygon(design.outline, 0.2).exterior.coords), allowed_turns(rules, 1.0))
    return any(min(b) <= room[0] and max(b) <= room[1] for b in boxes)
