"""What pulls on the tree: own weight, leaves, wind on bars and leaves, ice, a person, lifting.

Size letters: N nodes, L leaves, H wind directions. Forces N, lengths mm, masses kg, pressures Pa, heights mm.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from armature.strength.forces import Loads
from armature.strength.frame import Frame
from armature.strength.layout import zeros
from armature.strength.rounds import rounds
from armature.tree import BRANCH, Floats, Ints

GRAVITY = 9.80665
ICE_KG_M3 = 900.0  # 56 pcf, ASCE 7-16 10.4.1

# A pressure at heights, and a force coefficient of round bars: (slenderness, diameter, pressure) -> C.
Pressure = Callable[[Floats], Floats]
Drag = Callable[[Floats, Floats, Floats], Floats]


@dataclass(frozen=True, eq=False)
class Foliage:
    """What hangs: masses (L,) kg, leaf with its loop; areas (L,) mm2, one face of the blade."""

    masses: Floats
    areas: Floats


def no_loads(frame: Frame, cases: int = 1) -> Loads:
    """Return cases without any load, and without lines."""
    return Loads(zeros(len(frame), 3, cases))


def along_bars(frame: Frame, forces: Sequence[Floats]) -> Loads:
    """Return one case of vertical line loads, N/mm upward, from those at the two places of each element: (N,) each."""
    lines = zeros(len(frame), 2, 3, 1)
    for number, force in enumerate(forces):
        lines[:, number, 2, 0] = force * (frame.spans > 0.0)
    return Loads(zeros(len(frame), 3, 1), lines)


def steel_weight(frame: Frame, density: float) -> Loads:
    """Return the own weight of every tapered member, one case; density in kg/m3."""
    areas = [rounds(diameter, bore).area for _, _, diameter, bore in frame.load_places]
    return along_bars(frame, [-area * density * 1e-9 * GRAVITY for area in areas])


def leaf_weight(frame: Frame, foliage: Foliage) -> Loads:
    """Return the weight of the leaves and their loops, hanging at their nodes, one case."""
    loads = no_loads(frame)
    np.add.at(loads.points[:, 2, 0], frame.hangs, -foliage.masses * GRAVITY)
    return loads


def directions(count: int) -> Floats:
    """Return horizontal unit directions around the compass: (H, 3), the first toward +x."""
    angle = 2.0 * np.pi * np.arange(count) / count
    return np.stack([np.cos(angle), np.sin(angle), np.zeros(count)], axis=1)


def bar_wind(frame: Frame, winds: Floats, pressure: Pressure, drag: Drag, ice: ArrayLike = 0.0) -> Loads:
    """Return the wind on every bar, one case a direction (H, 3), along the wind.

    A length of bar takes q C d times the sine of the angle between bar and wind: the pressure on its projected area
    (ASCE 7-16 29.4, EN 1991-1-4 5.3), which is more than the cross-flow rule gives. Bars do not shelter each other.
    ice: (N,) mm of ice around the bars, or one value.
    """
    lines = zeros(len(frame), 2, 3, len(winds))
    mean = (frame.tree.start_diameters + frame.tree.end_diameters)[frame.members] / 2.0 + 2.0 * np.asarray(ice)
    slenderness = frame.tree.lengths[frame.members] / mean
    for number, (point, tangent, diameter, _) in enumerate(frame.load_places):
        broad = diameter + 2.0 * np.asarray(ice)
        q = pressure(point[:, 2])
        push = q * 1e-6 * drag(slenderness, broad, q) * broad * (frame.spans > 0.0)
        across = np.sqrt(np.maximum(1.0 - (tangent @ winds.T) ** 2, 0.0))
        force = np.asfortranarray(push[:, None] * across)
        for axis in (0, 1):
            np.multiply(force, winds[:, axis], out=lines[:, number, axis])
    return Loads(zeros(len(frame), 3, len(winds)), lines)


def leaf_wind(frame: Frame, foliage: Foliage, pressure: Pressure) -> Loads:
    """Return the wind on the leaves for a drag coefficient of 1: two cases, toward +x and +y.

    Any direction and any coefficient is a sum of the two.
    """
    loads = no_loads(frame, 2)
    push = pressure(frame.points[frame.hangs, 2]) * 1e-6 * foliage.areas
    np.add.at(loads.points[:, 0, 0], frame.hangs, push)
    np.add.at(loads.points[:, 1, 1], frame.hangs, push)
    return loads


def swung_drag(pressures: Floats, foliage: Foliage, across: float, streaming: float) -> Floats:
    """Return the drag of leaves that swing free on their loops, by how far the wind of `pressures` (L,) Pa turns them.

    The wind pushes a leaf at right angles to its face, and its weight turns it back, both at its middle: it hangs at
    tan(turn) = k, the push on the face when it stands across, over the weight. What then pulls along the wind is the
    square of the cosine, 1 / (1 + k^2), of `across`; in place of the rest comes the drag of a flag, `streaming`.
    Statics of a hinged plate; Hoerner, Fluid-Dynamic Drag, ch. 3, and Vogel for its two ends (from memory).

    >>> light = Foliage(np.array([0.0215]), np.array([2250.0]))
    >>> swung_drag(np.array([0.0, 1000.0]), light, 1.3, 0.2).round(3).tolist()
    [1.3, 0.206]
    """
    turned = across * pressures * 1e-6 * foliage.areas / np.maximum(foliage.masses * GRAVITY, 1e-9)
    return np.asarray(streaming + (across - streaming) / (1.0 + turned**2))


def ice_weight(frame: Frame, bar_area: Callable[[Floats], Floats], leaf_volumes: Floats) -> Loads:
    """Return the weight of ice on bars and leaves, one case.

    bar_area: cross-section of ice (mm2) from the bar's diameters (mm). leaf_volumes: (L,) mm3.
    """
    loads = along_bars(frame, [-bar_area(place[2]) * ICE_KG_M3 * 1e-9 * GRAVITY for place in frame.load_places])
    np.add.at(loads.points[:, 2, 0], frame.hangs, -leaf_volumes * ICE_KG_M3 * 1e-9 * GRAVITY)
    return loads


def pull_toward(frame: Frame, nodes: Ints) -> Floats:
    """Return the unit direction in which a person pulls at nodes (Q,): down, or sideways on an upright run: (Q, 3).

    Sideways is away from the foot, as the member already leans, where its own weight is added to the pull.
    """
    steep = np.abs(frame.tangents[nodes, 2]) > np.cos(np.radians(30.0))
    lean = frame.points[nodes] - frame.points[0]
    lean[:, 2] = 0.0
    far = np.linalg.norm(lean, axis=1, keepdims=True)
    away = np.where(far > 1e-6, lean / np.maximum(far, 1e-6), [1.0, 0.0, 0.0])
    return np.where(steep[:, None], away, [0.0, 0.0, -1.0])


def person_pulls(
    frame: Frame, reach: float, force: float, climbed: float = 0.0, hold: float = 0.0
) -> tuple[Callable[[Ints], Loads], Ints, Ints]:
    """Return a person's pull on members within reach: the loads at any nodes, the rows of all, the far node of each.

    The far node is the reachable one furthest along the member. The pull is straight down, or sideways on an upright
    run. The loads of n nodes are n cases. Up to the height `climbed` hands reach too, but hold only what is `hold` mm
    thick: nobody hangs on a thin end overhead.
    """
    stout = (frame.points[:, 2] <= climbed) & (frame.diameters >= hold) & (frame.tree.ranks[frame.members] <= BRANCH)
    low = np.flatnonzero((frame.points[:, 2] <= reach) | stout)
    last = np.full(len(frame.tree), -1, dtype=np.int64)
    np.maximum.at(last, frame.members[low], low)
    rows = np.flatnonzero(last >= 0)

    def at(nodes: Ints) -> Loads:
        loads = no_loads(frame, len(nodes))
        loads.points[nodes, :, np.arange(len(nodes))] = pull_toward(frame, nodes) * force
        return loads

    return at, rows, last[rows]


def masses(frame: Frame, density: float, foliage: Foliage) -> Floats:
    """Return the mass lumped at each node: (N,) kg, half of each element beside it and the leaves that hang there."""
    own = np.zeros(len(frame))
    for _, _, diameter, bore in frame.load_places:
        half = rounds(diameter, bore).area * density * 1e-9 * frame.spans / 4.0
        own += half
        own[1:] += half[:-1]
    np.add.at(own, frame.hangs, foliage.masses)
    return own
