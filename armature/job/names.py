"""Names and piles of a job, changed one word at a time: each command touches what it names, and nothing else.

Each opens the job, adds to its record, and writes the lists and papers of names anew, all or nothing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from armature.commission import Commission
from armature.edge import CommissionError, write_whole
from armature.files import csv_rows, design_json, hang_points_csv, leaves_csv, load
from armature.job.bench_folder import SIGNED, bench_texts, read_bench_folder
from armature.job.care import write_care_of_names
from armature.job.finished_leaves import kept_layout, kept_panels
from armature.job.folder import job_folder
from armature.job.grading import with_moves
from armature.job.leaves import LAYOUT, OUTLINES, write_bench_papers, write_names
from armature.job.striker import Striker
from armature.leaves import LeafPlan, kept_plan, read_given, relisted
from armature.leaves.naming import (
    GRADES,
    SCRAP,
    Bench,
    Event,
    NameList,
    Signed,
    changes_since,
    checked_name,
    folded,
    read_piles,
    read_table,
    recorded,
    signed_rows,
)
from armature.leaves.outline import read_designs

# Leaves from which a second process, half a second to start, is worth it: it prints half of the papers.
_LARGE = 600


@dataclass(frozen=True, eq=False)
class Said:
    """What a command has changed: lines to tell, and the tags of leaves to strike."""

    lines: tuple[str, ...]
    strike: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class _Desk:
    """A job opened: its folder, commission, plan, the bench's word, and the list of names as first given."""

    job: Path
    commission: Commission
    plan: LeafPlan
    bench: Bench
    given: NameList | None

    @property
    def hung(self) -> dict[str, str]:
        """Name by tag."""
        leaves = self.plan.tree.leaves
        return {t: n for t, n in zip(leaves.tags.tolist(), leaves.names.tolist(), strict=True) if n}

    def grade(self, tag: str) -> str:
        """Grade of the cut that a leaf got, best where nothing was counted."""
        rows = np.flatnonzero(self.plan.tree.leaves.tags == tag)
        grade = int(self.plan.grades[rows[0]])
        return GRADES[grade] if grade != SCRAP else "best"

    def design(self, tag: str) -> int:
        """Number of a leaf's design; raises CommissionError for a tag that hangs on no twig."""
        rows = np.flatnonzero(self.plan.tree.leaves.tags == tag)
        if len(rows) == 0:
            raise CommissionError("leaf", "no leaf of that tag hangs on the tree", tag)
        return int(self.plan.tree.leaves.designs[rows[0]])


def _open(job: Path) -> _Desk:
    tree, commission = load(job)
    folder = job / "leaves"
    designs, layout = read_designs(folder / OUTLINES), kept_layout(folder / LAYOUT)
    bench = read_bench_folder(folder)
    given = read_given(commission, plates=False).names
    names = recorded(given, bench.record)
    plan = kept_plan(commission, tree, designs, layout, bench, names, kept_panels(folder))
    desk = _Desk(job, commission, with_moves(plan, folder / "leaves.csv"), bench, given)
    return replace(desk, bench=replace(bench, held=desk.hung))


def _close(desk: _Desk, bench: Bench, free: Sequence[str] = ()) -> LeafPlan:
    """Write the job with the bench's new word; free: leaves whose names must go elsewhere. The plan as written."""
    plan = _relisted(desk, bench, free)
    folder = desk.job / "leaves"
    shown = replace(plan, bench=bench)
    with (
        job_folder(desk.job, leftovers="stay") as aside,
        Striker(len(plan.tree.leaves) >= _LARGE) as striker,
    ):
        _write(aside, shown, desk.commission)
        benches = striker.asked(write_bench_papers, shown, desk.commission, folder=aside / "leaves")
        care = None
        if (desk.job / "care").is_dir():
            care = striker.asked(write_care_of_names, aside / "care", shown, desk.commission)
        write_names(shown, desk.commission, aside / "leaves")
        benches.result()
        if care is not None:
            care.result()
    return replace(plan, bench=read_bench_folder(folder))


