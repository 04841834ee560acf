"""The tree under its basic cases: what every check starts from.

Size letters: N nodes, M members, Q cross-sections, H wind directions, C cases.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from armature.strength.actions import answered, basic_loads
from armature.strength.combinations import Combination, combinations, combined, turning_part
from armature.strength.conditions import Conditions
from armature.strength.cross_sections import CrossSections, cross_sections
from armature.strength.dynamics import Gusts, lumped
from armature.strength.forces import Forces, Loads, forces, movement
from armature.strength.frame import Frame, frame
from armature.strength.loads import Foliage, masses
from armature.strength.quakes import quake_loads
from armature.strength.resistance import Resistance
from armature.strength.rules import resistance
from armature.strength.second_order import SecondOrder, second_order
from armature.strength.service import Service, service
from armature.strength.stiffness import Stiffness, stiffness
from armature.strength.sways import Sways, sways
from armature.strength.ties import TieBars, tie_bars, tie_places, tied
from armature.strength.worst import CaseSet
from armature.tree import Floats, Tree


@dataclass(frozen=True, eq=False)
class Loaded:
    """Loads and forces of the basic cases on a tree, ties included.

    lumps: (N,) kg at the nodes. gusts: by how the leaves stand. loads, forces: by basic case. winds: directions of the
    cases of wind. ties, pulls: the bars between members, and by case what each pulls (N); none where nothing is tied.
    """

    tree: Tree
    conditions: Conditions
    foliage: Foliage
    frame: Frame
    stiff: Stiffness
    lumps: Floats
    sway: Sways
    gusts: dict[str, Gusts]
    loads: dict[str, Loads]
    forces: dict[str, Forces]
    winds: Floats
    ties: TieBars | None
    pulls: dict[str, Floats]

    @cached_property
    def combos(self) -> tuple[Combination, ...]:
        """The combinations of the site's standard."""
        return combinations(self.conditions)

    @cached_property
    def places(self) -> CrossSections:
        """The cross-sections that are checked."""
        return cross_sections(self.frame)

    @cached_property
    def rows(self) -> dict[str, Floats]:
        """By basic case, the forces at the cross-sections: (Q, 6, C)."""
        return {name: self.places.of(each) for name, each in self.forces.items()}

    @cached_property
    def yields(self) -> Floats:
        """Yield strength by thickness, MPa: (Q,)."""
        thick = np.where(self.tree.walls > 0.0, self.tree.walls, self.tree.stock_diameters)
        return self.conditions.grade.yield_mpa(thick)[self.places.members]

    @cached_property
    def limit(self) -> Resistance:
        """What each cross-section bears."""
        return resistance(self.places.values, self.yields, self.places.free, self.conditions)

    @cached_property
    def factors(self) -> dict[str, Floats]:
        """By how the leaves stand, the gust factor of each member: (M,)."""
        return {bound: each.factors for bound, each in self.gusts.items()}

    def cases(self, raises: Floats) -> Cases:
        """Return the combinations at the cross-sections; raises: (M,) second-order factor on moments."""
        members = self.places.members
        gusts = {bound: each[members] for bound, each in self.factors.items()}
        return Cases(self.rows, self.winds, gusts, raises[members])


@dataclass(frozen=True, eq=False)
class Cases:
    """The combinations at the cross-sections, for a run of them at a time: basic cases, winds, gusts, second order."""

    rows: dict[str, Floats]
    winds: Floats
    gusts: dict[str, Floats]
    raises: Floats
    _blown: dict[str, tuple[slice, Floats]] = field(default_factory=dict)

    def of(self, combo: Combination, some: slice) -> Floats:
        """Return cross-section forces, (n, 6, C)."""
        here = {name: each[some] for name, each in self.rows.items()}
        if combo.wind:
            here[f"blown {combo.bound}"] = self._alone(combo, here, some)
        return combined(combo, here, self.winds)

    def _alone(self, combo: Combination, here: dict[str, Floats], some: slice) -> Floats:
        """Return what blows, its factor left out: combinations differ in that alone, so that it is kept for the run."""
        kept = self._blown.get(combo.bound)
        if kept is None or kept[0] != some:
            gusts = {combo.bound: self.gusts[combo.bound][some]}
            turned = turning_part(replace(combo, wind=1.0, quake=0.0), here, self.winds, gusts)
            assert turned is not None
            kept = self._blown[combo.bound] = some, turned
        return kept[1]

    def raised(self, combo: Combination) -> CaseSet:
        """Return the set with moments raised by second order."""

        def rows(some: slice) -> Floats:
            both = self.of(combo, some)
            both[:, 3:] *= self.raises[some, None, None]
            return both

        turns = bool(combo.wind or combo.quake)
        return CaseSet(combo.name, rows, _labels(len(self.winds) if turns else 1))


