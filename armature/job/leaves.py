"""The leaf maker's folder: plates, lists, drawings, the finder, and what to look at."""

from __future__ import annotations

import shutil
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from armature.commission import Commission
from armature.files import (
    LAYER_WORDS,
    Finding,
    Holding,
    blanks_csv,
    designs_csv,
    leaves_csv,
    parts_csv,
    plate_name,
    plates_csv,
    sheet_words,
    stamping_csv,
    unplaced_csv,
    write_kerf_dxf,
    write_plate_dxf,
    write_plate_picture,
)
from armature.job.bench_folder import bench_texts
from armature.leaves import LeafPlan, panels_text
from armature.leaves.naming import SCRAP, Note, changes_since, to_strike
from armature.leaves.nesting import Cut, density, kinds_of, layout_text, pins, placed_shapes, plate_cuts
from armature.leaves.outline import designs_text

LAYOUT = "plates.json"
NAME_FILES = ("stamping.csv", "finder.html", "unplaced.csv", "stamping.pdf", "names.pdf", "names.xlsx")
OUTLINES = "outlines.json"
PANELS = "panels.json"
_SHOWN = 200
_SQUARE_FOOT = 304.8**2


def write_leaves(
    plan: LeafPlan,
    commission: Commission,
    folder: Path,
    told: Callable[[int, int], None] | None = None,
    papers: bool = True,
) -> None:
    """Write the leaves' part of a job into a folder: lists always, plates and names where there are any.

    told: called with the plates written so far and in all, for a progress bar. papers: whether to print, too.
    """
    folder.mkdir(parents=True, exist_ok=True)
    cuts = write_plates(plan, commission, folder, told)
    texts = {
        "leaves.csv": leaves_csv(plan),
        "designs.csv": designs_csv(plan),
        "parts.csv": parts_csv(plan),
        OUTLINES: designs_text(plan.designs),
    }
    if plan.layout is not None:
        rates = commission.leaves.plates.feed, commission.leaves.plates.pierce
        texts |= {"plates.csv": plates_csv(plan, cuts, *rates), "blanks.csv": blanks_csv(plan)}
        texts[LAYOUT] = layout_text(plan.layout)
    if any(plan.panels):
        texts[PANELS] = panels_text(plan.panels, plan.designs, commission)
    texts |= bench_texts(plan.bench, plan)
    missing = write_names(plan, commission, folder, papers)
    if papers:
        from armature.papers.leaves import write_shaping

        write_shaping(folder / "shaping.pdf", plan, commission)
        write_bench_papers(plan, commission, folder, missing)
    texts["notes.md"] = leaf_notes(plan, commission, missing)
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")


def write_names(plan: LeafPlan, commission: Commission, folder: Path, papers: bool = True) -> list[str]:
    """Write stamping list and finder where there are names, and, where papers are asked for, drawings, the printed list
    and the proof; return signs without a font."""
    if plan.names is None:
        return []
    from armature.papers.leaves import finder_page, write_name_sheet

    files = {name: folder / name for name in NAME_FILES}
    for file in files.values():
        # A file may share its bytes with an older folder: it is replaced, never written through.
        if file.name != "unplaced.csv" or plan.assignment is not None:
            file.unlink(missing_ok=True)
    paper = "letter" if commission.units == "inch" else "a4"
    files["stamping.csv"].write_text(stamping_csv(plan), encoding="utf-8", newline="\n")
    files["finder.html"].write_text(finder_page(plan, commission), encoding="utf-8", newline="\n")
    if plan.assignment is not None:
        files["unplaced.csv"].write_text(unplaced_csv(plan.assignment), encoding="utf-8", newline="\n")
    write_name_sheet(files["names.xlsx"], plan, commission)
    if not papers:
        return []
    from armature.papers.leaves import proof_page, write_name_list, write_proof, write_stamping_drawings

    missing = write_stamping_drawings(files["stamping.pdf"], plan, commission.title, paper)
    write_name_list(files["names.pdf"], plan, commission)
    write_proof(folder / "proof.pdf", plan, commission, missing)
    _write_anew(folder / "proof.html", proof_page(plan, commission))
    _write_changed(folder / "changed.pdf", plan, commission)
    return missing


def write_bench_papers(plan: LeafPlan, commission: Commission, folder: Path, missing: list[str] | None = None) -> None:
    """Write what the benches work by: bins to count, who does what, and, once leaves hang, the hang list."""
    from armature.papers.leaves import bins_page, write_benches, write_bins, write_hang_list

    _write_anew(folder / "bins.html", bins_page(plan, commission))
    write_bins(folder / "bins.pdf", plan, commission)
    write_benches(folder / "benches.pdf", plan, commission)
    write_hang_list(folder / "hanging.pdf", plan, commission, missing or [])


def _write_anew(file: Path, text: str) -> None:
    file.unlink(missing_ok=True)
    file.write_text(text, encoding="utf-8", newline="\n")


