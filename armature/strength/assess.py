"""From a tree and its commission to an assessment: one pass through loads, forces, checks, movement and years."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from armature.commission import Commission
from armature.strength.actions import answered, basic_loads, winds_of
from armature.strength.base import BaseForces, base_forces
from armature.strength.combinations import Combination, combinations, combined, pull_factors
from armature.strength.conditions import Conditions, conditions
from armature.strength.contact import LoopWear, loop_wear, wear_life
from armature.strength.cross_sections import CrossSections, cross_sections, member_worst
from armature.strength.dynamics import Gusts, lumped
from armature.strength.elastic import Elastic, nothing_strained
from armature.strength.extremes import Pulled, handled, pulled
from armature.strength.fatigue import STREAMING, Fatigue
from armature.strength.forces import Forces, Loads, forces, movement
from armature.strength.frame import Frame, frame
from armature.strength.lifetime import Lifetime, lifetime
from armature.strength.loads import Foliage, masses
from armature.strength.modes import Modes, modes
from armature.strength.people import Rocked, rocked
from armature.strength.quakes import quake_loads
from armature.strength.resistance import Resistance, use
from armature.strength.rules import resistance
from armature.strength.second_order import LIMIT, SecondOrder, second_order
from armature.strength.service import Service, service
from armature.strength.stiffness import Stiffness, stiffness
from armature.strength.sways import Sways, sways
from armature.strength.ties import TieBars, tie_bars, tie_places, tied
from armature.strength.weariness import weariness
from armature.strength.welds import Welds, welds
from armature.strength.worst import CaseSet, Worst, nothing_yet
from armature.tree import Floats, Ints, Tree, joints

GONE = 1e3  # the ratio of a bar that is wasted through: sizing has to start somewhere
LOOP_KG = 0.005  # a ring of 3 mm wire, 25 mm across


@dataclass(frozen=True, eq=False)
class Assessment:
    """All that the checks found; size letters M members, Q cross-sections, H wind directions.

    parts: by kind of check (strength, weld, second order, fatigue), (M,) worst ratio of each member. ratios: (M,) the
    worst of them; over 1 fails. where: (M,) cross-section where strength is worst. stiff, lumps: how the elements give
    way, and (N,) kg at the nodes.
    """

    tree: Tree
    conditions: Conditions
    foliage: Foliage
    frame: Frame
    cross_sections: CrossSections
    yields: Floats
    combos: tuple[Combination, ...]
    limit: Resistance
    worst: Worst
    parts: dict[str, Floats]
    where: Ints
    elastic: Elastic
    rocked: Rocked
    base: tuple[BaseForces, ...]
    service: Service
    stiff: Stiffness
    lumps: Floats
    gusts: dict[str, Gusts]
    order: SecondOrder
    welds: Welds
    fatigue: Fatigue | None
    lifetime: Lifetime
    ties: tuple[TieBars, Floats] | None
    pulled: Pulled

    def __repr__(self) -> str:
        ratios = self.ratios
        worst, over = int(ratios.argmax()), int((ratios > 1.0).sum())
        says = f"{over} of {len(ratios)} members fall short" if over else "no member falls short"
        wind = "" if self.conditions.wind_speed is not None else "; wind not checked"
        return f"Assessment: {says}; worst ratio {ratios[worst]:.2f} at {self.tree.tags[worst]}, over 1 fails{wind}"

    @cached_property
    def modes(self) -> Modes:
        """The lowest modes of the whole tree, worked out when they are asked for: no check counts on them."""
        return modes(self.frame, self.stiff, self.lumps)

    @property
    def loops(self) -> LoopWear:
        """Return how the loop of the heaviest leaf wears in the asked years."""
        heaviest = float(self.foliage.masses.max(initial=0.0))
        return loop_wear(heaviest, float(self.conditions.years), self.conditions.loop_wire)

    @property
    def loop_years(self) -> float:
        """Return the years until half the wire of that loop is gone."""
        return wear_life(self.loops, self.conditions.loop_wire)

    @cached_property
    def ratios(self) -> Floats:
        """The worst ratio of each member over all kinds of check: (M,)."""
        return np.asarray(np.maximum.reduce(list(self.parts.values())))


def foliage_for(tree: Tree, commission: Commission) -> Foliage:
    """Return nominal leaves where their real masses and areas are not known yet.

    A blade of four tenths of its length squared (an ellipse twice as long as broad), of the commission's sheet, and a
    loop of 5 g.
    """
    leaf = commission.leaves
    area = 0.4 * leaf.length**2
    mass = area * 1e-6 * leaf.kg_m2 + LOOP_KG
    count = len(tree.leaves)
    return Foliage(np.full(count, mass), np.full(count, area))


@dataclass(frozen=True, eq=False)
class _Solved:
    """Loads and forces of the basic cases, ties included."""

    loads: dict[str, Loads]
    forces: dict[str, Forces]
    pulls: dict[str, Floats]


def assessed(
    tree: Tree,
    commission: Commission,
    leaf_masses_kg: Floats | None = None,
    leaf_areas_mm2: Floats | None = None,
    wind_directions: int = 36,
) -> Assessment:
    """Return whether the tree stands, and for how long, under all loads of its commission's site.

    leaf_masses_kg, leaf_areas_mm2: (L,) each leaf with its loop, and one face of its blade; nominal leaves where not
    given. Raises CommissionError for a tie that is not there or a member without stiffness.
    """
    site = conditions(commission)
    nominal = foliage_for(tree, commission)
    foliage = Foliage(
        nominal.masses if leaf_masses_kg is None else np.asarray(leaf_masses_kg, dtype=np.float64),
        nominal.areas if leaf_areas_mm2 is None else np.asarray(leaf_areas_mm2, dtype=np.float64),
    )
    cut_tree = frame(tree, extra=tie_places(tree, site.ties) if site.ties else None)
    stiff = stiffness(cut_tree, site.grade.young_gpa * 1000.0, site.grade.shear_gpa * 1000.0)
    lumps = masses(cut_tree, site.grade.density_kg_m3, foliage)
    loads, winds = basic_loads(cut_tree, site, foliage, wind_directions)
    sway = sways(cut_tree, stiff, lumps)
    loads |= quake_loads(site, loads["dead"], float(sway.frequencies[0]))
    blow = answered(cut_tree, site, loads, stiff, lumps, sway)
    bars = tie_bars(cut_tree, site.ties) if site.ties else None
    solved = _solve(cut_tree, stiff, loads, bars, site)
    return _judged(tree, site, foliage, cut_tree, stiff, lumps, sway, blow, solved, winds, bars)


def _solve(
    frame: Frame, stiff: Stiffness, loads: dict[str, Loads], bars: TieBars | None, conditions: Conditions
) -> _Solved:
    pulls: dict[str, Floats] = {}
    if bars is not None:
        # Tied cases one by one: each is its own right-hand side of the same matrix.
        for name, each in loads.items():
            loads[name], pulls[name] = tied(frame, bars, stiff, each, conditions.grade.young_gpa * 1000.0)
    return _Solved(loads, {name: forces(frame, each) for name, each in loads.items()}, pulls)


def _judged(
    tree: Tree,
    conditions: Conditions,
    foliage: Foliage,
    frame: Frame,
    stiff: Stiffness,
    lumps: Floats,
    sway: Sways,
    blow: dict[str, Gusts],
    solved: _Solved,
    winds: Floats,
    bars: TieBars | None,
) -> Assessment:
    places = cross_sections(frame)
    yields = conditions.grade.yield_mpa(np.where(tree.walls > 0.0, tree.walls, tree.stock_diameters))[places.members]
    limit = resistance(places.values, yields, places.free, conditions)
    combos = combinations(conditions)
    rows = {name: places.of(each) for name, each in solved.forces.items()}
    step = _step(winds)
    sides = winds[::step]
    pushes = {
        name: _every(each, step if name == "bars" else 1) for name, each in solved.loads.items() if "ice" not in name
    }
    moves = {
        name: movement(frame, stiff.steps(frame, _felt(solved.forces[name], step if name == "bars" else 1), each))
        for name, each in pushes.items()
    }
    factors = {bound: each.factors for bound, each in blow.items()}
    at_places = {bound: each[places.members] for bound, each in factors.items()}
    shifts = {name: each.shifts for name, each in moves.items()}
    gathered = {name: lumped(frame, each) for name, each in pushes.items()}
    order = second_order(frame, combos, rows, shifts, gathered, (winds, sides), factors)
    worst, strained = nothing_yet(places, len(tree)), nothing_strained(len(places))
    cases = _Cases(rows, winds, at_places, order.factors[places.members])
    for combo in combos:
        if combo.is_strength and (not combo.is_iced or "ice" in rows):
            worst.see(cases.raised(combo), places, limit)
        elif combo.use == "service":
            strained.see(combo.name, lambda some, combo=combo: use(cases.of(combo, some)), places.values, yields)  # type: ignore[misc]
    reached = pulled(frame, places, rows["dead"], rows.get("ice"), conditions, worst, limit)
    handled(frame, places, solved.loads["dead"], conditions, worst, limit)
    every = np.maximum.reduce([worst.ratio[name] for name in worst.ratio])
    ratios, where = member_worst(places, every)
    leans = np.where(tree.parents >= 0, joints(tree).leans, 90.0)
    weld = welds(worst.weld, tree.start_diameters, leans, yields[: len(tree)], tree.walls, conditions)
    tired = weariness(frame, places, stiff, rows, winds, weld, conditions, factors) if conditions.has_wind else None
    if tired is not None:
        weld = replace(weld, is_groove=tired.is_groove, for_fatigue=tired.is_groove & ~weld.is_groove)
    rocking = rocked(frame, sway, conditions, rows["dead"][: len(tree), :, 0], limit, _still_air(conditions, blow))
    life = lifetime(places, worst, yields, conditions)
    return Assessment(
        tree=tree,
        conditions=conditions,
        foliage=foliage,
        frame=frame,
        cross_sections=places,
        yields=yields,
        combos=combos,
        limit=limit,
        worst=worst,
        parts=_parts(tree, ratios, weld, order, tired, life)
        | _skin(tired, places)
        | {"elastic": member_worst(places, strained.ratio)[0], "rocking": _at_rows(tree, rocking)},
        elastic=strained,
        rocked=rocking,
        where=where,
        base=(
            *_base(combos, solved.forces, winds, factors),
            *_pulled_base(conditions, solved.forces["dead"].beyond[0], reached),
        ),
        service=service(frame, combos, moves, sides, factors),
        stiff=stiff,
        lumps=lumps,
        gusts=blow,
        order=order,
        welds=weld,
        fatigue=tired,
        lifetime=life,
        ties=None if bars is None else (bars, _tie_pulls(combos, solved.pulls, winds, factors)),
        pulled=reached,
    )


@dataclass(frozen=True, eq=False)
class _Cases:
    """The combinations at the cross-sections, for a run of them at a time: basic cases, winds, gusts, second order."""

    rows: dict[str, Floats]
    winds: Floats
    gusts: dict[str, Floats]
    raises: Floats

    def of(self, combo: Combination, some: slice) -> Floats:
        """Return cross-section forces, (n, 6, C)."""
        here = {name: each[some] for name, each in self.rows.items()}
        return combined(combo, here, self.winds, {bound: each[some] for bound, each in self.gusts.items()})

    def raised(self, combo: Combination) -> CaseSet:
        """Return the set with moments raised by second order."""

        def rows(some: slice) -> Floats:
            both = self.of(combo, some)
            both[:, 3:] *= self.raises[some, None, None]
            return both

        turns = bool(combo.wind or combo.quake)
        return CaseSet(combo.name, rows, _labels(len(self.winds) if turns else 1))


def _step(winds: Floats) -> int:
    """Return every which direction is looked at for movement, some eighteen: 10 deg off it is 1.5 % less at most."""
    half = len(winds) // 2
    return max(step for step in range(1, max(half // 9, 1) + 1) if half % step == 0)


def _every(loads: Loads, step: int) -> Loads:
    """Return every so manieth case of loads."""
    if step == 1:
        return loads
    return Loads(
        np.ascontiguousarray(loads.points[..., ::step]),
        None if loads.lines is None else np.ascontiguousarray(loads.lines[..., ::step]),
    )


def _felt(whole: Forces, step: int) -> Forces:
    """Return every so manieth case of forces."""
    if step == 1:
        return whole
    return Forces(np.ascontiguousarray(whole.beyond[..., ::step]), np.ascontiguousarray(whole.within[..., ::step]))


def _parts(
    tree: Tree, strength: Floats, weld: Welds, order: SecondOrder, tired: Fatigue | None, life: Lifetime
) -> dict[str, Floats]:
    """Return the worst ratio of each member by kind of check: (M,) each.

    Fatigue counts with the leaves streaming: no leaf stays jammed across the wind through a life of breezes.
    """
    carries = np.isin(np.arange(len(tree)), tree.parents)
    child = tree.parents >= 0
    fillets = np.maximum(weld.ratio, np.where(child, weld.base_ratio, 0.0))
    parts = {
        "strength": strength,
        # A groove is as strong as the bar, whose own checks then speak for it.
        "weld": np.where(weld.is_groove, 0.0, fillets),
        "second order": np.where(carries, order.shares / LIMIT, 0.0),
    }
    if life.at_renewal is not None:
        parts["renewal"] = np.minimum(life.at_renewal, GONE)
    return parts if tired is None else parts | {"fatigue": tired.ratio(STREAMING)}


def _skin(tired: Fatigue | None, places: CrossSections) -> dict[str, Floats]:
    return {} if tired is None else {"skin": member_worst(places, tired.skin)[0]}


def _at_rows(tree: Tree, rocking: Rocked) -> Floats:
    every = np.zeros(len(tree))
    every[rocking.rows] = rocking.ratios
    return every


def _still_air(conditions: Conditions, blow: dict[str, Gusts]) -> Floats | None:
    """Return the damping of a swing in still air for each 1 m/s of its speed, from that in wind: (M,).

    Drag goes with the square of the speed: a swing of amplitude v is damped as by a wind of 8 / (3 pi) v / 2 (any
    vibration text, equivalent viscous damping).
    """
    if "plates" not in blow or conditions.wind_speed is None:
        return None
    gust = blow["plates"]
    mean = winds_of(conditions, conditions.wind_speed).mean_speed(gust.heights)
    return np.asarray(gust.air_damping / mean * 4.0 / (3.0 * np.pi))


def _labels(count: int) -> tuple[str, ...]:
    return ("",) if count == 1 else tuple(f"wind toward {360.0 * i / count:.0f} deg" for i in range(count))


def _base(
    combos: tuple[Combination, ...], cases: dict[str, Forces], winds: Floats, gusts: dict[str, Floats]
) -> tuple[BaseForces, ...]:
    """Return the forces at the foot, beyond the trunk's first node."""
    foot = {name: each.beyond[:1] for name, each in cases.items()}
    trunk = {bound: each[:1] for bound, each in gusts.items()}
    usable = [combo for combo in combos if not combo.is_iced or "ice" in foot]
    return tuple(
        base_forces(combo.name, combined(combo, foot, winds, trunk)[0], combo.use, combo.dead) for combo in usable
    )


