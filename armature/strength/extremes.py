"""Loads that come to one member or to the lying tree: a person's pull, and the hook."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.strength.combinations import handling, pull_factors, pull_ice
from armature.strength.conditions import Conditions
from armature.strength.cross_sections import CrossSections
from armature.strength.forces import Loads, forces
from armature.strength.frame import Frame
from armature.strength.loads import no_loads, person_pulls, pull_toward
from armature.strength.people import HOLD_MM, climbed, crowd_share
from armature.strength.resistance import Resistance
from armature.strength.worst import CaseSet, Worst
from armature.tree import BRANCH, Floats, Ints

_BATCH = 32


@dataclass(frozen=True, eq=False)
class Pulled:
    """Members within reach: `held` rows are in the checks; `bending` rows give way in the hand at their thin end.

    shares: (B,) how far the pull at the far end uses up each bending row's own resistance. feet: (6, C) N and N mm,
    what each pull, unfactored, brings to the base.
    """

    held: Ints
    bending: Ints
    shares: Floats
    feet: Floats


def pulled(
    frame: Frame,
    places: CrossSections,
    dead: Floats,
    iced: Floats | None,
    conditions: Conditions,
    worst: Worst,
    limit: Resistance,
) -> Pulled:
    """Return who is within reach, after showing `worst` a person's pull on each trunk, limb and branch there.

    Trunk and limbs take it at the furthest point in reach. A branch too thin for that bends in the hand, which steel
    does without falling, and takes the whole pull at the furthest point that it can bear: what carries it must hold.
    Twigs are judged apart: a hand can bend them, and they carry nobody.
    """
    on_dead, on_pull, name = pull_factors(conditions)
    person = conditions.pull * crowd_share(conditions.climbers)
    loads, rows, nodes = person_pulls(frame, conditions.reach, person, climbed(frame, conditions), HOLD_MM)
    ranks = frame.tree.ranks[rows]
    stout = ranks <= BRANCH
    own = np.linalg.norm(dead[:, 3:, 0], axis=1) * on_dead / limit.bending
    shares = _own_shares(frame, places, rows, nodes, person * on_pull, limit)
    order = np.argsort(places.members, kind="stable")
    ends = np.searchsorted(places.members[order], np.arange(len(frame.tree) + 1))
    for at in np.flatnonzero((ranks == BRANCH) & (shares > 0.0)).tolist():
        mine = order[ends[rows[at]] : ends[rows[at] + 1]]
        nodes[at] = _borne(frame, places, mine, int(nodes[at]), person * on_pull, limit, own)
    heavy = np.flatnonzero(stout & (person > 0.0))
    feet = [np.zeros((6, 0))]
    for first in range(0, len(heavy), _BATCH):
        some = heavy[first : first + _BATCH]
        found = forces(frame, loads(nodes[some]))
        alone = places.of(found)
        feet.append(found.beyond[0])
        both = alone * on_pull + dead * on_dead
        if iced is not None:
            both += iced * pull_ice(conditions)
        labels = tuple(f"pull on {tag}" for tag in frame.tree.tags[rows[some]].tolist())
        worst.see([CaseSet(name, both.__getitem__, labels)], places, limit)
    bending = np.flatnonzero((ranks >= BRANCH) & (shares > 1.0))
    return Pulled(rows[stout], rows[bending], shares[bending], np.concatenate(feet, axis=1))


def _own_shares(
    frame: Frame, places: CrossSections, rows: Ints, nodes: Ints, force: float, limit: Resistance
) -> Floats:
    """Return how far a pull at `nodes` uses up each member's own bending resistance: (n,)."""
    at = np.full(len(frame.tree), -1, dtype=np.int64)
    at[rows] = nodes
    mine = np.flatnonzero(at[places.members] >= 0)
    hand, here = at[places.members[mine]], places.nodes[mine]
    moment = force * _levers(frame, hand, here) * (here <= hand)
    most = np.zeros(len(frame.tree))
    np.maximum.at(most, places.members[mine], moment / limit.bending[mine])
    return most[rows]


def _levers(frame: Frame, hands: Ints, cross_sections: Ints) -> Floats:
    """Return the lever, mm, of a pull at nodes about others, of whatever matching shapes."""
    shape = np.broadcast_shapes(hands.shape, cross_sections.shape)
    ahead = np.broadcast_to(frame.points[hands], (*shape, 3)) - frame.points[cross_sections]
    pull = pull_toward(frame, hands.ravel()).reshape(*hands.shape, 3)
    return np.asarray(np.linalg.norm(np.cross(ahead, np.broadcast_to(pull, (*shape, 3))), axis=-1))


def _borne(
    frame: Frame, places: CrossSections, mine: Ints, node: int, force: float, limit: Resistance, own: Floats
) -> int:
    """Return the furthest node of a member, up to `node`, at which a pull and its `own` weight do not bend it anywhere.

    mine: its cross-sections. Its first node in reach where it bears the pull nowhere.
    """
    here = places.nodes[mine]
    sites = np.unique(here[here <= node])
    share = force * _levers(frame, sites[:, None], here[None, :]) / limit.bending[mine] * (here <= sites[:, None])
    # A quarter is left for axial force, torsion and shear, which the checks add.
    bears = sites[(share + own[mine]).max(axis=1) <= 0.75]
    return int(bears[-1] if len(bears) else sites[0])


def handled(
    frame: Frame, places: CrossSections, dead: Loads, conditions: Conditions, worst: Worst, limit: Resistance
) -> None:
    """Show `worst` the tree hanging from the hook and lying on it: its weight sideways, four ways round.

    Lying, it rests on its foot and hangs in a sling on the trunk at the joint nearest above the centre of gravity, or
    at the topmost joint.
    """
    factor, name = handling(conditions)
    toward = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [-1.0, 0.0, 0.0], [0.0, -1.0, 0.0]])
    # Own weight is one case along -z; its size, turned four ways, is four cases.
    assert dead.lines is not None
    lying = Loads(-dead.points[:, 2:3] * toward.T, -dead.lines[:, :, 2:3] * toward.T)
    foot = forces(frame, lying).beyond[0]
    node = _sling(frame, foot)
    if node < 0:
        return
    sling = no_loads(frame, 4)
    # The sling takes the moment off the foot: for weight along +x that moment is about +y.
    lever = float(frame.points[node, 2])
    sling.points[node] = -(foot[4] * toward[:, 0] - foot[3] * toward[:, 1]) / lever * toward.T
    rows = places.of(forces(frame, lying + sling)) * factor
    labels = tuple(f"lying, slung at {lever:.0f} mm, weight toward {angle} deg" for angle in (0, 90, 180, 270))
    worst.see([CaseSet(f"lifting, {name}", rows.__getitem__, labels)], places, limit)


def _sling(frame: Frame, foot: Floats) -> int:
    """Return the trunk's joint that a sling goes round, -1 for a trunk without joints."""
    joints = frame.joints[frame.members[frame.joints] == 0]
    if not len(joints):
        return -1
    height = foot[4, 0] / foot[0, 0]
    above = joints[frame.points[joints, 2] >= height]
    return int(above[0] if len(above) else joints[-1])
