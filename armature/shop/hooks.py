"""Where a section is hooked on: on bars that bear it, above its centre of gravity, spread round it.

Size letters: N slices, C candidates, Q choices of hooks, H hooks of one choice. Lengths are mm, masses kg, forces N
inside and kN on the record, angles degrees from level.

Strategy: one hook straight above the centre of gravity where a thick bar stands there, else two on either side of it,
else three round it. Choices are ranked by how hard they would bend the bars they sit on, and the first whose forces
pass the check everywhere in the section is taken. Where none does, the manner is eased step by step: branchlets that
pass the same check, then a lean, then a tripod of hooks at any height, then hanging on its side. Twigs are never used.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from armature.shop.boxes import Limits
from armature.shop.hanging import DYNAMIC, G, Hanging, hanging, leg_pulls
from armature.shop.sections import Section
from armature.tree import BRANCH, BRANCHLET, Floats, Ints, Tree, row_norms

_DOWN = np.array([0.0, 0.0, -1.0])
_CANDIDATES = 72
_FOR_THREE = 40
_TRIALS = 60
_LEAST_SHARE = {1: 1.0, 2: 0.25, 3: 0.15}
# Hooks nearer together than this, or than this share of the section's breadth, count as one.
_APART, _APART_SHARE = 300.0, 0.15
# The hook is drawn at least this far above the top, so that legs pass clear of the crown.
_CLEAR = 300.0
# A choked sling stays where it is on a bar that it pulls at more than this from along the bar; or under a joint.
_HOLDS = 60.0
_UNDER_JOINT = 200.0
_JOINT_SHARE = 0.3
_STANDS = 15.0
_HIGH = 0.3
# Hooks keep so many radii from where their bar begins: there sits the weld.
_FROM_END = 3.0
# The tail hook stands at least this far below the balance.
_BELOW = 100.0


@dataclass(frozen=True)
class _Manner:
    """How a section may hang; figures are common practice without a source.

    rank: thinnest rank to hook on. above: mm by which hooks stand over the centre of gravity, so that it does not turn
    over; three hooks round it hold it at any height. lean: degrees from plumb.
    """

    name: str
    rank: int
    above: float
    lean: float
    legs: tuple[int, ...] = (1, 2, 3)
    on_side: bool = False


_MANNERS = (
    _Manner("upright", BRANCH, 100.0, 5.0),
    _Manner("upright", BRANCHLET, 100.0, 5.0),
    _Manner("leaning", BRANCHLET, 50.0, 15.0),
    _Manner("tripod", BRANCHLET, -np.inf, 5.0, (3,)),
    _Manner("on its side", BRANCH, 50.0, 10.0, on_side=True),
    _Manner("on its side", BRANCHLET, 50.0, 15.0, on_side=True),
)


@dataclass(frozen=True, eq=False)
class Hook:
    """One place to hook on: row and station of the bar, point (3,), leg's force counted once, its length and angle.

    `lug` is true where a sling would slide along the bar: a lug is welded on there, designed for `design_kn`.
    """

    row: int
    station: float
    point: Floats
    lug: bool
    force_kn: float
    leg_mm: float
    angle_deg: float

    @property
    def design_kn(self) -> float:
        """What the lug and its weld have to bear, kN: the leg's force with the dynamic factor."""
        return DYNAMIC * self.force_kn


@dataclass(frozen=True, eq=False)
class Lift:
    """How one section is lifted as it will stand: its hooks, none where no bar will do and `fault` says so.

    apex: (3,) mm, the crane's hook over the section. tilt_deg: how far from plumb it hangs. use: share of what is
    allowed that the worst bar uses, the load counted twice, at `worst` (row, station). tail: the hook at the foot by
    which a section that travels lying is turned up, with its force while it still lies; None for one that travels
    standing. manner: "upright", "leaning" (made plumb by a leg's length, by hand), "tripod" (hooks not all above the
    balance: no leg may go slack) or "on its side" (turned in the air by a second hook, or by hand where it is light).
    down: (3,) gravity as the section sees it while it hangs.
    """

    hooks: tuple[Hook, ...]
    apex: Floats
    tilt_deg: float
    use: float
    worst: tuple[int, float]
    tail: Hook | None
    manner: str = "upright"
    down: tuple[float, float, float] = (0.0, 0.0, -1.0)
    fault: str = ""


@dataclass(frozen=True, eq=False)
class _Place:
    """C candidates: rows of slices (C,) and their points (C, 3); ease (C,): N that each bears a lever away."""

    rows: Ints
    points: Floats
    ease: Floats


