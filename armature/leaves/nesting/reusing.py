"""Whether a layout kept from an earlier run may be used again: it is proven anew, whoever wrote the file last."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from armature.leaves.nesting.plates import Layout, Plate, Rules, allowed_turns, counts_on, plate_faults
from armature.leaves.outline import Design

Size = tuple[float, float]
_TURN = 0.01
_SHOWN = 3


def layout_faults(
    layout: Layout,
    designs: Sequence[Design],
    counts: Sequence[int],
    sizes: Sequence[Size],
    offcuts: Sequence[Size],
    rules: Rules,
) -> list[str]:
    """Return what is wrong with a layout, a line each; empty where every leaf lies once, on a plate on hand, by the
    rules.

    counts: leaves wanted of each design. sizes, offcuts: plates that can be bought, and pieces that are there once.
    """
    known = {d.number for d in designs}
    strange = sorted({int(n) for p in layout.plates for n in p.designs} - known)
    if strange:
        return [f"there is no leaf design {strange[0]}"]
    faults = [*_miscounted(layout, designs, counts), *_off_hand(layout.plates, sizes, offcuts)]
    seen: dict[int, Plate] = {}
    for number, plate in enumerate(layout.plates, 1):
        if id(plate) not in seen:
            seen[id(plate)] = plate
            faults += [f"plate {number}: {words}" for words in _broken(plate, designs, rules)]
    return faults


def _miscounted(layout: Layout, designs: Sequence[Design], counts: Sequence[int]) -> list[str]:
    laid = sum((counts_on(p, designs) for p in layout.plates), np.zeros(len(designs), dtype=np.int64))
    return [
        f"{lying} leaves of design {d.number}, {wanted} are wanted"
        for d, lying, wanted in zip(designs, laid.tolist(), counts, strict=True)
        if lying < wanted
    ]


def _off_hand(plates: Sequence[Plate], sizes: Sequence[Size], offcuts: Sequence[Size]) -> list[str]:
    bought, once = [_size(s) for s in sizes], [_size(s) for s in offcuts]
    faults = []
    for number, plate in enumerate(plates, 1):
        size = _size((plate.width, plate.height))
        if size in once:
            once.remove(size)
        elif size not in bought:
            faults.append(f"plate {number}: no plate of {size[0]:g} x {size[1]:g} mm is left on hand")
    return faults


def _size(size: Size) -> Size:
    return round(float(size[0]), 3), round(float(size[1]), 3)


def _broken(plate: Plate, designs: Sequence[Design], rules: Rules) -> list[str]:
    upright = 90.0 if plate.height > plate.width else 0.0
    if rules.rotation != "free":
        allowed = np.array(allowed_turns(rules, 1.0)) + upright
        off = np.abs((plate.turns[:, None] - allowed + 180.0) % 360.0 - 180.0).min(axis=1, initial=360.0)
        if (off > _TURN).any():
            return [f"leaf {int(np.argmax(off)) + 1} is turned against the rotation `{rules.rotation}`"]
    words = []
    for fault in plate_faults(plate, designs, rules)[:_SHOWN]:
        which = " and ".join(str(k + 1) for k in fault.leaves)
        if fault.rule == "web":
            words.append(f"leaves {which} lie {fault.value:.2f} mm apart, the web is {rules.web:g} mm")
        else:
            words.append(f"leaf {which} lies over the margin of {rules.margin:g} mm")
    return words
