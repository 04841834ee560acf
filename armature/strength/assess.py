"""From a tree and its commission to an assessment: one pass through loads, forces, checks, movement and years."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from armature.commission import Commission
from armature.strength.actions import winds_of
from armature.strength.base import BaseForces, base_forces
from armature.strength.combinations import Combination, combined, pull_factors
from armature.strength.conditions import Conditions, conditions
from armature.strength.contact import LoopWear, loop_wear, wear_life
from armature.strength.cross_sections import CrossSections, member_worst
from armature.strength.dynamics import Gusts
from armature.strength.elastic import Elastic, nothing_strained
from armature.strength.extremes import Pulled, handled, pulled
from armature.strength.fatigue import STREAMING, Fatigue
from armature.strength.frame import Frame
from armature.strength.lifetime import Lifetime, lifetime
from armature.strength.loaded import Loaded, loaded, moved
from armature.strength.loads import Foliage
from armature.strength.modes import Modes, modes
from armature.strength.people import Rocked, rocked
from armature.strength.resistance import Resistance, use
from armature.strength.second_order import LIMIT, SecondOrder
from armature.strength.service import Service
from armature.strength.stiffness import Stiffness
from armature.strength.ties import TieBars
from armature.strength.weariness import weariness
from armature.strength.welds import Welds, welds
from armature.strength.worst import Worst, nothing_yet
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
    return _judged(loaded(tree, site, foliage, wind_directions))


def _judged(at: Loaded) -> Assessment:
    order, stirred = moved(at)
    worst, strained = _strained(at, order)
    reached = pulled(at.frame, at.places, at.rows["dead"], at.rows.get("ice"), at.conditions, worst, at.limit)
    handled(at.frame, at.places, at.loads["dead"], at.conditions, worst, at.limit)
    ratios, where = member_worst(at.places, np.maximum.reduce(list(worst.ratio.values())))
    weld, tired = _welded(at, worst)
    resting = at.rows["dead"][: len(at.tree), :, 0]
    rocking = rocked(at.frame, at.sway, at.conditions, resting, at.limit, _still_air(at.conditions, at.gusts))
    life = lifetime(at.places, worst, at.yields, at.conditions)
    others = {"elastic": member_worst(at.places, strained.ratio)[0], "rocking": _at_rows(at.tree, rocking)}
    return Assessment(
        tree=at.tree,
        conditions=at.conditions,
        foliage=at.foliage,
        frame=at.frame,
        cross_sections=at.places,
        yields=at.yields,
        combos=at.combos,
        limit=at.limit,
        worst=worst,
        parts=_parts(at.tree, ratios, weld, order, tired, life) | _skin(tired, at.places) | others,
        elastic=strained,
        rocked=rocking,
        where=where,
        base=_base(at, order) + _pulled_base(at, order, reached),
        service=stirred,
        stiff=at.stiff,
        lumps=at.lumps,
        gusts=at.gusts,
        order=order,
        welds=weld,
        fatigue=tired,
        lifetime=life,
        ties=None if at.ties is None else (at.ties, _tie_pulls(at)),
        pulled=reached,
    )


def _strained(at: Loaded, order: SecondOrder) -> tuple[Worst, Elastic]:
    """Return the worst of the strength combinations, and the strains of those in service."""
    worst, strained = nothing_yet(at.places, len(at.tree)), nothing_strained(len(at.places))
    cases = at.cases(order.factors)
    strong = [combo for combo in at.combos if combo.is_strength and (not combo.is_iced or "ice" in at.rows)]
    worst.see([cases.raised(combo) for combo in strong], at.places, at.limit)
    for combo in at.combos:
        if combo.use == "service":
            strained.see(combo.name, lambda some, combo=combo: use(cases.of(combo, some)), at.places.values, at.yields)  # type: ignore[misc]
    return worst, strained


def _welded(at: Loaded, worst: Worst) -> tuple[Welds, Fatigue | None]:
    """Return the welds, grooved where fatigue asks for it, and their fatigue where there is wind."""
    tree = at.tree
    leans = np.where(tree.parents >= 0, joints(tree).leans, 90.0)
    weld = welds(worst.weld, tree.start_diameters, leans, at.yields[: len(tree)], tree.walls, at.conditions)
    if not at.conditions.has_wind:
        return weld, None
    tired = weariness(at, weld)
    return replace(weld, is_groove=tired.is_groove, for_fatigue=tired.is_groove & ~weld.is_groove), tired


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


def _base(at: Loaded, order: SecondOrder) -> tuple[BaseForces, ...]:
    """Return the forces at the foot, beyond the trunk's first node, moments raised by second order."""
    foot = {name: _leaned(each.beyond[:1], order) for name, each in at.forces.items()}
    trunk = {bound: each[:1] for bound, each in at.factors.items()}
    usable = [combo for combo in at.combos if not combo.is_iced or "ice" in foot]
    return tuple(
        base_forces(combo.name, combined(combo, foot, at.winds, trunk)[0], combo.use, combo.dead) for combo in usable
    )


def _leaned(foot: Floats, order: SecondOrder) -> Floats:
    """Return forces at the foot (..., 6, C) with their moments raised by second order."""
    raised = foot.copy()
    raised[..., 3:, :] *= order.factors[0]
    return raised


def _pulled_base(at: Loaded, order: SecondOrder, reached: Pulled) -> tuple[BaseForces, ...]:
    """Return the forces at the foot with a person's pull, for strength, service and ground; none where nobody pulls."""
    if not reached.feet.shape[1]:
        return ()
    on_dead, on_pull, name = pull_factors(at.conditions)
    light, heavy = (0.6, 1.0) if at.conditions.is_american else (0.9, 1.5)
    dead, pull = _leaned(at.forces["dead"].beyond[0], order), _leaned(reached.feet, order)
    return (
        base_forces(name.split(",")[0], dead * on_dead + pull * on_pull, "strength", on_dead),
        base_forces("weight and a pull", dead + pull, "service", 1.0),
        # ASD takes people as they are, EQU by 1.5.
        base_forces("light weight and a pull", dead * light + pull * heavy, "ground", light),
    )


def _tie_pulls(at: Loaded) -> Floats:
    """Return the largest pull or push of each tie over the strength combinations: (K,) N, signed.

    Ties take the gust factor of the whole tree.
    """
    usable = [combo for combo in at.combos if combo.is_strength and (not combo.is_iced or "ice" in at.pulls)]
    trunk = {bound: np.full(len(at.pulls["dead"]), each[0]) for bound, each in at.factors.items()}
    every = np.concatenate([combined(combo, at.pulls, at.winds, trunk) for combo in usable], axis=1)
    return np.asarray(every[np.arange(len(every)), np.abs(every).argmax(axis=1)])