def lift(tree: Tree, section: Section, yields: Floats, angle_deg: float, legs: int, limits: Limits) -> Lift:
    """Return how a section is lifted. yields: (M,) MPa of each member. legs: most legs of the sling.

    No leg stands under `angle_deg` from level. Where no choice passes, the lift has no hooks, and a fault says why.
    """
    hung = hanging(tree, section.slices, yields)
    best: Lift | None = None
    cradled: Lift | None = None
    for manner in _MANNERS:
        for turn in _turns(section) if manner.on_side else (np.eye(3),):
            lifted = _best(tree, hung.turned(turn), manner, angle_deg, legs)
            if lifted is not None and lifted.use <= 1.0:
                lifted = _turned_back(lifted, turn)
                if not manner.on_side:
                    lifted = _with_tail(tree, section, hung, lifted, limits)
                if not lifted.fault:
                    return lifted
                cradled = cradled or lifted
                continue
            if best is None or (lifted is not None and lifted.use < best.use - 1e-9):
                best = lifted
    return cradled or _unmet(hung, best)


def _best(tree: Tree, hanging_piece: Hanging, manner: _Manner, angle_deg: float, legs: int) -> Lift | None:
    """Return the first choice of hooks in a manner that passes, else the least strained one, None where none hangs."""
    places = _places(tree, hanging_piece, manner)
    best: Lift | None = None
    for count in manner.legs:
        if count > legs:
            break
        for chosen in _choices(hanging_piece, places, count, manner):
            lift = replace(_hung(tree, hanging_piece, places.rows[chosen], angle_deg), manner=manner.name)
            if any(hook.lug and tree.ranks[hook.row] > BRANCH for hook in lift.hooks):
                continue
            if best is None or lift.use < best.use - 1e-9:
                best = lift
            if lift.use <= 1.0:
                return best
    return best


def _turns(section: Section) -> list[Floats]:
    """Return rotations (3, 3) that lay a section on each side of its box, the flattest first."""
    turns = []
    for side in range(3):
        for sign in (1.0, -1.0):
            up = sign * section.box.axes[side]
            across = section.box.axes[(side + 1) % 3]
            turns.append(np.stack([across, np.cross(up, across), up]))
    return turns


def _turned_back(lift: Lift, turn: Floats) -> Lift:
    """Return a lift found on a turned section in the axes of the tree."""
    hooks = tuple(replace(hook, point=turn.T @ hook.point) for hook in lift.hooks)
    down = turn.T @ _DOWN
    return replace(lift, hooks=hooks, apex=turn.T @ lift.apex, down=(float(down[0]), float(down[1]), float(down[2])))


def _unmet(hanging_piece: Hanging, best: Lift | None) -> Lift:
    if best is None:
        words = "has no bars about its balance to hook on: an engineer designs a frame to lift it in"
        return Lift((), hanging_piece.slices.centre, 0.0, 0.0, (-1, 0.0), None, fault=words)
    words = f"would use {best.use:.1f} times what its bars bear: an engineer designs a frame to lift it in"
    return Lift((), best.apex, best.tilt_deg, best.use, best.worst, None, fault=words)


