"""The foot of the tree: what it hands to the ground, anchors in their concrete, and a footing that stands.

A first pass: whoever signs sizes the plate, the anchors in their concrete and the soil. Forces N and N mm, lengths mm,
stresses MPa. Clauses of AISC 360-16, ACI 318-19 chapter 17 and AISC Design Guide 1 from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from armature.edge import System
from armature.strength.tables import table
from armature.tree import Floats

_LEAST_LUG_MM, _GROUT_MM = 40.0, 25.0
# EN 1997-1 table A.13, set R2, from memory.
_SLIDING = 1.1


@dataclass(frozen=True)
class BaseForces:
    """What the ground must hold in one combination's worst direction: N, N mm; vertical is downward.

    use: strength, service, ground or sliding, as the combination; dead: its factor on weight, which the footing's own
    takes too.
    """

    name: str
    vertical: float
    shear: float
    overturning: float
    torsion: float
    direction_deg: float
    use: str = "strength"
    dead: float = 1.0


@dataclass(frozen=True)
class Anchors:
    """Anchors as a first pass; ratio over 1 where no listed size is enough.

    concrete_ratio: breakout, pull-out and shear at the edge of the concrete, at the embedment given; edge_mm: from an
    anchor to the edge of the footing.
    """

    count: int
    diameter_mm: float
    circle_mm: float
    tension_n: float
    shear_n: float
    ratio: float
    plate_side_mm: float
    plate_thickness_mm: float
    embedment_mm: float = 0.0
    edge_mm: float = 0.0
    concrete_ratio: float = 0.0


@dataclass(frozen=True)
class Lug:
    """A shear lug under the plate, two plates crossed: how deep in the concrete, how wide, how thick, mm."""

    shear_n: float
    depth_mm: float
    width_mm: float
    thickness_mm: float


@dataclass(frozen=True)
class Footing:
    """A square footing as a first pass; sides mm, pressures MPa.

    safety, sliding: what resists over what drives, under the combinations for the ground, which have to leave 1.
    pressure: the largest on the soil under the service combinations. uplift_share: of its side that then lifts.
    """

    side_mm: float
    depth_mm: float
    safety: float
    sliding: float
    pressure_mpa: float
    uplift_share: float

    def ratio(self, soil: float) -> float:
        """Return the worst of tipping, sliding and pressure against `soil` MPa; over 1 fails."""
        return max(1.0 / max(self.safety, 1e-9), 1.0 / max(self.sliding, 1e-9), self.pressure_mpa / soil)


def base_forces(name: str, foot: Floats, use: str = "strength", dead: float = 1.0) -> BaseForces:
    """Return the worst of a combination's forces at the foot, (6, C), by overturning moment."""
    moments = np.hypot(foot[3], foot[4])
    worst = int(np.argmax(moments))
    x, y, z, mx, my, mz = foot[:, worst]
    toward = float(np.degrees(np.arctan2(y, x))) % 360.0 if np.hypot(x, y) > 1e-9 else 0.0
    force = float(np.hypot(x, y)), float(np.hypot(mx, my)), abs(float(mz))
    return BaseForces(name, -float(z), *force, toward, use, dead)


def anchor_tension(forces: BaseForces, count: int, circle: float) -> float:
    """Return the tension in the worst anchor of a ring, N: 4 M / (n D) - P / n, not under 0.

    From the ring as a line of steel, the concrete's help left out: the usual first pass for pole bases.

    >>> anchor_tension(BaseForces("", 0.0, 0.0, 1e6, 0.0, 0.0), 4, 200.0)
    5000.0
    """
    return max(4.0 * forces.overturning / (count * circle) - forces.vertical / count, 0.0)


def anchor_shear(forces: BaseForces, count: int, circle: float) -> float:
    """Return the shear in the worst anchor, N: V / n + 2 T / (n D); the plate's friction and a lug are left out."""
    return forces.shear / count + 2.0 * forces.torsion / (count * circle)


def anchor_ratio(tension: float, shear: float, diameter: float) -> float:
    """Return the use of one rod: linear in tension and shear on its thread. AISC 360-16 J3.6, J3.7, phi 0.75.

    Nominal stresses 0.75 Fu and 0.450 Fu on the nominal area, Fu of ASTM F1554 grade 36; the linear sum is on the
    safe side of J3.7.
    """
    tensile = table("details")["anchors"]["tensile_mpa"]
    area = np.pi / 4.0 * diameter**2
    return float(tension / (0.75 * 0.75 * tensile * area) + shear / (0.75 * 0.45 * tensile * area))


def breakout(embedment: float, concrete: float) -> float:
    """Return phi Nb of one cast anchor, N: 0.70 x 10 sqrt(f'c) h^1.5. ACI 318-19 17.6.2.2, cracked.

    >>> round(breakout(300.0, 25.0) / 1000.0, 1)
    181.9
    """
    return float(0.70 * 10.0 * np.sqrt(concrete) * embedment**1.5)