def _pulled_base(conditions: Conditions, dead: Floats, reached: Pulled) -> tuple[BaseForces, ...]:
    """Return the forces at the foot with a person's pull, for strength, service and ground; none where nobody pulls."""
    if not reached.feet.shape[1]:
        return ()
    on_dead, on_pull, name = pull_factors(conditions)
    light = 0.6 if conditions.is_american else 0.9
    return (
        base_forces(name.split(",")[0], dead * on_dead + reached.feet * on_pull, "strength", on_dead),
        base_forces("weight and a pull", dead + reached.feet, "service", 1.0),
        base_forces("light weight and a pull", dead * light + reached.feet, "ground", light),
    )


def _tie_pulls(
    combos: tuple[Combination, ...], pulls: dict[str, Floats], winds: Floats, gusts: dict[str, Floats]
) -> Floats:
    """Return the largest pull or push of each tie over the strength combinations: (K,) N, signed.

    Ties take the gust factor of the whole tree.
    """
    usable = [combo for combo in combos if combo.is_strength and (not combo.is_iced or "ice" in pulls)]
    trunk = {bound: np.full(len(pulls["dead"]), each[0]) for bound, each in gusts.items()}
    every = np.concatenate([combined(combo, pulls, winds, trunk) for combo in usable], axis=1)
    return np.asarray(every[np.arange(len(every)), np.abs(every).argmax(axis=1)])