def _relisted(desk: _Desk, bench: Bench, free: Sequence[str] = ()) -> LeafPlan:
    bench = replace(bench, held={t: n for t, n in bench.held.items() if t not in free})
    return relisted(desk.plan, desk.commission, recorded(desk.given, bench.record), bench)


def _write(aside: Path, plan: LeafPlan, commission: Commission) -> None:
    folder = aside / "leaves"
    folder.mkdir(exist_ok=True)
    texts = {
        aside / "design.json": design_json(plan.tree, commission),
        aside / "hang_points.csv": hang_points_csv(plan.tree),
        folder / "leaves.csv": leaves_csv(plan),
        **{folder / name: text for name, text in bench_texts(plan.bench, plan).items()},
    }
    for path, text in texts.items():
        # What is linked must not be written through: the old folder stands until the new one is whole.
        path.unlink(missing_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")


def _logged(desk: _Desk, *events: Event) -> Bench:
    return replace(desk.bench, record=(*desk.bench.record, *events))


def _leaf_of(desk: _Desk, name: str, leaf: str | None) -> str:
    """The leaf of a name; where two bear it, the one that is told."""
    tags = [tag for tag, text in desk.hung.items() if folded(text) == folded(name)]
    if leaf is not None:
        if leaf not in tags:
            raise CommissionError("leaf", f"bears no such name; {name!r} hangs on {', '.join(tags) or 'no leaf'}", leaf)
        return leaf
    if not tags:
        raise CommissionError("name", "hangs on no leaf: struck off already, or spelled otherwise", name)
    if len(tags) > 1:
        raise CommissionError(
            "name", f"hangs on {len(tags)} leaves: say which with --leaf {' or --leaf '.join(tags)}", name
        )
    return tags[0]


def strike_names(job: Path, leaves: Sequence[str]) -> Said:
    """Mark leaves as struck: their names stay whatever else changes."""
    desk = _open(job)
    struck, events = desk.bench.struck(), []
    for tag in dict.fromkeys(leaves):
        desk.design(tag)
        if tag not in desk.hung:
            raise CommissionError("leaf", "bears no name to strike", tag)
        if tag in struck:
            raise CommissionError("leaf", f"is struck already, with {struck[tag]!r}", tag)
        events.append(Event("struck", tag, desk.hung[tag]))
    _close(desk, _logged(desk, *events))
    return Said((f"{len(events)} struck, {len(struck) + len(events)} of {len(desk.hung)} in all",))


def mend_strike(job: Path, leaf: str) -> Said:
    """Take in a wrong blow: the cut is spoiled, another of its design takes its place and is struck again."""
    desk = _open(job)
    design = desk.design(leaf)
    if leaf not in desk.hung:
        raise CommissionError("leaf", "bears no name: a cut that is spoiled without one is counted as scrap", leaf)
    event = Event("mistake", leaf, desk.hung[leaf], was=f"{design} {desk.grade(leaf)}")
    plan = _close(desk, _logged(desk, event))
    return Said((f"{desk.hung[leaf]} is struck again on {leaf}: {_next_cut(desk, plan, leaf, design)}",), (leaf,))


def _next_cut(desk: _Desk, plan: LeafPlan, leaf: str, design: int) -> str:
    """Where the next cut of a design comes from."""
    row = int(np.flatnonzero(plan.tree.leaves.tags == leaf)[0])
    if plan.dealt is not None:
        grade = int(plan.grades[row])
        return f"take design {design}, {GRADES[grade]}" if grade != SCRAP else f"cut one of design {design} again"
    if plan.layout is None:
        return f"take design {design} from the spares"
    laid = sum(int((p.designs == design).sum()) for p in plan.layout.plates)
    hung = int((plan.tree.leaves.designs == design).sum())
    spoiled = sum(e.what in ("mistake", "withdrawn") and e.was.startswith(f"{design} ") for e in plan.bench.record)
    left = laid - hung - spoiled
    return f"take design {design} from the spares, {left} left after it" if left >= 0 else f"cut design {design} again"


def add_late(job: Path, name: str, family: str = "", gift: str = "", wish: str = "") -> Said:
    """Take in a late name: it gets the best leaf that is free, and no other name moves."""
    desk = _open(job)
    text = checked_name(name, "name")
    before = Counter(desk.hung.values())
    draft = _relisted(desk, _logged(desk, Event("late", "", text, family, gift, wish)))
    if draft.assignment is not None and any(each.name == text for each in draft.assignment.too_long):
        raise CommissionError("name", f"finds no leaf: {draft.assignment.too_long[0].advice}", text)
    after = {t: n for t, n in _named(draft).items() if t not in desk.hung}
    leaf = next((t for t, n in after.items() if n == text), "")
    if not leaf:
        raise CommissionError("name", f"finds no leaf among the {len(draft.grades)} that hang", text)
    _close(desk, _logged(desk, Event("late", leaf, text, family, gift, wish)))
    twin = f"; {before[text]} more of that name hang already" if before[text] else ""
    return Said((f"{text} goes to {leaf}: {_pile_of(draft, leaf)}{twin}",), (leaf,))


def withdraw(job: Path, name: str, leaf: str | None = None) -> Said:
    """Take a name off: its leaf hangs without one; where it was struck another cut takes its place."""
    desk = _open(job)
    tag = _leaf_of(desk, name, leaf)
    was = f"{desk.design(tag)} {desk.grade(tag)}" if tag in desk.bench.struck() else ""
    _close(desk, _logged(desk, Event("withdrawn", tag, desk.hung[tag], was=was)), (tag,))
    told = f"; it was struck: take another cut of design {desk.design(tag)} for it" if was else ""
    return Said((f"{desk.hung[tag]} is off the list, {tag} hangs without a name{told}",))


def respell(job: Path, name: str, new: str, leaf: str | None = None) -> Said:
    """Spell a name anew on its own leaf; where that was struck another cut takes its place."""
    desk = _open(job)
    tag, text = _leaf_of(desk, name, leaf), checked_name(new, "name")
    events = [Event("respelled", tag, text, was=desk.hung[tag])]
    if tag in desk.bench.struck():
        events.insert(0, Event("mistake", tag, desk.hung[tag], was=f"{desk.design(tag)} {desk.grade(tag)}"))
    bench = replace(_logged(desk, *events), held={**desk.hung, tag: text})
    draft = _relisted(desk, bench)
    if _named(draft).get(tag) != text or any(s is None for s in _settings(draft, tag)):
        raise CommissionError("name", f"does not fit the leaf {tag} in letters on hand", text)
    _close(desk, bench)
    return Said((f"{desk.hung[tag]} is spelled {text} on {tag}",), (tag,))


def tell_twins(job: Path, name: str, people: int) -> Said:
    """Say whether a name listed twice is two people, who both keep a leaf, or one, who keeps the first."""
    desk = _open(job)
    tags = sorted(tag for tag, text in desk.hung.items() if folded(text) == folded(name))
    if len(tags) < 2:
        raise CommissionError("name", f"is no twin: it hangs on {', '.join(tags) or 'no leaf'}", name)
    if people not in (1, len(tags)):
        raise CommissionError("people", f"must be 1 or {len(tags)}, as many as leaves bear it", people)
    if people > 1:
        _close(desk, _logged(desk, *(Event("twins", tag, desk.hung[tag]) for tag in tags)))
        return Said((f"{people} people of the name {name}, on {', '.join(tags)}",))
    struck = desk.bench.struck()
    keep = next((tag for tag in tags if tag in struck), tags[0])
    gone = [tag for tag in tags if tag != keep]
    events = [
        Event("withdrawn", t, desk.hung[t], was=f"{desk.design(t)} {desk.grade(t)}" if t in struck else "")
        for t in gone
    ]
    _close(desk, _logged(desk, *events), gone)
    hangs = "hangs" if len(gone) == 1 else "hang"
    return Said((f"one person of the name {name}, on {keep}; {', '.join(gone)} {hangs} without a name",))


def take_piles(job: Path, counts: Path, add: bool = False) -> Said:
    """Take in how many cuts of each design and grade lie in the bins, and deal them: names get the best.

    add: these came from a further cut, on top of what was counted before. Names that nothing binds yet are given
    anew; once one is signed or struck, only those move whose design has not cuts enough.
    """
    desk = _open(job)
    if desk.bench.grades:
        raise CommissionError("leaves/grades.csv", "this job is graded leaf by leaf: go on with leaves grade")
    laid = None if add else _laid(desk.plan)
    given = read_piles(counts, laid)
    known = {d.number for d in desk.plan.designs}
    if strange := sorted(set(given) - known):
        raise CommissionError(str(counts), "there is no such design", strange[0])
    earlier = desk.bench.piles
    piles = {**earlier, **given}
    if add:
        piles |= {d: earlier[d].plus(given[d]) for d in sorted(set(earlier) & set(given))}
    missing = sorted(set(np.unique(desk.plan.tree.leaves.designs).tolist()) - set(piles))
    if missing:
        raise CommissionError(
            str(counts), "every design that hangs must be counted; a row is missing for design", missing[0]
        )
    bench = replace(desk.bench, piles=piles)
    bound = bool(bench.signed or bench.record or bench.struck())
    free = _over(desk, bench) if bound else list(desk.hung)
    plan = _relisted(desk, bench, free)
    before, after = desk.hung, _named(plan)
    if plan.assignment is not None and plan.assignment.too_long and len(after) < len(before):
        # Where no other leaf takes them they wait on their own for it to be cut again.
        plan, free, after = _relisted(desk, bench), [], before
    moved = _moves(before, after) if bound else []
    events = [Event("moved", to, name, was=old) for name, old, to in moved]
    bench = replace(bench, record=(*bench.record, *events), held=after)
    written = _close(desk, bench)
    return Said(_pile_lines(written, moved, bound, before != after), tuple(to for _, _, to in moved))


def _pile_lines(plan: LeafPlan, moved: list[tuple[str, str, str]], bound: bool, dealt_anew: bool) -> tuple[str, ...]:
    dealt = plan.dealt
    assert dealt is not None
    named = plan.tree.leaves.names != ""
    counts = Counter(GRADES[g] for g in plan.grades[named].tolist())
    lines = (
        [f"names: {', '.join(f'{counts[g]} on {g} cuts' for g in reversed(GRADES) if counts[g])}"]
        if named.any()
        else []
    )
    if not bound and dealt_anew:
        lines.append("nothing was signed or struck yet: names are dealt anew to the best cuts")
    lines += [f"- {name}: from {old} to {to}" for name, old, to in moved]
    lines.append(
        f"{int((plan.grades == GRADES.index('wild')).sum())} wild cuts scattered, {dealt.crowded} of them near another"
    )
    lines += [f"cut again: {count} of design {design}" for design, count in dealt.again.items()]
    over = sum(pile.good for pile in dealt.left.values())
    lines.append(f"{over} good cuts are left over as spares")
    return tuple(lines)


def _laid(plan: LeafPlan) -> dict[int, int] | None:
    if plan.layout is None:
        return None
    numbers = np.concatenate([p.designs for p in plan.layout.plates])
    return {d.number: int((numbers == d.number).sum()) for d in plan.designs}


def _over(desk: _Desk, bench: Bench) -> list[str]:
    """Leaves whose names must go elsewhere: more of their design bear names than there are good cuts, struck ones
    stay and the worthiest places keep theirs."""
    leaves, struck, heaps = desk.plan.tree.leaves, bench.struck(), bench.heaps()
    free: list[str] = []
    for design, pile in heaps.items():
        rows = np.flatnonzero((leaves.designs == design) & (leaves.names != ""))
        stay = [str(leaves.tags[k]) in struck for k in rows]
        order = rows[np.lexsort((rows, -desk.plan.worth[rows], ~np.array(stay, dtype=bool)))]
        free += [tag for tag in leaves.tags[order[pile.good :]].tolist() if tag not in struck]
    return free


def _moves(before: dict[str, str], after: dict[str, str]) -> list[tuple[str, str, str]]:
    """Names that hang elsewhere now: (name, from, to)."""
    left = {t: n for t, n in before.items() if after.get(t) != n}
    moves = []
    for tag, name in after.items():
        if before.get(tag) != name:
            old = next((t for t, n in left.items() if n == name), "")
            left.pop(old, None)
            moves.append((name, old, tag))
    return moves


def sign_names(job: Path, by: str, on: str = "", checked: Path | None = None) -> Said:
    """Take in what the office signs: all names as they stand, or those that a checked list has.

    checked: CSV `leaf,name,verdict,correction` as the proof page gives it. Names without `ok` stay unsigned, and those
    with a correction are told. Raises CommissionError for a row that speaks of another name than the leaf bears.
    """
    desk = _open(job)
    who, day = checked_name(by, "by"), " ".join(on.split())
    now = {leaf: (name, lines) for leaf, name, lines in desk.plan.struck_lines}
    signing, open_ = list(now), []
    if checked is not None:
        signing = []
        for number, (leaf, name, verdict, correction) in read_table(checked, ("leaf", "name", "verdict", "correction")):
            if leaf not in now or folded(now[leaf][0]) != folded(name):
                raise CommissionError(f"{checked}: row {number}", f"{leaf or 'no leaf'} does not bear this name", name)
            if verdict.casefold() == "ok" and not correction:
                signing.append(leaf)
            elif correction:
                open_.append(f"- {name} on {leaf}: asked for as {correction}: armature leaves respell")
    rows = [Signed(leaf, *now[leaf], who, day) for leaf in signing]
    kept = [s for s in desk.bench.signed if s.leaf not in set(signing) and s.leaf in now]
    _write_signed(job, sorted([*kept, *rows], key=lambda s: s.leaf))
    desk = replace(desk, bench=read_bench_folder(job / "leaves"))
    plan = _close(desk, replace(desk.bench, held=desk.hung))
    left = [c for c in changes_since(plan.bench.signed, plan.struck_lines) if c.what != "gone"]
    lines = [f"{len(rows)} of {len(now)} names signed by {who}", *open_]
    return Said((*lines, *([f"{len(left)} are not signed as they stand"] if left else [])))


def _write_signed(job: Path, signed: Sequence[Signed]) -> None:
    rows = signed_rows(signed)
    columns = {
        c: np.array([row[k] for row in rows], dtype=np.str_)
        for k, c in enumerate(("leaf", "name", "lines", "by", "on"))
    }
    (job / SIGNED).parent.mkdir(exist_ok=True)
    write_whole(job / SIGNED, csv_rows(columns).encode("utf-8"))


def _named(plan: LeafPlan) -> dict[str, str]:
    leaves = plan.tree.leaves
    return {t: n for t, n in zip(leaves.tags.tolist(), leaves.names.tolist(), strict=True) if n}


def _settings(plan: LeafPlan, tag: str) -> list[object]:
    return [s for t, s in zip(plan.tree.leaves.tags.tolist(), plan.settings, strict=True) if t == tag]


def _pile_of(plan: LeafPlan, tag: str) -> str:
    row = int(np.flatnonzero(plan.tree.leaves.tags == tag)[0])
    grade = f", {GRADES[int(plan.grades[row])]}" if plan.dealt is not None else ""
    return f"design {int(plan.tree.leaves.designs[row])}{grade}"
