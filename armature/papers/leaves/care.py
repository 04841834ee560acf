"""The handover folder `care/`: what keeps the tree for generations, and what outlives the programs that drew it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from xml.sax.saxutils import escape

import numpy as np

from armature.commission import Commission
from armature.edge import format_length, format_thin
from armature.leaves import LeafPlan, shaping_words
from armature.papers import ACCENT, GREY, INK, drawable
from armature.papers.leaves.drawn import curve
from armature.papers.leaves.folio import EDGE, Folio
from armature.papers.leaves.places import SIDES, limb_rows, named_places
from armature.papers.leaves.proof import proof_lines
from armature.tree import LIMB, TWIG, Floats, Ints, sampled


def write_care_book(
    file: Path,
    plan: LeafPlan,
    commission: Commission,
    inspect: Sequence[str],
    value: Sequence[tuple[str, str]],
    rounds: Sequence[tuple[str, str]] = (),
) -> None:
    """Write care.pdf: finish and upkeep, inspection, a leaf lost, spares and stamps, and what it would cost to replace.

    inspect: what the strength report says. rounds: of inspection that it asks for, (when, what). value: rows of (what,
    amount) from the job's own prices.
    """
    folio = Folio(commission.title, "Care", commission.units)
    leaves = commission.leaves
    folio.heading(f"Leaves, {leaves.metal}: choose one finish, and keep to it")
    for option in shaping_words(leaves.metal)[2]:
        folio.say(option, indent=6.0, mark="-")
    folio.say("From memory and common practice, no source: the maker's sheet of a lacquer or wax and a trial "
              "piece hung outdoors "
              "for a winter have the last word.", grey=True)  # fmt: skip
    folio.heading("Look at it, every spring")
    folio.steps(
        [
            "Leaves: count them. Each swings free, none rattles on steel, no loop gapes, bushes and sleeves are whole.",
            (
                "Where a leaf has worn bright, or its hole is oval by a fifth, hang it on a new loop or move its "
                "neighbour."
            ),
            "Steel: paint that is chipped, blistered or rusty at welds and crotches, mended the same month.",
            "Foot: anchors tight, no crack in the grout, no water standing on the plate.",
            "After a storm or ice: the same, before people are let under it.",
        ]
    )
    if inspect:
        folio.heading("From the strength report")
        for words in inspect:
            folio.say(words, indent=6.0, mark="-")
    if rounds:
        folio.grid(("when", "look at"), (3.0, 5.0), rounds)
    folio.say("A design aid, no certificate: local codes rule, and a licensed engineer says how often and by "
              "whom the steel is "
              "inspected. Work at height with scaffold or lift and harness; nobody below.")  # fmt: skip
    folio.heading("A leaf lost or stolen")
    folio.say("again.pdf has a page for each design: outline at full size to prick through, and every name on "
              "it with its letters "
              "and its place. A spare of the design may be in the box of spares: look there first.")  # fmt: skip
    wire = format_thin(leaves.wire, commission.units)
    folio.heading("Keep in a dry box, with this book")
    folio.steps(
        [
            (
                f"Two spare cuts of each of the {len(plan.designs)} designs, shaped and bare; "
                f"{leaves.lettering.people} or more "
                "sets of the letter stamps used."
            ),
            f"Loops: 20 of {wire} wire, and what keeps metals apart: {leaves.hang.isolation}.",
            "A piece of the sheet with the finish on it, and the paint's name and colour.",
            (
                "index.txt and plan.svg on paper and on two kinds of carrier: plain text and plain drawing need no "
                "program of ours."
            ),
        ]
    )
    folio.need(45.0)
    folio.heading("What it would cost to replace, from this job's own prices")
    folio.grid(("what", "amount"), (4, 2), value, right=(1,))
    folio.say(
        "For an insurer: without crane, site and profit unless the estimate holds them; reckon it anew every "
        "five years."
    )
    folio.saved(file)


def write_again(file: Path, plan: LeafPlan, commission: Commission, missing: list[str]) -> None:
    """Write again.pdf: a page for each design from which a lost leaf is made again."""
    lines = proof_lines(plan, commission)
    rows = {
        tag: int(d) for tag, d in zip(plan.tree.leaves.tags.tolist(), plan.tree.leaves.designs.tolist(), strict=True)
    }
    shown = [drawable(line.name, missing) for line in lines]
    folio = Folio(commission.title, "A leaf again", commission.units, shown)
    first = True
    for design in plan.designs:
        if not first:
            folio.next_page()
        first = False
        low_x, low_y, high_x, high_y = design.shape.bounds
        folio.heading(f"Design {design.number}, {design.name}: full size when printed without scaling")
        at = (EDGE - low_x + 4.0, folio.down + high_y)
        for path in (design.outline, design.eye_path):
            curve(folio, path, at)
        for vein in design.veins:
            curve(folio, vein, at, 150, 0.18)
        x, keep = EDGE + (high_x - low_x) + 16.0, folio.down
        folio.ink(INK)
        sheet = f"{commission.leaves.metal} {commission.leaves.sheet}, {commission.leaves.thickness:.2f} mm"
        texts = (sheet, "snips or saw, file, liner chisel, mallet,", "sandbag, letter stamps, two pliers", "",
                 "No torch near the tree: lacquer burns, and", "heat draws the colour. Shape it on the bench,",
                 "hang it cold; see shaping.pdf for steps.")  # fmt: skip
        for k, text in enumerate(texts):
            folio.words(x, keep + 5.0 + 5.2 * k, text, 10)
        folio.rule(x, keep + 46.0, 50.0, 0.3)
        folio.words(x, keep + 50.0, "50 mm: measure it", 9)
        folio.down = keep + max(high_y - low_y, 56.0) + 8.0
        own = [line for line in lines if rows[line.leaf] == design.number]
        if own:
            cells = (
                (drawable(line.name, missing), drawable(" / ".join(line.lines), missing), line.letters, line.where)
                for line in own
            )
            folio.grid(("name", "as struck", "letters", "place"), (2.4, 2.6, 1.8, 3.2), cells, 9.5)
        else:
            folio.say("No name hangs on this design.")
    folio.saved(file)


def index_text(plan: LeafPlan, commission: Commission) -> str:
    """Return index.txt: every name with its leaf, letters and place, as plain text that any machine can read."""
    lines = [
        commission.title,
        "Index of names. Plain text, UTF-8. Heights above ground; sides take x as east and y as north.",
        "A leaf's tag: limb, branch, twig, number of the leaf from the twig's foot.",
        "",
    ]
    for line in proof_lines(plan, commission):
        said = f"; {line.gift}" if line.gift else ""
        lines.append(f"{line.name} | {line.leaf} | {' / '.join(line.lines)} | {line.where}{said}")
    return "\n".join(lines) + "\n"


def plan_drawing(plan: LeafPlan, commission: Commission) -> str:
    """Return plan.svg: the crown from above with limbs, branches and a numbered dot for each name, to keep or engrave.

    1 unit is 1 mm of paper; strokes alone, no fonts but plain ones, no script.
    """
    tree = plan.tree
    drawn = sampled(tree.chains, 3.0)
    reach = float(np.abs(drawn.points[:, :2]).max(initial=1000.0)) * 1.05
    scale = 180.0 / (2 * reach)

    def place(x: float, y: float) -> str:
        return f"{100.0 + x * scale:.2f},{100.0 - y * scale:.2f}"

    parts = []
    for row in range(len(tree)):
        if tree.ranks[row] >= TWIG:
            continue
        points = drawn.points[drawn.offsets[row] : drawn.offsets[row + 1]]
        path = " ".join(place(float(x), float(y)) for x, y, _ in points)
        width = max(float(tree.start_diameters[row]) * scale, 0.25)
        parts.append(f'<polyline points="{path}" stroke-width="{width:.2f}"/>')
    names, texts = named_places(plan, commission.units), []
    for number, one in enumerate(names, 1):
        x, y = place(*plan.hung.eyes[one.row, :2].tolist()).split(",")
        parts.append(f'<circle cx="{x}" cy="{y}" r="0.5"/>')
        texts.append(f'<text x="{float(x) + 0.7:.2f}" y="{float(y) + 0.4:.2f}">{number}</text>')
    for limb in np.flatnonzero(tree.ranks == LIMB).tolist():
        x, y = place(*tree.tips[limb, :2].tolist()).split(",")
        texts.append(f'<text x="{x}" y="{y}" font-size="5">{escape(str(tree.tags[limb]))}</text>')
    deep = 212.0 + 3.2 * -(-len(names) // 3)
    index = [
        f'<text x="{6 + 64 * (k % 3)}" y="{212 + 3.2 * (k // 3):.1f}">{k + 1} {escape(one.name)}</text>'
        for k, one in enumerate(names)
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="{deep:.0f}mm" viewBox="0 0 200 {deep:.0f}">\n'
        f"<title>{escape(commission.title)}: plan of the crown, north up</title>\n"
        '<g fill="none" stroke="#000" stroke-linecap="round">\n' + "\n".join(parts) + "\n"
        '<path d="M 190 22 V 8 l -2 4 M 190 8 l 2 4" stroke-width="0.4"/></g>\n'
        '<g font-family="sans-serif" font-size="1.6" fill="#000">\n<text x="188.6" y="27" font-size="4">N</text>\n'
        f'<text x="6" y="10" font-size="5">{escape(commission.title)}</text>\n'
        + "\n".join([*texts, *index])
        + "\n</g>\n</svg>\n"
    )


def write_album(file: Path, plan: LeafPlan, commission: Commission, missing: list[str]) -> None:
    """Write album.pdf: a page for each limb with its place in the tree, its names, and room for a photograph."""
    names = named_places(plan, commission.units)
    folio = Folio(
        commission.title, "Album for those who gave", commission.units, [drawable(n.name, missing) for n in names]
    )
    tree, limbs = plan.tree, limb_rows(plan.tree)
    drawn = sampled(tree.chains, 10.0)
    own = np.unique(limbs[tree.leaves.twigs]) if len(tree.leaves) else np.zeros(0, dtype=np.int64)
    for number, limb in enumerate(own.tolist()):
        if number:
            folio.next_page()
        tag = str(tree.tags[limb])
        mine = [n for n in names if n.limb == tag]
        folio.heading(f"Limb {tag}: {len(mine)} names" if mine else f"Limb {tag}")
        high = 105.0
        _side_view(folio, plan, drawn.points, drawn.offsets, limbs, limb, high)
        folio.ink(GREY, 0.3)
        folio.rect(EDGE + folio.room * 0.52, folio.down, folio.room * 0.48, high)
        folio.words(EDGE + folio.room * 0.54, folio.down + 6.0, "photograph of the finished limb", 9)
        folio.down += high + 8.0
        rows = ((drawable(n.name, missing), n.high, SIDES[n.side], n.tag) for n in mine)
        if mine:
            folio.grid(("name", "height", "side", "leaf"), (4, 1.5, 1.8, 1.5), rows)
    folio.saved(file)


def _side_view(
    folio: Folio, plan: LeafPlan, points: Floats, offsets: Ints, limbs: Ints, limb: int, high: float
) -> None:
    """The tree from the side that shows the limb broadest, the limb in colour."""
    tree = plan.tree
    mine = np.concatenate([points[offsets[r] : offsets[r + 1]] for r in np.flatnonzero(limbs == limb)])
    out = mine[:, :2].mean(axis=0)
    across = np.array([-out[1], out[0]]) if np.hypot(*out) < 1.0 else out / np.hypot(*out)
    flat = np.stack([points[:, :2] @ across, points[:, 2]], axis=1)
    scale = min(high / max(float(flat[:, 1].max()), 1.0), folio.room * 0.48 / max(float(np.ptp(flat[:, 0])), 1.0))
    left, low = EDGE - float(flat[:, 0].min()) * scale, folio.down + high
    for row in range(len(tree)):
        part = flat[offsets[row] : offsets[row + 1]]
        width = max(float(tree.start_diameters[row]) * scale, 0.12)
        colour = ACCENT if limbs[row] == limb and tree.ranks[row] >= LIMB else GREY
        folio.path([(left + float(a) * scale, low - float(b) * scale) for a, b in part], width, colour)


def value_rows(plan: LeafPlan, commission: Commission, total: float | None, currency: str) -> list[tuple[str, str]]:
    """Return what it would cost to replace: the whole by the job's estimate, and a leaf by metal; told where
    no price is
    given."""
    rows = [
        ("the whole tree, by the estimate of the job", "no prices given" if not total else f"{total:,.0f} {currency}")
    ]
    count = max(len(plan.tree.leaves), 1)
    mean = float(plan.hung.masses.mean()) if len(plan.tree.leaves) else 0.0
    price = commission.shop.buying.leaf_price
    each = "no price of leaf metal given" if price is None else f"{price * mean * 1.5:,.2f} {currency}"
    rows.append((f"metal of one leaf, half as much again for waste ({mean * 1000:.0f} g)", each))
    rows.append((f"leaves in all, {format_length(commission.leaves.length, commission.units)} long", f"{count:,}"))
    return rows
