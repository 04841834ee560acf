"""shaping.pdf: a sheet for each design from flat blank to hung leaf, and one for the loop."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from armature.commission import Commission
from armature.edge import System, format_length, format_thin
from armature.leaves import LeafPlan, Shaped, shaped, shaping_words
from armature.leaves.outline import Design
from armature.papers import ACCENT, GREY, INK
from armature.papers.leaves.drawn import curve
from armature.papers.leaves.folio import EDGE, Folio


def write_shaping(file: Path, plan: LeafPlan, commission: Commission) -> None:
    """Write a sheet for each design, outline, section and profile at full size with steps, and one for the loop."""
    folio = Folio(commission.title, "The loop, and how it closes", commission.units)
    _loop(folio, plan, commission)
    for design, panels in zip(plan.designs, plan.panels, strict=True):
        outline = commission.leaves.outline
        shape = shaped(design, outline.dish, outline.curl, panels[0] if panels else None)
        folio.next_page(f"Shape design {design.number}, {design.name}")
        _drawings(folio, design, shape)
        _steps(folio, design, shape, commission, bool(panels))
    folio.saved(file)


def _both(mm: float, units: System) -> str:
    """A size as the shop reads it, in inches with mm beside."""
    if mm < 12.0:
        return format_thin(round(mm, 1), units)
    return f"{format_length(mm, units)} ({mm:.0f} mm)" if units == "inch" else format_length(mm, units)


def _loop(folio: Folio, plan: LeafPlan, commission: Commission) -> None:
    leaves, units = commission.leaves, commission.units
    part = plan.parts[0]
    folio.say(f"{part.count} loops of steel wire {_both(leaves.wire, units)}, {_both(leaves.loop, units)} wide inside, "
              f"{_both(part.stock_mm, units)} of wire each; the hole in the leaf is "
              f"{_both(leaves.eye, units)}.")  # fmt: skip
    folio.say(plan.contact.words)
    keeps = {
        "bush": "Press the bush into the eye from the back before the loop goes through; it must turn freely.",
        "sleeve": "Slide the sleeve over the wire before the loop is bent; it must cover all that touches the leaf.",
        "ring": "Hang the leaf from the coated ring, and the ring from the loop.",
        "none": "Leaf and loop touch: nothing is put between.",
    }
    folio.heading("Make")
    folio.steps(
        [
            f"Wind the wire close on a rod of {_both(leaves.loop, units)} and saw the turns apart along the rod.",
            "File both ends flat: they meet in full and leave no hook for a sleeve or a finger.",
            keeps[leaves.hang.isolation],
        ]
    )
    folio.heading("Close, cold")
    folio.steps(
        [
            "Two pliers, jaws taped, one on each side of the gap.",
            "The loop is tacked under its twig, gap beside the tack, left open by the smith and painted with the tree.",
            "Open it sideways, one end toward you and one away, no wider than the sheet and what keeps it apart.",
            "Through the eye, back sideways and a little past, so that the ends spring together; touch up the paint.",
            "Try: no light through the gap, the leaf swings to both sides and comes back to rest.",
        ]
    )
    folio.heading("Open again, years later")
    folio.say("Sideways with the same two pliers, no torch: heat burns lacquer, bush and sleeve, and draws the "
              "colour. A loop "
              "that was opened twice is replaced.")  # fmt: skip


def _drawings(folio: Folio, design: Design, shape: Shaped) -> None:
    low_x, low_y, high_x, high_y = design.shape.bounds
    top = folio.down
    at = (EDGE - low_x + 2.0, top + high_y)
    curve(folio, design.outline, at)
    curve(folio, design.eye_path, at)
    for number, vein in enumerate(design.veins, 1):
        curve(folio, vein, at, 150, 0.18)
        x, y = vein.points[-1]
        folio.ink(GREY)
        folio.words(at[0] + float(x), at[1] - float(y), str(number), 9)
    profile = shape.profile - [shape.profile[:, 0].min(), 0.0]
    left = EDGE + (high_x - low_x) + 16.0
    folio.path([(left + float(a), top + high_y + float(b)) for a, b in profile], 0.6, ACCENT)
    folio.ink(GREY)
    folio.words(left, top + 2.0, "curl, full size, face to the right", 9)
    tall = max(high_y - low_y, 60.0)
    right = left + float(np.ptp(profile[:, 0])) + 14.0
    fits = right + float(np.ptp(shape.section[:, 0])) <= EDGE + folio.room
    # A large leaf leaves no room beside it: its hollow stands below.
    high = _hollow(folio, shape, right, top + 10.0) if fits else _hollow(folio, shape, EDGE + 2.0, top + tall + 8.0)
    folio.ink(INK)
    folio.down = max(top + tall, high) + 10.0


def _hollow(folio: Folio, shape: Shaped, left: float, top: float) -> float:
    """Draw the hollow at full size with its left end there; where it ends below, mm."""
    section = shape.section
    middle, low = left + float(np.ptp(section[:, 0])) / 2, top + 4.0 + max(float(np.ptp(section[:, 1])), 16.0)
    folio.path([(middle + float(a), low - float(b)) for a, b in section], 0.6, ACCENT)
    folio.ink(GREY)
    folio.words(left, top, "hollow at the widest, full size", 9)
    folio.words(left, low + 8.0, "make a card of both curves and hold it to the leaf", 9)
    return low + 8.0


def _steps(folio: Folio, design: Design, shape: Shaped, commission: Commission, named: bool) -> None:
    units, metal = commission.units, commission.leaves.metal
    anneal, again, _ = shaping_words(metal)
    depth = float(np.ptp(shape.section[:, 1]))
    letters = "on the flat, after the veins and before the hollow"
    if not shape.letters_first:
        letters = "after the hollow, on a stake of its curve: struck flat they would bend out of true"
    steps = [
        f"Anneal: {anneal}; {again}.",
        (
            f"Veins: {len(design.veins)} lines with a liner chisel from the "
            f"{'back' if design.veins else 'face'}, on lead or "
            "pitch, midrib first, then in the order numbered."
        ),
    ]
    if named:
        steps.append(f"Name, if it bears one: {letters}. Its tag goes on the back, beside the stalk.")
    if np.isfinite(shape.radius):
        steps.append(f"Hollow: from the back on sandbag or stump, {_both(depth, units)} deep at the widest; a "
                     f"former of "
                     f"{_both(shape.radius, units)} radius gives it. Work from the edge in, in rounds.")  # fmt: skip
    curl = commission.leaves.outline.curl
    steps.append(f"Curl: over a round stake, {abs(curl):g} deg over the whole length, apex "
                 f"{'forward' if curl > 0 else 'back'}; "
                 "stalk and eye stay flat.")  # fmt: skip
    steps.append("Edges: file and rub until a glove does not catch.")
    folio.heading("Steps")
    folio.steps(steps)
    folio.heading("What shape does")
    grown = shape.deep - 0.5 * design.blade[1]
    folio.say(f"It hangs {_both(shape.shorter, units)} shorter and is {_both(shape.deep, units)} deep. Room to "
              f"swing was "
              f"reckoned for {_both(0.5 * design.blade[1], units)} thick in all, as a rod: "
              + ("it stays within that." if grown <= 0 else f"it is {_both(grown, units)} more, keep the curl "
                                                            f"shallower."))  # fmt: skip
    if named:
        folio.say(f"Under the longest line of letters the sheet bends {shape.letters:.2f} mm; up to 0.4 mm "
                  f"letters struck flat stay "
                  "true (common practice, no source).")  # fmt: skip
    folio.say("Torch: nothing that burns nearby, extraction, eyes. Chisel and mallet: eyes and ears.", grey=True)
