"""What the bench has said so far: grades and piles, what is stamped, what has happened to names."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from armature.commission import Commission
from armature.leaves.naming.assigning import PLAIN, SCRAP
from armature.leaves.naming.grades import read_grades, read_stamped
from armature.leaves.naming.names import NameList
from armature.leaves.naming.piles import Pile
from armature.leaves.naming.record import Event, spoiled, struck_leaves
from armature.leaves.naming.signing import Signed


@dataclass(frozen=True)
class Bench:
    """What the bench has said so far.

    grades: 0 scrap, 1 wild, 2 plain, 3 best, by leaf tag or spare's label. stamped: name by tag, for leaves struck
    already.
    held: name by tag as last assigned; these stay where they can. swaps: label of the spare that stands in, by tag.
    waiting: tags of scrapped leaves whose names wait for them to be cut again. designs: design number by tag, as the
    leaves were last cut. piles: cuts counted by design and grade. record: what has happened to names, in order.
    signed: names that the office has signed.
    """

    grades: Mapping[str, int] = field(default_factory=dict)
    stamped: Mapping[str, str] = field(default_factory=dict)
    held: Mapping[str, str] = field(default_factory=dict)
    swaps: Mapping[str, str] = field(default_factory=dict)
    waiting: frozenset[str] = frozenset()
    designs: Mapping[str, int] = field(default_factory=dict)
    piles: Mapping[int, Pile] = field(default_factory=dict)
    record: tuple[Event, ...] = ()
    signed: tuple[Signed, ...] = ()

    def grades_of(self, tags: Iterable[str]) -> NDArray[np.int64]:
        """Return the grade of each leaf (L,); leaves not graded yet count as plain."""
        return np.array([self.grades.get(str(tag), PLAIN) for tag in tags], dtype=np.int64)

    def kept(self) -> list[tuple[str, str]]:
        """Return the names that stay as (tag, name): stamped ones first, then assigned ones.

        A scrapped leaf keeps no name, stamped or not, unless the name waits for it to be cut again.
        """
        struck = {tag: name for tag, name in self.struck().items() if self._good(tag)}
        staying = {t: n for t, n in self.held.items() if t not in struck and (self._good(t) or t in self.waiting)}
        return [*sorted(struck.items()), *sorted(staying.items())]

    def struck(self) -> dict[str, str]:
        """Return the names by tag of leaves that are struck: those of the commission's file, and of the record."""
        return {**self.stamped, **struck_leaves(self.record)}

    def heaps(self) -> dict[int, Pile]:
        """Return the piles without cuts that blows have spoiled since."""
        heaps = dict(self.piles)
        for (design, grade), count in sorted(spoiled(self.record).items()):
            if design in heaps:
                heaps[design] = heaps[design].less(grade, count)
        return heaps

    def cut(self) -> dict[str, int]:
        """Return the design number by tag of leaves that must keep theirs: graded, named, stamped or replaced."""
        fixed = {*self.grades, *self.struck(), *self.held, *self.swaps}
        return {tag: number for tag, number in self.designs.items() if tag in fixed}

    def _good(self, tag: str) -> bool:
        return self.grades.get(tag, PLAIN) > SCRAP


def read_bench(
    commission: Commission, names: NameList | None, earlier: Bench | None = None, tags: Sequence[str] = ()
) -> Bench:
    """Return the grades and stamped leaves that the commission names, over those of an earlier run.

    tags: of the leaves that hang, where they are known: then every row must speak of one of them, or of a spare.
    """
    lettering = commission.leaves.lettering
    bench = earlier or Bench()
    if lettering.grades:
        bench = replace(bench, grades={**bench.grades, **read_grades(commission.file(lettering.grades), tags)})
    if lettering.stamped:
        stamped = read_stamped(commission.file(lettering.stamped), names.texts if names else (), tags)
        bench = replace(bench, stamped={**bench.stamped, **stamped})
    return bench