def loaded(tree: Tree, conditions: Conditions, foliage: Foliage, wind_directions: int) -> Loaded:
    """Return the tree under the basic cases of its site.

    Raises CommissionError for a tie that is not there or a member without stiffness.
    """
    ties = conditions.ties
    young, shear = conditions.grade.young_gpa * 1000.0, conditions.grade.shear_gpa * 1000.0
    cut_tree = frame(tree, extra=tie_places(tree, ties) if ties else None)
    stiff = stiffness(cut_tree, young, shear)
    lumps = masses(cut_tree, conditions.grade.density_kg_m3, foliage)
    loads, winds = basic_loads(cut_tree, conditions, foliage, wind_directions)
    sway = sways(cut_tree, stiff, lumps)
    loads |= quake_loads(conditions, loads["dead"], float(sway.frequencies[0]))
    blow = answered(cut_tree, conditions, loads, stiff, lumps, sway)
    bars = tie_bars(cut_tree, ties) if ties else None
    pulls: dict[str, Floats] = {}
    if bars is not None:
        # Tied cases one by one: each is its own right-hand side of the same matrix.
        for name, each in loads.items():
            loads[name], pulls[name] = tied(cut_tree, bars, stiff, each, young)
    inner = {name: forces(cut_tree, each) for name, each in loads.items()}
    return Loaded(tree, conditions, foliage, cut_tree, stiff, lumps, sway, blow, loads, inner, winds, bars, pulls)


def moved(at: Loaded) -> tuple[SecondOrder, Service]:
    """Return what the moved shape adds to the moments, ice and all, and how far it moves in service: both from every so
    manieth direction.
    """
    step = _step(at.winds)
    sides = at.winds[::step]
    steps = {name: step if name in ("bars", "iced_bars") else 1 for name in at.loads}
    pushes = {name: _every(at.loads[name], each) for name, each in steps.items()}
    moves = {
        name: movement(at.frame, at.stiff.steps(at.frame, _felt(at.forces[name], steps[name]), each))
        for name, each in pushes.items()
    }
    shifts = {name: each.shifts for name, each in moves.items()}
    gathered = {name: lumped(at.frame, each) for name, each in pushes.items()}
    order = second_order(at.frame, at.combos, at.rows, shifts, gathered, (at.winds, sides), at.factors)
    return order, service(at.frame, at.combos, moves, sides, at.factors)


def _labels(count: int) -> tuple[str, ...]:
    return ("",) if count == 1 else tuple(f"wind toward {360.0 * i / count:.0f} deg" for i in range(count))


def _step(winds: Floats) -> int:
    """Return every which direction is looked at for movement, some eighteen: 10 deg off it is 1.5 % less at most."""
    half = len(winds) // 2
    return max(step for step in range(1, max(half // 9, 1) + 1) if half % step == 0)


def _every(loads: Loads, step: int) -> Loads:
    """Return every so manieth case of loads."""
    if step == 1:
        return loads
    return Loads(loads.points[..., ::step], None if loads.lines is None else loads.lines[..., ::step])


def _felt(whole: Forces, step: int) -> Forces:
    """Return every so manieth case of forces."""
    if step == 1:
        return whole
    return Forces(whole.beyond[..., ::step], whole.within[..., ::step])
