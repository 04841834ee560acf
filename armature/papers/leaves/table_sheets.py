"""table.pdf: what the owner of a borrowed cutting table needs to know, and a sheet to quote on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from armature.commission import Commission
from armature.edge import format_inches, format_length
from armature.leaves import LeafPlan
from armature.leaves.nesting import Cut, density, kinds_of
from armature.papers.leaves.folio import EDGE, Folio

# The piece that tells the kerf: its side and its hole, mm.
KERF_SIDE, KERF_HOLE = 50.0, 25.0
_CAUTION = (
    "Cutting tables arc, spit and fume: copper fume and dust are harmful, so extract and ventilate. Shaded eyes, "
    "gloves, nothing that burns nearby. Cut leaves have edges like knives."
)


def write_table_sheets(
    file: Path, plan: LeafPlan, commission: Commission, cuts: Sequence[Sequence[Cut]], layers: Mapping[str, str]
) -> None:
    """Write the sheets that go with the drawings: the job, the kerf, layers and order in words, a quote sheet, and
    each kind of plate as a picture. cuts: of each kind of plate. layers: what each layer is for."""
    folio = Folio(commission.title, "For the cutting table", commission.units)
    _job(folio, plan, commission)
    _kerf(folio, commission)
    folio.heading("Layers")
    folio.grid(("layer", "what it is for"), (1, 7), layers.items())
    _order(folio, commission)
    _quote(folio, plan, commission, cuts)
    for k in range(len(cuts)):
        _picture(folio, file.parent / f"plate-{k + 1:02d}.png", k, kinds_of(plan.layout.plates if plan.layout else ()))
    folio.saved(file)


def _job(folio: Folio, plan: LeafPlan, commission: Commission) -> None:
    leaves, plates = commission.leaves, plan.layout.plates if plan.layout else ()
    laid = sum(len(p) for p in plates)
    folio.say(
        f"{laid:,} leaves of {len(plan.designs)} designs from {len(plates)} sheets, {len(kinds_of(plates))} drawings. "
        f"{leaves.metal} {leaves.sheet}, {leaves.thickness:.2f} mm = {format_inches(leaves.thickness, 4)} thick."
    )
    folio.say("Drawings are in millimetres: one drawing unit is 1 mm, and 25.4 units are one inch. Each has a line of "
              "100 mm (3.937 in) below its sheet: measure it on the screen before the first cut.")  # fmt: skip
    drawn = "half a kerf outside the leaves: cut on the line" if leaves.plates.compensate else "the leaves themselves"
    folio.say(f"Outlines are drawn as {drawn}. Leaves keep {plates_gap(commission)} between them.")
    folio.say(_CAUTION)


def plates_gap(commission: Commission) -> str:
    """Return the web between two leaves in both units."""
    web = commission.leaves.plates.web
    return f"{web:g} mm ({format_inches(web)})"


def _kerf(folio: Folio, commission: Commission) -> None:
    rules = commission.leaves.plates
    folio.heading("First: the kerf test")
    folio.steps(
        (
            "Cut kerf-test.dxf from the same sheet, on the lines, with the table's own compensation off.",
            (
                f"Measure the square, A (drawn {KERF_SIDE:g} mm = {format_inches(KERF_SIDE, 4)}), and its hole, B "
                f"(drawn {KERF_HOLE:g} mm = {format_inches(KERF_HOLE, 4)}), each both ways."
            ),
            (
                f"The kerf is half of ({KERF_SIDE:g} - A) + (B - {KERF_HOLE:g}), in mm. Planned: {rules.kerf:g} mm = "
                f"{format_inches(rules.kerf, 4)}."
            ),
            (
                f"Up to {rules.web / 2:g} mm ({format_inches(rules.web / 2)}) the drawings may be cut as they are. "
                "Beyond it, or where A is not square within 0.2 mm, tell us: the leaves are laid anew."
            ),
            (
                f"Try the loop's wire, {commission.leaves.wire:g} mm ({format_inches(commission.leaves.wire)}), in the "
                "three holes: it must drop through the middle one. If only the largest takes it, tell us."
            ),
        )
    )


def _order(folio: Folio, commission: Commission) -> None:
    rules = commission.leaves.plates
    folio.heading("Order, heat and hold")
    folio.say(
        "Cut in the order drawn, eyes before outlines: no leaf follows one beside it, so that the sheet stays cool and "
        "flat. Do not let the table sort the cuts by the shortest way. Every cut has its lead-in in the waste."
    )
    if rules.tabs:
        tab = f"{rules.tab:g} mm ({format_inches(rules.tab)})"
        folio.say(f"Each outline is left standing at {rules.tabs} tabs of {tab}: they break by hand; file them flush.")
    if rules.pins:
        folio.say("Holes on the layer HOLD lie in the waste: screw or pin the sheet down through them before the rest.")
    if not rules.tabs and not rules.pins:
        folio.say("Leaves are cut free and drop, or tip: no tabs and no pins were asked for. Mind the torch's height.")


def _sides(wide: float, high: float) -> str:
    """Return the sides of a sheet in both units.

    >>> _sides(609.6, 304.8)
    '610 x 305 mm, 24" x 12"'
    """
    return f"{wide:.0f} x {high:.0f} mm, {format_length(wide, 'inch')} x {format_length(high, 'inch')}"


def _quote(folio: Folio, plan: LeafPlan, commission: Commission, cuts: Sequence[Sequence[Cut]]) -> None:
    rules, kinds = commission.leaves.plates, kinds_of(plan.layout.plates if plan.layout else ())
    folio.next_page("Quote sheet")
    rows, sums = [], [0.0, 0, 0.0, 0, 0]
    for k, ((plate, runs), each) in enumerate(zip(kinds, cuts, strict=True)):
        metres, pierces = sum(c.length for c in each) / 1000.0, 2 * len(each)
        minutes = metres * 1000.0 / rules.feed + pierces * rules.pierce / 60.0
        size = _sides(plate.width, plate.height)
        used = density([plate], plan.designs)
        rows.append(
            (f"plate-{k + 1:02d}", size, str(runs), str(len(plate)), f"{used:.0%}", f"{metres:.2f}", str(pierces),
             f"{minutes:.1f}", f"{runs * minutes / 60.0:.1f}")
        )  # fmt: skip
        for n, value in enumerate((metres, pierces, minutes, 1, len(plate))):
            sums[n] += runs * value
    rows.append(
        ("in all", "", f"{sums[3]:.0f}", f"{sums[4]:.0f}", "", f"{sums[0]:.0f}", f"{sums[1]:.0f}", f"{sums[2]:.0f}",
         f"{sums[2] / 60.0:.1f}")
    )  # fmt: skip
    heads = ("drawing", "sheet", "runs", "leaves", "used", "metres", "pierces", "minutes", "hours, all runs")
    folio.grid(heads, (2.2, 3.6, 1.1, 1.3, 1.1, 1.5, 1.5, 1.6, 2.2), rows, right=tuple(range(2, 9)))
    folio.say(
        f"Metres, pierces and minutes are of one run, in the last row of all: {sums[0]:.0f} m is "
        f"{sums[0] / 0.3048:,.0f} ft. Minutes at {rules.feed / 1000.0:g} m "
        f"({rules.feed / 304.8:.1f} ft) of cut a minute and {rules.pierce:g} s a pierce: put in your own."
    )
    for words in ("Price a metre", "Price a pierce", "Price an hour", "Set up, once", "Total", "Name, date"):
        folio.down += 5.0
        folio.say(words)
        folio.rule(EDGE + 50.0, folio.down - 4.0, 80.0, 0.2)


def _picture(folio: Folio, picture: Path, k: int, kinds: Sequence[tuple[object, int]]) -> None:
    runs = kinds[k][1]
    folio.next_page(f"plate-{k + 1:02d}, {'once' if runs == 1 else f'{runs} times'}")
    folio.say("Large: number of the design. Small: its place in the order of cutting.")
    folio.image(str(picture), EDGE, folio.down, w=folio.room, h=folio.low - folio.down, keep_aspect_ratio=True)