def _places(tree: Tree, hanging_piece: Hanging, manner: _Manner) -> _Place:
    """Return places on bars of the ranks and at the height asked for, those that bear most, spread out."""
    own = hanging_piece.slices
    good = (tree.ranks[own.members] <= manner.rank) & (own.points[:, 2] >= own.centre[2] + manner.above)
    rows = np.flatnonzero(good)
    starts = np.full(len(tree), np.inf)
    np.minimum.at(starts, own.members, own.stations)
    rows = rows[own.stations[rows] - starts[own.members[rows]] >= _FROM_END * own.radii[rows]]
    lever = own.stations[rows] - starts[own.members[rows]] + 2.0 * own.radii[rows]
    first = np.array([int(np.searchsorted(own.members, member)) for member in own.members[rows]], dtype=np.int64)
    ease = np.minimum(
        hanging_piece.moduli[first] * hanging_piece.limits[first] / np.maximum(lever, 1.0),
        hanging_piece.moduli[rows] * hanging_piece.limits[rows] / 50.0,
    )
    kept = np.sort(np.lexsort((rows, -np.round(ease, 3)))[: 6 * _CANDIDATES])
    spread = kept[:: max(len(kept) // _CANDIDATES, 1)]
    return _Place(rows[spread], own.points[rows[spread]], ease[spread])


def _choices(hanging_piece: Hanging, places: _Place, count: int, manner: _Manner) -> list[Ints]:
    """Return the best choices of so many hooks as places in the candidates, easiest on the bars first."""
    points, weight = places.points, hanging_piece.mass * G
    centre = hanging_piece.slices.centre
    most = len(points)
    if count == 3 and most > _FOR_THREE:
        pool = np.sort(np.lexsort((np.arange(most), -np.round(places.ease, 3)))[:_FOR_THREE])
    else:
        pool = np.arange(most)
    sets = np.array(list(combinations(pool.tolist(), count)), dtype=np.int64).reshape(-1, count)
    if not len(sets):
        return []
    corners = points[sets]
    shares, aside, height = _balanced(corners, centre)
    # Three hooks fix the hook over the balance: none of it is left to lean.
    tilt = np.zeros(len(sets)) if count == 3 else np.degrees(np.arctan2(aside, np.maximum(height, 1e-9)))
    good = (shares.min(axis=1) >= _LEAST_SHARE[count] - 1e-9) & (tilt <= manner.lean)
    breadth = float(np.ptp(hanging_piece.slices.points[:, :2], axis=0).max())
    apart = max(_APART, _APART_SHARE * breadth)
    for a, b in combinations(range(count), 2):
        good &= row_norms(corners[:, a, :2] - corners[:, b, :2]) >= apart
    strain = (DYNAMIC * weight * shares / places.ease[sets]).max(axis=1) + 0.02 * tilt
    if count == 1:
        # A hook straight over the balance hardly bends its bar.
        strain = strain / 10.0
    # Of hooks as easy on the bars, the higher ones hold steadier.
    strain = strain - _HIGH * height / max(float(np.ptp(hanging_piece.slices.points[:, 2])), 1.0)
    order = np.lexsort((np.arange(len(sets)), np.round(strain, 4)))
    return [sets[at] for at in order[good[order]][:_TRIALS]]


def _balanced(corners: Floats, centre: Floats) -> tuple[Floats, Floats, Floats]:
    """Return each leg's share (Q, H), how far the centre lies aside in plan (Q,) and how far below the hooks (Q,)."""
    flat = corners[..., :2] - centre[:2]
    count = corners.shape[1]
    if count == 1:
        shares = np.ones((len(corners), 1))
    elif count == 2:
        span = flat[:, 1] - flat[:, 0]
        length = np.maximum(np.einsum("qi,qi->q", span, span), 1e-9)
        second = -np.einsum("qi,qi->q", flat[:, 0], span) / length
        shares = np.stack([1.0 - second, second], axis=1)
    else:
        cross = np.stack([_cross(flat[:, (k + 1) % 3], flat[:, (k + 2) % 3]) for k in range(3)], axis=1)
        whole = cross.sum(axis=1)
        shares = cross / np.where(np.abs(whole) > 1e-6, whole, np.inf)[:, None]
    middle = np.einsum("qh,qhi->qi", shares, corners)
    return shares, row_norms(middle[:, :2] - centre[:2]), middle[:, 2] - centre[2]


def _cross(a: Floats, b: Floats) -> Floats:
    return np.asarray(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])


def _hung(tree: Tree, hanging_piece: Hanging, rows: Ints, angle_deg: float) -> Lift:
    """Return the lift on given slices (H,): legs to a hook over the balance, as steep as asked and clear of it."""
    own, points = hanging_piece.slices, hanging_piece.slices.points[rows]
    centre = own.centre
    shares, aside, height = _balanced(points[None], centre)
    over = shares[0] @ points[:, :2]
    away = row_norms(points[:, :2] - over)
    top = float(own.points[:, 2].max()) + _CLEAR
    high = max(float((points[:, 2] + np.tan(np.radians(angle_deg)) * away).max()), top)
    apex = np.array([over[0], over[1], high])
    pulls = leg_pulls(points, apex, hanging_piece.mass * G, centre)
    uses = hanging_piece.uses(hanging_piece.ways(rows), points, pulls, _DOWN)
    worst = int(np.argmax(uses))
    lines = row_norms(apex - points)
    hooks = tuple(
        _hook(
            tree,
            hanging_piece,
            row,
            pull,
            float(line),
            float(np.degrees(np.arcsin((high - hanging_piece.slices.points[row, 2]) / line))),
        )
        for row, pull, line in zip(rows.tolist(), pulls, lines, strict=True)
    )
    tilt = 0.0 if len(rows) == 3 else float(np.degrees(np.arctan2(aside[0], max(height[0], 1e-9))))
    return Lift(hooks, apex, tilt, float(uses[worst]), (int(own.members[worst]), float(own.stations[worst])), None)


def _hook(tree: Tree, hanging_piece: Hanging, row: int, pull: Floats, leg: float, angle: float) -> Hook:
    own = hanging_piece.slices
    member, station = int(own.members[row]), float(own.stations[row])
    lug = not _stays(tree, hanging_piece, row, pull)
    return Hook(member, station, own.points[row], lug, float(np.linalg.norm(pull)) / 1000.0, leg, angle)


def _stays(tree: Tree, hanging_piece: Hanging, row: int, pull: Floats) -> bool:
    """Return whether a choked sling stays: it pulls well across the bar, or a joint stops it where it would slide."""
    along = float(pull @ hanging_piece.tangents[row] / np.linalg.norm(pull))
    if abs(along) <= np.cos(np.radians(_HOLDS)):
        return True
    member, station = int(hanging_piece.slices.members[row]), float(hanging_piece.slices.stations[row])
    beyond = (tree.stations - station) * np.sign(along)
    stops = (tree.parents == member) & (beyond > 0.0) & (beyond <= _UNDER_JOINT)
    inside = np.isin(np.flatnonzero(stops), hanging_piece.slices.members)
    thick = tree.start_diameters[np.flatnonzero(stops)] >= _JOINT_SHARE * 2.0 * hanging_piece.slices.radii[row]
    return bool((inside & thick).any())


def _with_tail(tree: Tree, section: Section, hanging_piece: Hanging, lift: Lift, limits: Limits) -> Lift:
    """Return the lift with the hook at the foot by which a section that travels lying is turned up."""
    if travels_standing(section, limits):
        return lift
    own = hanging_piece.slices
    heads = np.array([hook.point for hook in lift.hooks])
    shares = np.array([hook.force_kn * np.sin(np.radians(hook.angle_deg)) for hook in lift.hooks])
    head = (shares / shares.sum()) @ heads
    root = np.flatnonzero(hanging_piece.before < 0)
    low = own.members == own.members[root[0]]
    rows = np.flatnonzero(low & (own.points[:, 2] < own.centre[2] - _BELOW))
    if not len(rows):
        return lift
    at = int(rows[np.argmin(np.round(own.points[rows, 2], 3))])
    lying = _lying(hanging_piece, head, own.points[at])
    share = float((head[2] - own.centre[2]) / (head[2] - own.points[at, 2]))
    pulls = -hanging_piece.mass * G * np.vstack([np.outer((1.0 - share) * shares / shares.sum(), lying), share * lying])
    ends = np.array([*[_nearest(hanging_piece, hook) for hook in lift.hooks], at])
    uses = hanging_piece.uses(hanging_piece.ways(ends), own.points[ends], pulls, lying)
    worst = int(np.argmax(uses))
    tail = _hook(tree, hanging_piece, at, pulls[-1], 0.0, 90.0)
    use, place = float(uses[worst]), (int(own.members[worst]), float(own.stations[worst]))
    if use < lift.use:
        use, place = lift.use, lift.worst
    words = (
        "" if use <= 1.0 else f"to be turned up in a cradle: on slings it would use {use:.1f} times what its bars bear"
    )
    return replace(lift, use=use, worst=place, tail=tail, fault=words)


def travels_standing(section: Section, limits: Limits) -> bool:
    """Return whether a section fits the truck as it will stand, within a few degrees."""
    upright = int(np.argmax(np.abs(section.box.axes[:, 2])))
    plumb = abs(float(section.box.axes[upright, 2])) >= np.cos(np.radians(_STANDS))
    return bool(plumb and section.box.sides[upright] <= limits.truck_mm[2] + 1e-6)


def _lying(hanging_piece: Hanging, head: Floats, tail: Floats) -> Floats:
    """Return which way gravity points, seen by the section, while it hangs level from head and tail: (3,)."""
    centre = hanging_piece.slices.centre
    share = (centre[2] - tail[2]) / (head[2] - tail[2])
    off = centre[:2] - (tail + share * (head - tail))[:2]
    size = float(np.linalg.norm(off))
    return np.array([off[0] / size, off[1] / size, 0.0]) if size > 1.0 else np.array([1.0, 0.0, 0.0])


def _nearest(hanging_piece: Hanging, hook: Hook) -> int:
    return int(np.argmin(row_norms(hanging_piece.slices.points - hook.point)))
