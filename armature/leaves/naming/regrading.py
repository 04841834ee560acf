"""After the bench has graded what came off the table: spares stand in for scrap, names move, the rest is cut again."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from armature.leaves.naming.assigning import BEST, PLAIN, SCRAP, Places, can_be_stamped
from armature.leaves.naming.bench import Bench
from armature.leaves.naming.letters import letter_heights, line_lengths

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Stamps:
    """What a name needs of a leaf: panels (D, P, 2) mm of the designs, stamp heights in mm, most lines."""

    panels: Floats
    heights: Floats
    lines: int


@dataclass(frozen=True, eq=False)
class Regraded:
    """What the bench's grades change.

    leaves: (N,) row of each name's leaf now. moved: (name, from, to). swaps: new stand-ins, spare's label by leaf tag.
    again: leaves to cut again by design number. waiting: (name, leaf) that waits for its leaf to be cut again. bench:
    what is known from now on.
    """

    leaves: Ints
    moved: tuple[tuple[str, str, str], ...]
    swaps: Mapping[str, str]
    again: Mapping[int, int]
    waiting: tuple[tuple[str, str], ...]
    bench: Bench


def regraded(
    bench: Bench,
    texts: Sequence[str],
    now: Ints,
    places: Places,
    numbers: Ints,
    spares: Mapping[str, int],
    stamps: Stamps,
) -> Regraded:
    """Return what grades change: spares stand in for scrapped leaves, names leave those that none replaces.

    now: (N,) row of each name's leaf. numbers: (L,) design numbers. spares: design number by label of each spare.
    Named leaves get the spares first, the best ones first. A name stays where its leaf is good or a spare stands in; a
    name for which no other leaf is free waits for the leaf that is cut again.
    """
    named = np.zeros(len(places), dtype=bool)
    named[now] = True
    stand_ins = _stand_ins(bench, places, numbers, spares, named)
    swaps = {str(places.tags[row]): label for row, label in stand_ins.items()}
    grades = {**bench.grades, **{tag: bench.grades.get(label, PLAIN) for tag, label in swaps.items()}}
    bench = replace(bench, grades=grades, swaps={**bench.swaps, **swaps})
    usable = replace(places, grades=bench.grades_of(places.tags.tolist()))
    gone = usable.grades == SCRAP
    again = Counter(numbers[gone].tolist())
    leaves = _moved(texts, now, usable, gone, stamps)
    moves = np.flatnonzero(leaves != now).tolist()
    moved = [(texts[n], str(places.tags[now[n]]), str(places.tags[leaves[n]])) for n in moves]
    waiting = [(texts[n], str(places.tags[leaves[n]])) for n in np.flatnonzero(gone[leaves]).tolist()]
    bench = replace(bench, waiting=frozenset(tag for _, tag in waiting))
    names_held = {str(places.tags[row]): text for text, row in zip(texts, leaves.tolist(), strict=True)}
    return Regraded(
        leaves, tuple(moved), swaps, dict(sorted(again.items())), tuple(waiting), replace(bench, held=names_held)
    )


def _moved(texts: Sequence[str], now: Ints, places: Places, gone: NDArray[np.bool_], stamps: Stamps) -> Ints:
    """Where each name goes: those on leaves that are gone to the best free leaf that takes them, on the branch that
    they came from where it has one, so that families stay together."""
    homeless = np.flatnonzero(gone[now])
    leaves = now.copy()
    lengths = line_lengths([texts[n] for n in homeless.tolist()], stamps.lines)
    fits = letter_heights(lengths, stamps.panels, stamps.heights) > 0
    free = ~gone & can_be_stamped(stamps.panels)[places.designs]
    free[now] = False
    # The hardest names choose first.
    for k in np.argsort(fits.sum(axis=1), kind="stable").tolist():
        able = np.flatnonzero(free & fits[k, places.designs])
        if len(able):
            away = places.groups[able] != places.groups[now[homeless[k]]]
            pick = able[np.lexsort((able, -places.worth[able], -places.grades[able], away))[0]]
            leaves[homeless[k]] = pick
            free[pick] = False
    return leaves


def _stand_ins(
    bench: Bench, places: Places, numbers: Ints, spares: Mapping[str, int], named: NDArray[np.bool_]
) -> dict[int, str]:
    """Spare by row of the scrapped leaf that it replaces: named leaves first, best spares first, each spare once."""
    used = set(bench.swaps.values())
    usable = [s for s in spares if s not in used and bench.grades.get(s, PLAIN) > SCRAP]
    waiting: dict[int, list[str]] = {}
    for label in sorted(usable, key=lambda s: (bench.grades.get(s, PLAIN) != BEST, spares[s], len(s), s)):
        waiting.setdefault(spares[label], []).append(label)
    scrap = np.flatnonzero(places.grades == SCRAP)
    stand_ins: dict[int, str] = {}
    for row in scrap[np.argsort(~named[scrap], kind="stable")].tolist():
        if waiting.get(int(numbers[row])):
            stand_ins[row] = waiting[int(numbers[row])].pop(0)
    return stand_ins
