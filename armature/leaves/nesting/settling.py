"""Leaves pressed together and settled: laid too close at first, they push each other apart until every web holds.

Leaves are soft bodies. Points along each outline are looked up in the distance fields of the neighbours; a point
closer than the web is pushed back in proportion, its leaf moves and turns with it, and all leaves move at once down
the energy of these contacts (soft bodies: O'Hern, Silbert, Liu and Nagel, "Jamming at zero temperature and zero applied
stress", Physical Review E 68, 2003; the descent with inertia: Bitzek, Koskinen, Gaehler, Moseler and Gumbsch,
"Structural relaxation made simple", Physical Review Letters 97, 2006; both from memory). A leaf that cannot be helped
leaves the plate.

The same on every machine: sums, products and square roots only, in a fixed order. A leaf's turn is kept as cosine and
sine and turned on by a rational rotation, since sines differ in their last digit from processor to processor.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from armature.leaves.nesting.plates import Plate, Rules, plate_faults, taken
from armature.leaves.nesting.softness import Bodies, Heap, bodies
from armature.leaves.outline import Design

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
# Points 3 mm apart miss what lies between them, and fields are read between cells: so much is kept beside the web.
_COARSE, _FINE = 0.25, 0.12
_LEFT = 0.1
# How far a leaf may move, mm, before the list of near points is made again; the list reaches twice as far.
_SKIN = 2.0
_FIRST, _MORE = 500, 150
# Longest step in mm, and the pace of the descent, as the source has them.
_STRIDE, _PACE, _FASTEST = 1.0, 0.1, 0.35


def settled(plate: Plate, designs: Sequence[Design], rules: Rules) -> Plate:
    """Return the plate with its leaves moved and turned until web and margin hold; those that cannot be helped go.

    plate: leaves that lie a little too close. Where the rules allow no free rotation, leaves keep their turns.
    """
    for step, beside in ((3.0, _COARSE), (1.0, _FINE)):
        if len(plate) == 0:
            return plate
        plate = _relaxed(plate, designs, rules, step, beside)
    while faults := plate_faults(plate, designs, rules):
        plate = taken(plate, np.arange(len(plate)) != faults[0].leaves[0])
    return plate


def _relaxed(plate: Plate, designs: Sequence[Design], rules: Rules, step: float, beside: float) -> Plate:
    soft = bodies(designs, plate.designs, rules.web + beside, step)
    heap = _heap(plate, soft)
    free = rules.rotation == "free"
    room = (plate.width, plate.height, rules.margin + beside)
    steps = _FIRST
    while len(heap.x):
        heap, energy = _pressed(heap, soft, room, steps, free)
        if energy is None:
            break
        keep = np.arange(len(heap.x)) != int(np.argmax(energy))
        heap, soft, plate, steps = heap.taken(keep), soft.taken(keep), taken(plate, keep), _MORE
    return _laid(plate, heap, soft, free)


def _heap(plate: Plate, soft: Bodies) -> Heap:
    # Twelve digits, so that the last one of the library's sine does not matter.
    a = np.deg2rad(plate.turns)
    c, s = (np.asarray(np.round(wave(a), 12), dtype=np.float64) for wave in (np.cos, np.sin))
    cx, cy = soft.centres.T
    return Heap(plate.shifts[:, 0] + cx * c - cy * s, plate.shifts[:, 1] + cx * s + cy * c, c, s)


def _laid(plate: Plate, heap: Heap, soft: Bodies, free: bool) -> Plate:
    cx, cy = soft.centres.T
    x = heap.x - (cx * heap.cosine - cy * heap.sine)
    y = heap.y - (cx * heap.sine + cy * heap.cosine)
    turns = np.rad2deg(np.arctan2(heap.sine, heap.cosine)) % 360.0 if free else plate.turns
    return replace(plate, turns=np.round(turns, 4), shifts=np.round(np.stack([x, y], axis=1), 4))


def _pressed(
    heap: Heap, soft: Bodies, room: tuple[float, float, float], steps: int, free: bool
) -> tuple[Heap, Floats | None]:
    """Return the leaves after at most so many steps of descent, and the energy of each, None where all have room."""
    speed = np.zeros((3, len(heap.x)))
    pace, mixing, downhill = _PACE, 0.1, 0
    near, gone, energy = soft.near(heap, 2 * _SKIN), 0.0, np.zeros(0)
    for _ in range(steps):
        if gone > _SKIN / 2:
            near, gone = soft.near(heap, 2 * _SKIN), 0.0
        push, energy, deepest = soft.pushes(heap, near, room)
        if deepest < _LEFT:
            return heap, None
        if not free:
            push[2] = 0.0
        if float((push * speed).sum()) > 0.0:
            along = np.sqrt((speed * speed).sum() / max(float((push * push).sum()), 1e-12))
            speed = (1.0 - mixing) * speed + mixing * along * push
            downhill += 1
            if downhill > 5:
                pace, mixing = min(pace * 1.1, _FASTEST), mixing * 0.99
        else:
            speed[:] = 0.0
            pace, mixing, downhill = pace * 0.5, 0.1, 0
        speed += pace * push
        step = pace * speed
        longest = float(np.abs(step).max())
        if longest > _STRIDE:
            step *= _STRIDE / longest
        gone += min(longest, _STRIDE)
        heap = heap.moved(step[0], step[1], step[2] / soft.girths)
    return heap, energy