def _write_changed(file: Path, plan: LeafPlan, commission: Commission) -> None:
    """Write stamping sheets for what has changed since the sheets were first printed, and nothing else."""
    file.unlink(missing_ok=True)
    wanted = set(to_strike(plan.bench.record))
    tags = plan.tree.leaves.tags.tolist()
    settings = tuple(s if tag in wanted else None for tag, s in zip(tags, plan.settings, strict=True))
    if plan.bench.record:
        from armature.papers.leaves import write_stamping_drawings

        paper = "letter" if commission.units == "inch" else "a4"
        write_stamping_drawings(file, replace(plan, settings=settings), commission.title, paper, "changed, batch")


def write_plates(
    plan: LeafPlan, commission: Commission, folder: Path, told: Callable[[int, int], None] | None = None
) -> list[list[Cut]]:
    """Write `plate-NN.dxf` and `plate-NN.png` for every kind of plate, and the table's package; the cuts of each."""
    rules = commission.leaves.plates
    kinds = kinds_of(plan.layout.plates) if plan.layout else []
    drawn = []
    for k, (plate, runs) in enumerate(kinds):
        cuts = plate_cuts(plate, plan.designs, rules.kerf / 2 * rules.compensate, rules.lead_in)
        name = plate_name(k)
        spots = pins(plate, placed_shapes(plate, plan.designs, 0.1)) if rules.pins else np.zeros((0, 2))
        holding = Holding(rules.tabs, rules.tab, rules.kerf, spots)
        words = sheet_words(plate, commission.units, runs, name)
        write_plate_dxf(folder / f"{name}.dxf", plate, cuts, plan.designs, holding, words)
        write_plate_picture(folder / f"{name}.png", plate, cuts)
        drawn.append(cuts)
        if told is not None:
            told(k + 1, len(kinds))
    if kinds:
        _write_table(plan, commission, folder, drawn)
    return drawn


def _write_table(plan: LeafPlan, commission: Commission, folder: Path, cuts: list[list[Cut]]) -> None:
    """Write `table/`: all that the owner of a cutting table gets, in a folder that can be sent as it is."""
    from armature.papers.leaves import KERF_HOLE, KERF_SIDE, write_table_sheets

    table, rules = folder / "table", commission.leaves.plates
    table.mkdir(exist_ok=True)
    for k in range(len(cuts)):
        for ending in ("dxf", "png"):
            shutil.copyfile(folder / f"{plate_name(k)}.{ending}", table / f"{plate_name(k)}.{ending}")
    eye = commission.leaves.eye
    note = ["kerf test: cut on the lines, no compensation; outside 50 mm, hole 25 mm", "holes beside it: try the wire"]
    write_kerf_dxf(table / "kerf-test.dxf", KERF_SIDE, KERF_HOLE, (eye - 0.5, eye, eye + 0.5), note)
    (table / "runs.csv").write_text(plates_csv(plan, cuts, rules.feed, rules.pierce), "utf-8", newline="\n")
    write_table_sheets(table / "table.pdf", plan, commission, cuts, LAYER_WORDS)


def leaf_notes(plan: LeafPlan, commission: Commission, missing: list[str]) -> str:
    """Return what a person should look at: counts, leaves that strike, names to check, metals, as Markdown."""
    leaves = commission.leaves
    limit = leaves.hang.strike
    over = plan.tree.leaves.tags[plan.hung.shares > limit + 1e-9].tolist()
    lines = [
        f"# Leaves of {_plain(commission.title)}",
        "",
        f"- {len(plan.tree.leaves)} leaves of {len(plan.designs)} designs, {leaves.metal} {leaves.sheet}",
        f"- {plan.hung.masses.sum():.1f} kg in all, {plan.hung.areas.sum() / 1e6:.2f} m2 on one face",
        f"- {int((plan.hung.moved != 0).sum())} hang points moved along their twigs to give leaves room",
        f"- {len(over)} leaves strike in over {limit:.0%} of their swing to {leaves.hang.swing:g} deg{_listed(over)}",
        f"- {plan.contact.words}",
    ]
    lines += _hanging(plan) + _plate_notes(plan) + _name_notes(plan, missing)
    caution = "Sheet metal has edges that cut: wear gloves and eye protection. Cutting tables arc and fume: ventilate."
    lines += ["", caution]
    return "\n".join(lines) + "\n"


# What may have been misread in a list of names, and would be stamped.
_UNREAD = ("looks like a heading, kept as a name", "columns not read")


