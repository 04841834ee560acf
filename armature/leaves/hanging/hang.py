"""Hanging: eyes in the leaves, and hang points moved and designs exchanged where leaves would strike."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from armature.edge import CommissionError
from armature.leaves.hanging.facing import leaf_frames
from armature.leaves.hanging.loops import Loop, Room
from armature.leaves.hanging.meeting import Bools, Floats, Ints
from armature.leaves.hanging.moving import settled
from armature.leaves.hanging.swing import BODY, strike_shares
from armature.leaves.outline import Design
from armature.tree import Leaves, Tree

__all__ = ["Hung", "Loop", "hang_leaves", "leaf_frames"]


@dataclass(frozen=True, eq=False)
class Hung:
    """The tree with its leaves where they hang, and each leaf's figures.

    tree: hang points moved. eyes: (L, 3) mm, middle of each eye at rest. masses: (L,) kg. areas: (L,) mm2, one face.
    shares: (L,) share of the swing in which a leaf strikes. moved: (L,) mm along the twig. loop_kg: of each loop.
    """

    tree: Tree
    eyes: Floats
    masses: Floats
    areas: Floats
    shares: Floats
    moved: Floats
    loop_kg: float

    @property
    def loads(self) -> Floats:
        """What each hang point carries, leaf and loop: (L,) kg."""
        return self.masses + self.loop_kg


def hang_leaves(
    tree: Tree,
    designs: Sequence[Design],
    loop: Loop,
    mass_kg_m2: float,
    swing_deg: float,
    strike: float,
    spacing: float,
    move: bool = True,
    locked: Bools | None = None,
) -> Hung:
    """Return the leaves of a tree hung from their loops.

    mass_kg_m2: of the sheet. swing_deg: angle to which leaves are let swing. strike: share of a leaf's swing in which
    it may meet another leaf or steel. Leaves beyond it, and those that strike them, are moved along their twig, at
    least `spacing` mm from the next, and exchange designs with leaves that have room; as many of each design stay.
    What no place and no design serves stays beyond its share, and is told by `shares`. move: whether leaves may move
    at all. locked: (L,) leaves that keep their design; where not given, none does, and leaves that find no room may
    also go to other twigs, so that tags are told anew: twig, and number toward its tip.
    """
    table = {d.number: row for row, d in enumerate(designs)}
    missing = sorted({int(n) for n in tree.leaves.designs} - set(table))
    if missing:
        raise CommissionError("leaves.designs", f"every leaf needs a design; {len(designs)} are drawn", missing[0])
    sizes = np.array([(d.length, BODY * d.blade[1]) for d in designs]).reshape(-1, 2)
    room = Room(tree, loop, sizes, swing_deg)
    leaves = tree.leaves
    kinds = np.array([table[int(n)] for n in leaves.designs], dtype=np.int64)
    stations = leaves.stations
    if move and len(leaves):
        still = np.zeros(len(leaves), dtype=bool) if locked is None else locked
        twigs, stations, kinds = settled(room, leaves, kinds, strike, spacing, still, transfer=locked is None)
        leaves, stations, kinds = _on_twigs(tree, leaves, twigs, stations, kinds)
        # Rounded as a tree is, and never past the tip.
        stations = np.asarray(np.round(np.minimum(stations, tree.lengths[leaves.twigs] - 1e-6), 7), dtype=np.float64)
        stations, kinds = _in_order(leaves, stations, kinds, still)
    resting = room.rods(leaves.twigs, stations, kinds)
    shares = strike_shares(resting, np.arange(len(leaves)), resting, room.steel, swing_deg)
    areas = np.array([d.area for d in designs])[kinds]
    numbers = np.array([d.number for d in designs], dtype=np.int64)[kinds]
    hung = tree.hung(replace(leaves, stations=stations, designs=numbers))
    return Hung(hung, resting.eyes, areas * 1e-6 * mass_kg_m2, areas, shares, stations - leaves.stations, loop.mass_kg)


def _on_twigs(tree: Tree, leaves: Leaves, twigs: Ints, stations: Floats, kinds: Ints) -> tuple[Leaves, Floats, Ints]:
    """Leaves, stations and kinds with some of the leaves gone to other twigs: tags told anew, twig by twig toward the
    tip; all as it was where none went. A leaf that went counts as grown where it came to hang."""
    if (twigs == leaves.twigs).all():
        return leaves, stations, kinds
    grown = np.where(twigs == leaves.twigs, leaves.stations, stations)
    order = np.lexsort((stations, twigs))
    twigs, stations = twigs[order], stations[order]
    first = np.searchsorted(twigs, twigs)
    numbers = np.arange(len(twigs)) - first + 1
    tags = np.array([f"{tree.tags[t]}-{n}" for t, n in zip(twigs.tolist(), numbers.tolist(), strict=True)])
    moved = Leaves(tags, twigs, grown[order], leaves.designs[order], leaves.names[order])
    return moved, stations, kinds[order]


def _in_order(leaves: Leaves, stations: Floats, kinds: Ints, locked: Bools) -> tuple[Floats, Ints]:
    """Stations and kinds with the leaves of a twig numbered toward its tip again, where none of them is locked."""
    order = np.lexsort((stations, leaves.twigs))
    rows = np.lexsort((np.arange(len(leaves)), leaves.twigs))
    loose = ~np.isin(leaves.twigs[rows], leaves.twigs[locked])
    stations, kinds = stations.copy(), kinds.copy()
    stations[rows[loose]], kinds[rows[loose]] = stations[order[loose]], kinds[order[loose]]
    return stations, kinds
