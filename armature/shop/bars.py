"""What to buy by size: every piece to saw, off-cuts in the rack first, and the plan of each bar.

Size letters: N pieces. Lengths and diameters are mm, masses kg. A piece is sawn to the next whole sawing step, so that
the plan on paper is the plan that was computed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np

from armature.metals import bar_masses
from armature.shop.cutting_plan import packed
from armature.shop.easing import eased
from armature.shop.quick_bars import fullest
from armature.tree import Floats, Ints, Strings


@dataclass(frozen=True, eq=False)
class Pieces:
    """N pieces to saw: tags (N,), bar diameters (N,) and walls (N,) mm, 0 for solid, lengths (N,) mm."""

    tags: Strings
    diameters: Floats
    walls: Floats
    lengths: Floats

    def __len__(self) -> int:
        return len(self.tags)

    def taken(self, rows: Ints) -> Pieces:
        """Return the pieces of the given rows."""
        return Pieces(self.tags[rows], self.diameters[rows], self.walls[rows], self.lengths[rows])


@dataclass(frozen=True)
class Offcut:
    """A length of bar in the rack, so many times."""

    diameter_mm: float
    length_mm: float
    wall_mm: float = 0.0
    count: int = 1


# What a dealer saws to length is sawn from bars as long as a mill sells them.
_MILL = 12_000.0


@dataclass(frozen=True)
class SizeOnSale:
    """How one size is sold, where it is otherwise: lengths on sale, mm, or each piece sawn to its length."""

    diameter_mm: float
    lengths_mm: tuple[float, ...]
    to_length: bool = False


@dataclass(frozen=True)
class Yard:
    """How bars are bought and sawn: lengths on sale, kerf, sawing step, least rest worth keeping, the rack; all mm.

    end_trim_mm is cut off each bar as bought; off-cuts in the rack have lost theirs. Spare bars of each size are the
    larger of `spare_share` of those planned and `spare_bars`; they come on top of the plan.
    """

    lengths_mm: tuple[float, ...]
    kerf_mm: float = 3.0
    step_mm: float = 1.0
    least_rest_mm: float = 300.0
    rack: tuple[Offcut, ...] = ()
    density_kg_m3: float = 7850.0
    end_trim_mm: float = 0.0
    spare_share: float = 0.0
    spare_bars: int = 0
    sizes: tuple[SizeOnSale, ...] = ()

    def sold(self, diameter: float) -> SizeOnSale:
        """Return how a size is sold."""
        own = next((each for each in self.sizes if abs(each.diameter_mm - diameter) < 0.05), None)
        return own or SizeOnSale(diameter, self.lengths_mm)

    def longest(self, diameter: float) -> float:
        """Return the longest piece of a size that can be had, mm."""
        own = self.sold(diameter)
        return _MILL if own.to_length else max(own.lengths_mm) - self.end_trim_mm


@dataclass(frozen=True)
class SawnBar:
    """One bar: its size, whether it is bought or from the rack, its pieces in order, and what is left of it.

    A bar without pieces is a spare. trim_mm is cut off first. `rest_mm` goes back to the rack where `keep` is
    true, else to scrap.
    """

    diameter_mm: float
    wall_mm: float
    length_mm: float
    bought: bool
    tags: tuple[str, ...]
    pieces_mm: tuple[float, ...]
    rest_mm: float
    keep: bool
    trim_mm: float = 0.0


@dataclass(frozen=True)
class SizePlan:
    """One size of bar: bars bought, the lower bound on them, the proof ("bound met", "searched" or ""), and spares.

    `bought` leaves the spares out, `mass_kg` counts them. used_kg: of what is bought, in pieces; kept_kg: rests that go
    to the rack, spares with them. length_mm is 0 where pieces are bought sawn to length.
    """

    diameter_mm: float
    wall_mm: float
    length_mm: float
    bought: int
    bound: int
    proof: str
    mass_kg: float
    spare: int = 0
    used_kg: float = 0.0
    kept_kg: float = 0.0

    @property
    def wasted_kg(self) -> float:
        """What is bought and neither forged nor worth keeping: kerfs, trims, short rests; spares and rack left out."""
        return max(self.mass_kg - self.used_kg - self.kept_kg, 0.0)


@dataclass(frozen=True)
class BarPlan:
    """All bars in order of size, the sizes, and the pieces too long for any bar (tag, length mm)."""

    bars: tuple[SawnBar, ...]
    sizes: tuple[SizePlan, ...]
    too_long: tuple[tuple[str, float], ...] = field(default=())


def bar_plan(pieces: Pieces, yard: Yard) -> BarPlan:
    """Return the plan for all pieces; those longer than the longest bar are left out and listed in `too_long`.

    >>> three = Pieces(np.array(["A", "B", "C"]), np.full(3, 12.0), np.zeros(3), np.array([3000.0, 2900.0, 2995.0]))
    >>> plan = bar_plan(three, Yard((6000.0,)))
    >>> [bar.tags for bar in plan.bars], plan.sizes[0].proof
    ([('A', 'B'), ('C',)], 'bound met')
    """
    longest = np.array([yard.longest(d) for d in pieces.diameters.tolist()])
    sawn = np.ceil(np.round(pieces.lengths / yard.step_mm, 6)) * yard.step_mm
    long = np.flatnonzero(sawn > longest + 1e-9)
    sizes = sorted({(float(d), float(w)) for d, w in zip(pieces.diameters, pieces.walls, strict=True)})
    bars: list[SawnBar] = []
    plans: list[SizePlan] = []
    for diameter, wall in sizes:
        sold = yard.sold(diameter)
        rows = np.flatnonzero((pieces.diameters == diameter) & (pieces.walls == wall) & (sawn <= longest + 1e-9))
        own = Pieces(pieces.tags[rows], pieces.diameters[rows], pieces.walls[rows], sawn[rows])
        from_rack, left = _racked(own, yard, diameter, wall)
        if sold.to_length:
            bought, plan = _to_length(own.taken(left), yard, diameter, wall)
        else:
            bought, plan = _bought(own.taken(left), replace(yard, lengths_mm=sold.lengths_mm), diameter, wall)
        spares = _spares(yard, plan)
        bars += from_rack + bought + spares
        plans.append(_weighed(plan, [*bought, *spares], yard))
    return BarPlan(tuple(bars), tuple(plans), tuple((str(pieces.tags[n]), float(sawn[n])) for n in long))


def _racked(own: Pieces, yard: Yard, diameter: float, wall: float) -> tuple[list[SawnBar], Ints]:
    """Fill the off-cuts of this size, shortest first, each as full as can be; return also the rows left."""
    left = np.lexsort((np.arange(len(own)), -own.lengths))
    used: list[SawnBar] = []
    cuts = [cut for cut in yard.rack if abs(cut.diameter_mm - diameter) < 0.05 and cut.wall_mm == wall]
    for cut in sorted(cuts, key=lambda cut: cut.length_mm):
        for _ in range(cut.count):
            chosen = fullest(_steps(own.lengths[left], yard), _capacity(cut.length_mm, yard))
            if not chosen:
                # What does not fit one does not fit the others of its length.
                break
            used.append(_sawn(own.taken(left[chosen]), yard, cut.length_mm, bought=False))
            left = np.delete(left, chosen)
    return used, np.sort(left)


def _bought(own: Pieces, yard: Yard, diameter: float, wall: float) -> tuple[list[SawnBar], SizePlan]:
    """Buy the one length of bar that makes the least steel, the longer one where two tie."""
    best: tuple[float, float, list[SawnBar], int, str] | None = None
    needed, steps = own.lengths.max(initial=0.0) + yard.end_trim_mm, _steps(own.lengths, yard)
    for length in (each for each in sorted(yard.lengths_mm, reverse=True) if each >= needed - 1e-9):
        capacity = _capacity(length - yard.end_trim_mm, yard)
        packing = packed(steps, capacity)
        spread = eased(packing.bars, steps, capacity, _step_count(_SLACK, yard))
        bars = [_sawn(own.taken(np.array(bar)), yard, length, bought=True) for bar in spread]
        if best is None or len(bars) * length < best[0] - 1e-6:
            best = (len(bars) * length, length, bars, packing.bound, packing.proof)
    assert best is not None  # the longest bar fits every piece that was not set aside
    total, length, bars, bound, proof = best
    spare = max(math.ceil(round(yard.spare_share * len(bars), 9)), yard.spare_bars)
    mass = float(bar_masses(diameter, yard.density_kg_m3, wall)) * (total + spare * length) / 1000.0
    return bars, SizePlan(diameter, wall, length, len(bars), bound, proof, mass, spare)


def _to_length(own: Pieces, yard: Yard, diameter: float, wall: float) -> tuple[list[SawnBar], SizePlan]:
    """Buy each piece sawn to its length: nothing is left."""
    each = zip(own.tags.tolist(), own.lengths.tolist(), strict=True)
    bars = [SawnBar(diameter, wall, length, True, (tag,), (length,), 0.0, False) for tag, length in each]
    mass = float(bar_masses(diameter, yard.density_kg_m3, wall)) * float(own.lengths.sum()) / 1000.0
    return bars, SizePlan(diameter, wall, 0.0, len(bars), len(bars), "bound met", mass)


def _weighed(plan: SizePlan, bars: list[SawnBar], yard: Yard) -> SizePlan:
    per_mm = float(bar_masses(plan.diameter_mm, yard.density_kg_m3, plan.wall_mm)) / 1000.0
    used = sum(sum(bar.pieces_mm) for bar in bars) * per_mm
    return replace(plan, used_kg=used, kept_kg=sum(bar.rest_mm for bar in bars if bar.keep) * per_mm)


def _spares(yard: Yard, plan: SizePlan) -> list[SawnBar]:
    """Return the spare bars of a size: nothing is sawn from them, so that nothing is trimmed either."""
    bar = SawnBar(plan.diameter_mm, plan.wall_mm, plan.length_mm, True, (), (), plan.length_mm, True)
    return [bar] * plan.spare


def _sawn(own: Pieces, yard: Yard, length: float, bought: bool) -> SawnBar:
    trim = yard.end_trim_mm if bought else 0.0
    rest = length - trim - float(own.lengths.sum()) - yard.kerf_mm * len(own)
    return SawnBar(
        float(own.diameters[0]),
        float(own.walls[0]),
        length,
        bought,
        tuple(own.tags.tolist()),
        tuple(own.lengths.tolist()),
        max(rest, 0.0),
        rest >= yard.least_rest_mm,
        trim,
    )


# Slack aimed at on every bar, where it costs no bar: two inches make up for a cut gone wrong by as much.
_SLACK = 50.8
# Sawing steps are split in eight so that a kerf of any width costs under an eighth of a step in rounding.
_FINE = 8


def _steps(lengths: Floats, yard: Yard) -> Ints:
    fine = yard.step_mm / _FINE
    kerf = math.ceil(round(yard.kerf_mm / fine, 6))
    return np.asarray(np.round(lengths / fine), dtype=np.int64) + kerf


def _step_count(length: float, yard: Yard) -> int:
    return math.floor(round(length / (yard.step_mm / _FINE), 6))


def _capacity(length: float, yard: Yard) -> int:
    fine = yard.step_mm / _FINE
    return math.floor(round(length / fine, 6)) + math.ceil(round(yard.kerf_mm / fine, 6))