def leaf_finding(plan: LeafPlan, strike: float) -> Finding:
    """Return what the leaves come to, for the summary; its notes are what to know before sheet is cut."""
    unplaced = plan.assignment.too_long if plan.assignment else ()
    strange = sum(bool(each.undrawn) for each in unplaced)
    short = len(unplaced) - strange
    named = plan.tree.leaves.names != ""
    waiting = int((named & (plan.grades == SCRAP)).sum())
    figures = {
        "leaves_kg": round(float(plan.hung.masses.sum()), 3),
        **({"plates": len(plan.layout.plates)} if plan.layout else {}),
    }
    notes = [f"{_names(short)} no leaf: leaves/unplaced.csv says what would fit"] if short else []
    if strange:
        whose = "1 name has" if strange == 1 else f"{strange} names have"
        notes.append(f"{whose} signs that no font on hand draws, and no leaf: leaves/unplaced.csv says which")
    guessed = [note for note in plan.names.notes if note.kind.startswith("not UTF-8")] if plan.names else []
    notes += [f"leaves.names is {note.kind}, as {_shown(note.names[0])} in row {note.rows[0]}" for note in guessed]
    unread = [note for note in plan.names.notes if note.kind in _UNREAD] if plan.names else []
    notes += [f"leaves.names, row {note.rows[0]}: {note.kind}: {', '.join(map(_shown, note.names))}" for note in unread]
    changes = changes_since(plan.bench.signed, plan.struck_lines)
    if changes:
        told = Counter(change.what for change in changes)
        words = ", ".join(f"{count} {what}" for what, count in sorted(told.items()))
        notes.append(f"names changed since they were signed: {words}: leaves/proof.pdf says which")
    notes += [f"{waiting} named leaves have to be cut again: leaves/again.csv"] if waiting else []
    notes += plan.layout.notes if plan.layout else ()
    striking = int((plan.hung.shares > strike + 1e-9).sum())
    if striking:
        notes.append(f"{striking} leaves strike in over {strike:.0%} of their swing: leaves/notes.md names them")
    return Finding(f"{len(named)} leaves of {len(plan.designs)} designs, {int(named.sum())} named", figures, notes)


def _shown(name: str) -> str:
    return repr(name if len(name) <= 60 else f"{name[:60]}…")


def _names(count: int) -> str:
    return "1 name fits" if count == 1 else f"{count} names fit"


def _hanging(plan: LeafPlan) -> list[str]:
    odd = [f"design {d.number} ({d.name}) hangs {d.hangs}" for d in plan.designs if d.hangs != "tip down"]
    return [f"- {text}" for text in odd] or ["- every design hangs tip down"]


def _plate_notes(plan: LeafPlan) -> list[str]:
    if plan.layout is None:
        return []
    sizes = Counter((p.width, p.height) for p in plan.layout.plates)
    each = ", ".join(f"{n} of {w:g} x {h:g} mm" for (w, h), n in sorted(sizes.items()))
    used = density(plan.layout.plates, plan.designs)
    laid, sheet = sum(len(p) for p in plan.layout.plates), sum(p.width * p.height for p in plan.layout.plates)
    share = f"{laid * _SQUARE_FOOT / sheet:.1f} from a square foot, {sheet / laid / 100:.0f} cm2 of sheet for each"
    rule = f"eight unlike leaves of a hand's size from a square foot, {_SQUARE_FOOT / 800:.0f} cm2 for each"
    drawings = len(kinds_of(plan.layout.plates))
    return [
        (
            f"- {len(plan.layout.plates)} plates ({each}), {used:.0%} of the sheet used, laid by {plan.layout.engine}; "
            f"drawings: {drawings}"
        ),
        f"- {laid} leaves with spares, {share}; common practice, no source: {rule}",
        *(f"- {_plain(note)}" for note in plan.layout.notes),
    ]


def _name_notes(plan: LeafPlan, missing: list[str]) -> list[str]:
    if plan.names is None or plan.assignment is None:
        return []
    names = plan.names
    lines = ["", "## Names", "", f"- {len(names)} names read as {names.encoding}, parted by {_sign(names.delimiter)}"]
    lines += list(
        dict.fromkeys(f"- {_plain(t.name)}: not placed; {_plain(t.advice)}" for t in plan.assignment.too_long)
    )
    by_method = Counter(s.method for s in plan.settings if s is not None)
    lines += [f"- {count} to {method}" for method, count in sorted(by_method.items())]
    if missing:
        signs = " ".join(_plain(m) for m in missing)
        lines.append(
            f"- no font on hand draws: {signs}; `pip install 'armature[scripts]'` brings fonts for more scripts"
        )
    lines += [_note_line(note) for note in names.notes[:_SHOWN]]
    if len(names.notes) > _SHOWN:
        lines.append(f"- and {len(names.notes) - _SHOWN} more of these")
    return lines


def _note_line(note: Note) -> str:
    rows = ", ".join(map(str, note.rows[:10])) + (" ..." if len(note.rows) > 10 else "")
    names = "; ".join(_plain(n) for n in dict.fromkeys(note.names))
    return f"- {note.kind}, row {rows}" + (f": {names}" if names else "")


def _listed(tags: list[str]) -> str:
    return f": {', '.join(tags[:20])}{' ...' if len(tags) > 20 else ''}" if tags else ""


def _sign(delimiter: str) -> str:
    return {",": "commas", ";": "semicolons", "\t": "tabs", "none": "lines"}[delimiter]


def _plain(text: str) -> str:
    """Text that Markdown shows as typed."""
    return "".join("\\" + sign if sign in "\\`*_{}[]<>#|&" else sign for sign in text)
