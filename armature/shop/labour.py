"""Hours by operation from an editable table of rates, and their spread over crew and weeks.

Size letters: M members. Lengths are mm, masses kg, hours plain numbers.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, replace
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from armature.edge import CommissionError, FileError, read_bytes
from armature.tree import Floats, Tree

if TYPE_CHECKING:
    from armature.commission import Crew

_LARGEST = 50_000  # bytes: some twenty operations, and TOML is read slowly where it is made to be
OPERATIONS = {
    "cut": "saw the bars",
    "taper": "draw the tapers",
    "mark": "punch the marks",
    "bend": "bend",
    "scarf": "scarf and forge-weld",
    "saddle": "grind the saddles",
    "fit": "fit and tack",
    "weld": "weld out",
    "join": "collar and rivet",
    "jig": "set out the grid, make jigs",
    "plate": "cut, drill and weld the base plate",
    "loops": "make and tack the loops",
    "clean": "clean",
    "sleeve": "make the sleeve joints",
    "spigot": "make the spigot joints",
    "flange": "make the flange joints",
    "trial": "trial assembly, match marks, take down",
    "finish": "paint, coat by coat",
    "pack": "cradle, pack and load",
    "scaffold": "weld on scaffold, over the shop's hours",
    "erect": "erect the sections",
    "cut_leaves": "cut the leaves",
    "shape_leaves": "shape the leaves",
    "stamp": "stamp the names",
    "hang": "hang the leaves",
}
# Operations whose hours can be told member by member.
BY_MEMBER = ("cut", "taper", "mark", "bend", "scarf", "saddle", "fit", "weld", "join", "clean", "finish")
_KEYS = ("each", "per_m", "per_m2", "per_kg", "size")
_SPLICES = ("sleeve", "spigot", "flange")
_BAR = 12.0
# A run of weld is what a fillet with a leg of 6 mm lays down.
RUN_MM2 = 18.0


@dataclass(frozen=True)
class Rate:
    """Hours of one operation: a piece, a metre, a square metre, a kilogram; times the bar to the power `size`."""

    each: float = 0.0
    per_m: float = 0.0
    per_m2: float = 0.0
    per_kg: float = 0.0
    size: float = 0.0

    def hours(self, count: Floats, metres: Floats, areas: Floats, masses: Floats, diameters: Floats) -> Floats:
        """Return hours for each of the pieces described; all of one shape."""
        plain = self.each * count + self.per_m * metres + self.per_m2 * areas + self.per_kg * masses
        return np.asarray(plain * (diameters / _BAR) ** self.size)


@dataclass(frozen=True)
class LeafWork:
    """What leaves ask of the cutting table: sheet to buy in kg, blanks with spares, metres of cut, pierces."""

    sheet_kg: float
    blanks: int
    cut_m: float
    pierces: int


@dataclass(frozen=True)
class Work:
    """One operation: what is counted, how many, and the hours."""

    operation: str
    count: float
    hours: float


@dataclass(frozen=True, eq=False)
class Labour:
    """The work, in the order in which it is done; total hours with what is spared for trouble; weeks by operation.

    members: (M,) hours of each member by operation, of those that are done on members.
    """

    works: tuple[Work, ...]
    hours: float
    weeks: float
    spans: tuple[tuple[str, float, float], ...]
    members: dict[str, Floats]


@dataclass(frozen=True, eq=False)
class Counts:
    """What the members (M,) and the rest of the job ask for.

    saw_cuts of bars of sawn_mm; fitted: pieces held and tacked; saddles ground, bevels of grooves among them; runs_mm
    of weld, RUN_MM2 thick; joined: collars and rivets. splices_mm: the bar at each sawn joint between sections;
    splices: how each is made, "sleeve", "spigot" or "flange". plate_holes, plate_kg: of the base plate. coats: of
    paint, on the whole skin. site_welds: members welded on site. drawn_down: (M,) bars drawn down all along before they
    are tapered. made: (M,) bars that exist, of which nothing is forged.
    """

    saw_cuts: Floats
    sawn_mm: Floats
    bends: Floats
    marks: Floats
    scarfs: Floats
    saddles: Floats
    fitted: Floats
    welded: Floats
    runs_mm: Floats
    joined: Floats
    masses: Floats
    splices_mm: Floats
    splices: tuple[str, ...] = ()
    sections: int = 1
    leaves: int = 0
    letters: int = 0
    plate_holes: int = 0
    plate_kg: float = 0.0
    coats: int = 1
    site_welds: int = 0
    leaf_work: LeafWork | None = None
    drawn_down: NDArray[np.bool_] | None = None
    made: NDArray[np.bool_] | None = None

    def without(self, made: NDArray[np.bool_]) -> Counts:
        """Return the counts without the forging of members (M,) that exist: what is sawn, drawn, marked and bent."""
        left = np.where(made, 0.0, 1.0)
        down = None if self.drawn_down is None else self.drawn_down & ~made
        forging = {name: getattr(self, name) * left for name in ("saw_cuts", "bends", "marks", "scarfs")}
        return replace(self, **forging, drawn_down=down, made=made)


def read_rates(path: Path | None = None) -> dict[str, Rate]:
    """Return the rates of a file, or the usual ones; every operation has to be in it.

    Raises FileError for a file that cannot be read, CommissionError for a missing operation, an unknown key or a value
    that is no number.
    """
    where = "armature/data/rates.toml" if path is None else str(path)
    try:
        if path is None:
            text = (files("armature") / "data" / "rates.toml").read_text(encoding="utf-8")
        else:
            text = read_bytes(path, _LARGEST, "table of rates").decode("utf-8-sig")
        table = tomllib.loads(text)
    except UnicodeDecodeError:
        raise FileError(where, "cannot be read: is not text in UTF-8") from None
    except (ValueError, RecursionError):
        raise CommissionError(where, "is no TOML table of rates") from None
    missing = [operation for operation in OPERATIONS if operation not in table]
    if missing:
        raise CommissionError(
            where, f"lacks the rate of {missing[0]!r}: add a table [{missing[0]}] with each, per_m, …"
        )
    return {operation: _rate(where, operation, table[operation]) for operation in OPERATIONS}


def labour(tree: Tree, counts: Counts, rates: dict[str, Rate], crew: Crew) -> Labour:
    """Return hours by operation, and when each is done: one after the other, the whole crew at it."""
    split = _hours(tree, counts, rates)
    hours = {name: float(np.sum(value)) for name, value in split.items()}
    members = {name: value for name, value in split.items() if name in BY_MEMBER}
    quantities = _quantities(tree, counts)
    works = tuple(Work(name, quantities[name], hours[name]) for name in OPERATIONS if quantities[name] > 0)
    total = sum(work.hours for work in works) * (1.0 + crew.spare)
    a_week = crew.people * crew.hours_a_week
    spans, at = [], 0.0
    for work in works:
        spans.append((work.operation, at, at + work.hours * (1.0 + crew.spare) / a_week))
        at = spans[-1][2]
    return Labour(works, total, total / a_week, tuple(spans), members)


def _hours(tree: Tree, counts: Counts, rates: dict[str, Rate]) -> dict[str, Floats]:
    d, none, one = tree.start_diameters, np.zeros(len(tree)), np.ones(len(tree))
    middle = (tree.start_diameters + tree.end_diameters) / 2.0
    skin = np.pi * middle * tree.lengths * 1e-6
    tapers = _tapering(tree, counts).astype(np.float64)
    falling = np.where(tree.tapers.nexts < tree.tapers.diameters, tree.tapers.stops(tree.lengths), 0.0)
    drawn = np.where(falling > 0.0, falling - tree.tapers.stations, 0.0)
    tapered = np.bincount(tree.tapers.members, drawn, minlength=len(tree)) * tapers / 1000.0
    if counts.drawn_down is not None:
        tapered = np.where(counts.drawn_down, tree.lengths / 1000.0, tapered)

    def of(name: str, count: Floats, metres: Floats = none, areas: Floats = none, size: Floats = d) -> Floats:
        return rates[name].hours(count, metres, areas, counts.masses, size)

    def plain(name: str, count: int, metres: float = 0.0, mass: float = 0.0) -> Floats:
        single = np.array([float(count)])
        return rates[name].hours(single, np.array([metres]), 0.0 * single, np.array([mass]), np.full(1, _BAR))

    blanks = _blanks(counts)

    def spliced(name: str) -> Floats:
        bars = counts.splices_mm[[kind == name for kind in counts.splices]]
        nothing = np.zeros(len(bars))
        return rates[name].hours(np.ones(len(bars)), nothing, nothing, nothing, bars)

    return {
        "cut": of("cut", counts.saw_cuts, size=counts.sawn_mm),
        "taper": of("taper", tapers, tapered),
        "mark": of("mark", counts.marks, size=np.full(len(tree), _BAR)),
        "bend": of("bend", counts.bends, size=middle),
        "scarf": of("scarf", counts.scarfs),
        "saddle": of("saddle", counts.saddles),
        "fit": of("fit", counts.fitted),
        "weld": of("weld", counts.welded, counts.runs_mm / 1000.0),
        "join": of("join", counts.joined),
        "jig": plain("jig", counts.sections),
        "plate": plain("plate", counts.plate_holes, mass=counts.plate_kg),
        "loops": plain("loops", counts.leaves),
        "clean": of("clean", one, areas=skin, size=np.full(len(tree), _BAR)),
        "trial": plain("trial", counts.sections - 1),
        "finish": of("finish", one * counts.coats, areas=skin * counts.coats, size=np.full(len(tree), _BAR)),
        "pack": plain("pack", counts.sections, mass=float(counts.masses.sum()) + counts.plate_kg),
        "scaffold": plain("scaffold", counts.site_welds),
        **{kind: spliced(kind) for kind in _SPLICES},
        "erect": plain("erect", counts.sections),
        "cut_leaves": plain("cut_leaves", blanks.pierces, blanks.cut_m),
        "shape_leaves": plain("shape_leaves", counts.leaves),
        "stamp": plain("stamp", counts.letters),
        "hang": plain("hang", counts.leaves),
    }


def _tapering(tree: Tree, counts: Counts) -> NDArray[np.bool_]:
    """Return the bars that are drawn at all: (M,)."""
    tapers = tree.end_diameters < tree.start_diameters - 1e-6
    drawn = tapers if counts.drawn_down is None else tapers | counts.drawn_down
    return np.asarray(drawn if counts.made is None else drawn & ~counts.made)


def _quantities(tree: Tree, counts: Counts) -> dict[str, float]:
    tapers = int(_tapering(tree, counts).sum())
    return {
        "cut": float(counts.saw_cuts.sum()),
        "taper": float(tapers),
        "mark": float(counts.marks.sum()),
        "bend": float(counts.bends.sum()),
        "scarf": float(counts.scarfs.sum()),
        "saddle": float(counts.saddles.sum()),
        "fit": float(counts.fitted.sum()),
        "weld": float(counts.welded.sum()),
        "join": float(counts.joined.sum()),
        "jig": float(counts.sections),
        "plate": float(counts.plate_holes),
        "loops": float(counts.leaves),
        "clean": float(len(tree)),
        "trial": float(counts.sections - 1),
        "finish": float(len(tree) * counts.coats),
        "pack": float(counts.sections),
        "scaffold": float(counts.site_welds),
        **{kind: float(counts.splices.count(kind)) for kind in _SPLICES},
        "erect": float(counts.sections),
        "cut_leaves": float(_blanks(counts).blanks),
        "shape_leaves": float(counts.leaves),
        "stamp": float(counts.letters),
        "hang": float(counts.leaves),
    }


def _blanks(counts: Counts) -> LeafWork:
    """What is cut of leaves; without plates a blank and two pierces for each, lengths unknown."""
    return counts.leaf_work or LeafWork(0.0, counts.leaves, 0.0, 2 * counts.leaves)


def _rate(where: str, operation: str, given: object) -> Rate:
    if not isinstance(given, dict):
        raise CommissionError(f"{where}: {operation}", f"must be a table with some of {', '.join(_KEYS)}", given)
    for key, value in given.items():
        if key not in _KEYS:
            raise CommissionError(f"{where}: {operation}.{key}", f"is unknown; known are {', '.join(_KEYS)}")
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not 0.0 <= value < 1e6:
            raise CommissionError(f"{where}: {operation}.{key}", "must be a number of at least 0", value)
    return Rate(**{key: float(value) for key, value in given.items()})