def pull_out(diameter: float, concrete: float) -> float:
    """Return phi Npn of a headed anchor, N: 0.70 x 8 Abrg f'c, Abrg a hex nut of 1.5 d less the rod. ACI 17.6.3."""
    bearing = (0.866 * 1.5**2 - np.pi / 4.0) * diameter**2
    return float(0.70 * 8.0 * bearing * concrete)


def edge_shear(edge: float, concrete: float) -> float:
    """Return phi Vb toward an edge, N: 0.70 x 3.7 sqrt(f'c) c^1.5. ACI 318-19 17.7.2.2(b)."""
    return float(0.70 * 3.7 * np.sqrt(concrete) * edge**1.5)


def group_ratio(tensions: float, shear: float, rods: Anchors, concrete: float, edge: float, depth: float) -> float:
    """Return the use of the concrete round the anchors: the worst of breakout of all that pull, pull-out, edge shear.

    tensions: N, of the worst anchor. The cone of the pulling half is 3 h about the half circle, no wider than the
    footing; less than 1.5 h from an edge it is weakened by 0.7 + 0.3 c / 1.5 h (17.6.2.4).
    """
    h = rods.embedment_mm
    if h <= 0.0 or depth <= h + 75.0 - 1e-6:
        return float("inf")
    reach = min(1.5 * h, edge)
    cone = (2.0 * reach + rods.circle_mm) * (2.0 * reach + rods.circle_mm / 2.0)
    near = 1.0 if edge >= 1.5 * h else 0.7 + 0.3 * edge / (1.5 * h)
    breakout_n = cone / (9.0 * h**2) * near * breakout(h, concrete)
    # Tensions round the pulling half go with the cosine: their sum is n / pi of the worst.
    together = rods.count / np.pi * tensions
    across = shear * rods.count / max(edge_shear(edge, concrete) * 2.0, 1e-9)
    return float(max(together / breakout_n, tensions / pull_out(rods.diameter_mm, concrete), across))


def anchors(
    combos: Sequence[BaseForces],
    trunk_mm: float,
    yields: float,
    leg: float = 0.0,
    concrete: float = 25.0,
    side: float = 0.0,
    depth: float = 0.0,
    units: System = "mm",
) -> Anchors:
    """Return the fewest, thinnest listed anchors that hold all combinations, on a circle round the trunk's foot.

    leg: of the trunk's fillet on the plate, 0 for a groove. side, depth: mm, of the footing; 0 for steel alone.
    units: of the shop, which buys its rods in them.
    """
    rows = table("details")["anchors"]
    best: Anchors | None = None
    for count in rows["counts"]:
        for size in rows["sizes_inch_mm" if units == "inch" else "sizes_mm"]:
            best = _ring(combos, count, size, trunk_mm, yields, leg)
            if depth > 0.0:
                best = _set_in(best, concrete, side, depth)
            if max(best.ratio, best.concrete_ratio) <= 1.0:
                return best
    assert best is not None
    return best


def _ring(combos: Sequence[BaseForces], count: int, size: float, trunk_mm: float, yields: float, leg: float) -> Anchors:
    circle = trunk_mm + 6.0 * size
    pulls = [anchor_tension(each, count, circle) for each in combos]
    sides = [anchor_shear(each, count, circle) for each in combos]
    ratio = max(anchor_ratio(pull, side, size) for pull, side in zip(pulls, sides, strict=True))
    plate = _plate(max(pulls), size, yields, leg)
    return Anchors(count, size, circle, max(pulls), max(sides), ratio, circle + 4.0 * size, plate)


def _set_in(rods: Anchors, concrete: float, side: float, depth: float) -> Anchors:
    """Return the ring with the least embedment, from 8 diameters on in steps of 50 mm, that the concrete holds."""
    edge = (side - rods.circle_mm) / 2.0
    deep = max(np.ceil(8.0 * rods.diameter_mm / 50.0) * 50.0, 150.0)
    best = replace(rods, edge_mm=edge, embedment_mm=deep, concrete_ratio=float("inf"))
    while deep <= depth - 75.0 and edge > 0.0:
        tried = replace(best, embedment_mm=float(deep))
        ratio = group_ratio(rods.tension_n, rods.shear_n, tried, concrete, edge, depth)
        best = replace(tried, concrete_ratio=ratio)
        if ratio <= 1.0:
            return best
        deep += 50.0
    return best


def _plate(tension: float, size: float, yields: float, leg: float) -> float:
    """Return the plate's thickness, mm, from one anchor bending it: t = sqrt(4 M / (0.9 Fy b)). AISC Design Guide 1.

    The anchor stands three sizes from the trunk's skin; its pull bends the plate from the toe of the trunk's fillet, or
    from the skin itself where the foot is a groove, on a strip 4 sizes wide.
    """
    lever = max(3.0 * size - leg, size)
    return float(np.sqrt(4.0 * tension * lever / (0.9 * yields * 4.0 * size)))


