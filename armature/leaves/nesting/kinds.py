"""Fewest kinds of plate: one drawing run many times, so that the owner of the table changes drawings seldom.

Free layouts come first and say how much sheet is needed. Then fewer kinds are sought that give at least the leaves
wanted from no more than a hundredth more sheet: leaves beyond the count are more spares. A kind that would finish what
the most-used ones leave over is pressed for the purpose; which kinds to run, and how often, is an integer programme
(HiGHS through scipy), bounded by steps and not by the clock, so that it is the same on every machine.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from armature.leaves.nesting.plates import Plate, counts_on, placed_shapes
from armature.leaves.outline import Design

Ints = NDArray[np.int64]
Laying = Callable[[Ints, float, float], Plate]
# Share of sheet that fewer drawings may cost over free layouts.
MORE_SHEET = 0.01
# Drawings laid for the purpose at most, and steps of the search.
_PRESSED, _PAIRED, _NODES = 4, 5, 400
# A plate filled to less than this of its length leaves an off-cut.
_OFFCUT = 0.85


def kinds_of(plates: Sequence[Plate]) -> list[tuple[Plate, int]]:
    """Return each kind of plate once, in order, with how often it is run."""
    runs: dict[int, tuple[Plate, int]] = {}
    for plate in plates:
        runs[id(plate)] = (plate, runs.get(id(plate), (plate, 0))[1] + 1)
    return list(runs.values())


def fewest_kinds(
    plates: Sequence[Plate], designs: Sequence[Design], counts: Ints, once: int, lay: Laying
) -> list[Plate]:
    """Return plates of as few kinds as give `counts` (D,) leaves of each design from at most 1 % more sheet.

    once: how many of the first plates are off-cuts, which stay as they are. lay: lays leaves wanted (D,) on a plate of
    a length and a height, as many of them as it takes.
    """
    fixed, free = list(plates[:once]), list(plates[once:])
    kinds = [plate for plate, _ in kinds_of(free)]
    left = np.maximum(counts - sum((counts_on(p, designs) for p in fixed), np.zeros(len(designs), dtype=np.int64)), 0)
    if len(kinds) < 2 or not left.any():
        return list(plates)
    area = sum(n * sheet_used(p, designs) for p, n in kinds_of(free)) * (1.0 + MORE_SHEET)
    runs = _fewest(kinds, designs, left, area)
    size = kinds[0].width, kinds[0].height
    if all((p.width, p.height) == size for p in kinds):
        most = int(np.floor(area / (size[0] * size[1]) + 1e-9))
        for _ in range(_PRESSED):
            if np.count_nonzero(runs) <= 2:
                break
            wanted = _finishing(kinds, designs, left, most)
            if wanted is None:
                break
            kinds.append(lay(wanted, *size))
            runs = np.append(runs, 0)
            better = _fewest(kinds, designs, left, area)
            if np.count_nonzero(better) < np.count_nonzero(runs):
                runs = better
    order = np.lexsort((np.arange(len(runs)), -runs))
    return [*fixed, *(kinds[k] for k in order.tolist() for _ in range(int(runs[k])))]


def _fewest(kinds: Sequence[Plate], designs: Sequence[Design], left: Ints, area: float) -> Ints:
    """How often each kind is run (K,): fewest kinds, then least sheet."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    count = len(kinds)
    on = np.stack([counts_on(p, designs) for p in kinds], axis=1).astype(float)
    sheets = np.array([sheet_used(p, designs) for p in kinds])
    most = np.floor(area / sheets + 1e-9)
    none = np.zeros((len(designs), count))
    rules = [
        LinearConstraint(np.hstack([on, none]), lb=left.astype(float)),
        LinearConstraint(np.hstack([sheets, np.zeros(count)])[None], ub=area * (1 + 1e-12)),
        LinearConstraint(np.hstack([np.eye(count), -np.diag(most)]), ub=0.0),
    ]
    price = np.concatenate([0.5 * sheets / area, np.ones(count)])
    bounds = Bounds(0.0, np.concatenate([most, np.ones(count)]))
    solved = milp(
        price,
        integrality=np.ones(2 * count, dtype=np.int64),
        bounds=bounds,
        constraints=rules,
        options={"node_limit": _NODES},
    )
    if solved.x is None:
        raise RuntimeError(f"no way to run the kinds of plate was found: {solved.message}")
    return np.asarray(np.round(solved.x[:count]), dtype=np.int64)


def _finishing(kinds: Sequence[Plate], designs: Sequence[Design], left: Ints, most: int) -> Ints | None:
    """The leaves (D,) of a kind that, run on what one or two others leave of `most` plates, would finish the job; None
    where each such kind would have to be fuller than any seen."""
    on = [counts_on(p, designs) for p in kinds]
    areas = np.array([d.area for d in designs])
    full = max(float(one @ areas) for one in on)
    best: tuple[float, Ints] | None = None
    firsts = [(a, a) for a in range(len(on))]
    for a, b in [*firsts, *combinations(range(min(len(on), _PAIRED)), 2)]:
        n1, n2 = np.meshgrid(np.arange(1, most), np.arange(1 if a != b else 0, most if a != b else 1), indexing="ij")
        rest = most - n1 - n2
        # A kind run fewer times than twice saves no drawing.
        n1, n2, rest = (n[rest >= 2] for n in (n1, n2, rest))
        short = np.maximum(left - n1[:, None] * on[a] - n2[:, None] * on[b], 0)
        wanted = -(-short // rest[:, None])
        need = np.where(wanted.any(axis=1), wanted @ areas, np.inf)
        if len(need) and (k := int(np.argmin(np.round(need, 3)))) >= 0:
            # One drawing more must be worth a quarter of a plate.
            dear = float(need[k]) + (0.25 * full if a != b else 0.0)
            if need[k] <= full and (best is None or dear < best[0]):
                best = dear, np.asarray(wanted[k])
    return None if best is None else best[1]


def sheet_used(plate: Plate, designs: Sequence[Design]) -> float:
    """Return the sheet that a plate takes, mm2: less than the whole where its leaves leave an off-cut worth keeping."""
    if len(plate) == 0:
        return 0.0
    bounds = np.array([shape.bounds for shape in placed_shapes(plate, designs, 0.5)])
    share = min(bounds[:, 2].max() / plate.width, bounds[:, 3].max() / plate.height)
    return plate.width * plate.height * (float(share) if share < _OFFCUT else 1.0)