def shear_lug(combos: Sequence[BaseForces], trunk_mm: float, yields: float, concrete: float) -> Lug:
    """Return the lug, as wide as the trunk, that takes the whole shear off the anchors.

    It bears on the concrete with 0.65 x 1.7 f'c, from its surface down to no more than twice the lug's thickness (ACI
    318-19 17.11.2, from memory), and bends from the plate over the grout as well: t = sqrt(4 M / (0.9 Fy b)), AISC
    360-16 F11. Twice, crossed, for wind from all sides.

    >>> shear_lug([BaseForces("", 0.0, 20_000.0, 0.0, 0.0, 0.0)], 100.0, 250.0, 25.0)
    Lug(shear_n=20000.0, depth_mm=40.0, width_mm=100.0, thickness_mm=20.0)
    """
    shear = max(each.shear for each in combos)
    depth = max(float(np.ceil(shear / (0.65 * 1.7 * concrete * trunk_mm) / 5.0)) * 5.0, _LEAST_LUG_MM)
    bent = np.sqrt(4.0 * shear * (_GROUT_MM + depth / 2.0) / (0.9 * yields * trunk_mm))
    return Lug(shear, depth, trunk_mm, float(np.ceil(max(bent, depth / 2.0))))


def footing(combos: Sequence[BaseForces], soil: float, depth: float, friction: float) -> Footing:
    """Return the least square footing that neither tips nor slides nor presses the soil by more than `soil` MPa.

    The combinations for the ground (0.6D + 0.6W of ASCE 7-16 2.4.1, or EQU of EN 1990) must leave what resists above
    what drives, sliding under GEO a tenth above it (EN 1997-1 table A.13, set R2: 1.1); the service combinations the
    soil's allowed pressure, under a rigid footing that lifts where it must.
    Where no side to 12 m is enough, the widest comes back, and its ratio says by how much it falls short.
    """
    for side in np.arange(600.0, 12_001.0, 50.0):
        made = _stood(combos, float(side), depth, friction)
        if made.ratio(soil) <= 1.0:
            break
    return made


def _stood(combos: Sequence[BaseForces], side: float, depth: float, friction: float) -> Footing:
    own = side**2 * depth * 1e-9 * table("details")["footing"]["concrete_kg_m3"] * 9.80665
    safety, sliding, pressure, lifted = np.inf, np.inf, 0.0, 0.0
    for each in combos:
        weight = each.vertical + each.dead * own
        moment = each.overturning + each.shear * depth
        if each.use == "ground":
            safety = min(safety, weight * side / 2.0 / max(moment, 1e-9))
            sliding = min(sliding, friction * weight / max(each.shear, 1e-9))
        elif each.use == "sliding":
            sliding = min(sliding, friction * weight / (_SLIDING * max(each.shear, 1e-9)))
        elif each.use == "service":
            pressed, up = _pressure(weight, moment, side)
            pressure, lifted = max(pressure, pressed), max(lifted, up)
    return Footing(side, depth, min(safety, 1e6), min(sliding, 1e6), pressure, lifted)


def _pressure(weight: float, moment: float, side: float) -> tuple[float, float]:
    """Return the largest pressure, MPa, of a wind toward a side or a corner, and the share of the side that lifts.

    A wind blows from anywhere, and a square has less to set against it across its corners.
    """
    pressed, lifted = _toward_side(weight, moment, side)
    return max(pressed, weight / side**2 * corner_peak(moment / weight / side)), lifted


@cache
def _corners() -> tuple[Floats, Floats]:
    """Return, for a unit square that lifts up to lines across its diagonal, how far off its weight then is and its peak
    pressure over the mean: that of a rigid block on ground that takes no pull.
    """
    half = np.sqrt(0.5)
    lines = np.linspace(-half, half, 400)[:-1, None]
    across = (np.arange(4000) + 0.5) / 4000.0 * 2.0 * half - half
    pressed = np.maximum(across - lines, 0.0) * 2.0 * (half - np.abs(across)) * (across[1] - across[0])
    total = pressed.sum(axis=1)
    return (pressed @ across) / total, (half - lines[:, 0]) / total


def corner_peak(off: float) -> float:
    """Return the peak pressure at a corner over the mean, the weight `off` of the side off the middle toward it.

    1 + 6 root 2 off while all of the square bears; 6 where half of it does, at off = 0.354. Statics by integration.

    >>> round(corner_peak(0.1), 3), round(corner_peak(0.5**0.5 / 2.0), 2)
    (1.849, 6.0)
    """
    offs, peaks = _corners()
    if off <= offs[0]:
        return 1.0 + 6.0 * float(np.sqrt(2.0)) * off
    return float(np.interp(off, offs, peaks, right=np.inf))


def _toward_side(weight: float, moment: float, side: float) -> tuple[float, float]:
    off = moment / weight
    if off >= side / 2.0:
        return float("inf"), 1.0
    # Inside the middle sixth the whole foot bears; outside it a triangle three times its distance from the edge does.
    if off <= side / 6.0:
        return weight / side**2 * (1.0 + 6.0 * off / side), 0.0
    bears = 3.0 * (side / 2.0 - off)
    return 2.0 * weight / (bears * side), 1.0 - bears / side
