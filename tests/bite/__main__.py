"""Whether the tests bite: change one place of the code at a time, run the tests that run it, print what survives.

    python -m tests.bite copy                   # the house as it stands now, aside in .bite/
    python -m tests.bite map --part 1/2         # which test runs what: the whole suite once, beside another with 2/2
    python -m tests.bite try 60 7 --part 1/2    # every second of 60 changes drawn with seed 7
    python -m tests.bite list 60 7              # only say which places would be changed

A change is one number by 10 % and more, one sign, one comparison turned round, one sine taken for a cosine or back.
Every test that runs the changed block is a test of it, cheapest file first, until one fails, or until `BUDGET_S` of
tests have passed. A place that no test runs survives. The tests passed unchanged as the map was made, and the one that
fails with a change is run once more without: where it fails by itself it is left out.
Changes that alter nothing a person could see stand in `alike.toml` with the reason, and are listed apart.
"""

from __future__ import annotations

import argparse
import json
import mmap
import os
import re
import shutil
import tempfile
import time
import tomllib
from dataclasses import asdict
from pathlib import Path

from tests.bite import forking, mapping
from tests.bite.changing import Change, places
from tests.bite.marking import Block, carrying, marked, running

ROOT = Path(__file__).resolve().parents[2]
ASIDE = ROOT / ".bite"
ALIKE = Path(__file__).with_name("alike.toml")
# Of tests that run a place and pass, no more than these seconds are run, those of the cheapest files.
BUDGET_S = 100.0
# Tests come in runs of about so many seconds, each longer than the one before: most changes are seen in the first.
LEAPS_S = (6.0, 30.0, BUDGET_S)
# Tests of processes that wait for each other, which a busy machine may fail: looked at again each time they do.
_WAITING = re.compile(r"server|easel|cli|soak|job")
_GONE = "not found: "
_LEFT = shutil.ignore_patterns(".*", "renders", "__pycache__", "jobs", "build", "dist")


def copy() -> None:
    """Copy the house aside, and once more with marks in it; what an earlier map knows is carried over."""
    before, earlier = _blocks() if (ASIDE / "blocks.json").exists() else [], mapping.told_of(ASIDE)
    texts = mapping.test_texts(ASIDE / "house")
    shutil.rmtree(ASIDE, ignore_errors=True)
    for name in ("house", "marked"):
        shutil.copytree(ROOT, ASIDE / name, ignore=_LEFT)
    blocks = marked(ASIDE / "marked")
    (ASIDE / "blocks.json").write_text(json.dumps([asdict(block) for block in blocks]), "utf-8")
    other = {path for path, text in mapping.test_texts(ASIDE / "house").items() if texts.get(path) != text}
    kept = mapping.carried(earlier, other, carrying(before, blocks))
    (ASIDE / "runs-0-0.jsonl").write_text("".join(f"{line}\n" for line in kept), "utf-8")
    print(f"{len(blocks)} blocks, {len(kept)} runs of tests known from before")


def _blocks() -> list[Block]:
    return [Block(**each) for each in json.loads((ASIDE / "blocks.json").read_text("utf-8"))]


def make_map(part: int, parts: int) -> None:
    """Run each file of tests once in the marked copy; what is known already is not run again."""
    house, told = ASIDE / "marked", ASIDE / f"runs-{part}-{parts}.jsonl"
    count = len(_blocks())
    file = ASIDE / f"marks-{part}"
    file.write_bytes(bytes(count))
    os.environ["BITE_MARKS"] = str(file)
    with file.open("r+b") as opened:
        marks = mmap.mmap(opened.fileno(), 0)
    mapping.remembered(marks)
    forking.take_in(house, ROOT)
    tests = sorted(each.relative_to(house).as_posix() for each in (house / "tests").rglob("test_*.py"))
    tests += sorted(
        each.relative_to(house).as_posix() for each in (house / "armature").iterdir() if each.name[0] != "_"
    )
    done = mapping.files_done(ASIDE)
    for each in tests[part - 1 :: parts]:
        if each not in done and Path(each).name != "data":
            begun = time.monotonic()
            ended = forking.ran([each], ASIDE / f"told-{part}.txt", 1000.0, lambda: [mapping.Watching(marks, told)], [])
            with told.open("a") as opened_runs:
                opened_runs.write(json.dumps({"done": each}) + "\n")
            print(
                f"{time.monotonic() - begun:5.0f} s  {each}{'' if ended in (0, 5) else f': ends with {ended}'}",
                flush=True,
            )


class Trial:
    """A copy of the house in which changes are tried, and what is known of its tests."""

    def __init__(self, house: Path) -> None:
        self.house = house
        self.told = house.parent / "told.txt"
        self.sound, self.unsound = set[str](), set[str]()
        self.runs = mapping.runs_of(ASIDE)
        self.blocks = _blocks()
        self.texts = {
            path.relative_to(house).as_posix(): path.read_text("utf-8") for path in (house / "armature").rglob("*.py")
        }

    def seen_by(self, change: Change) -> tuple[str, str]:
        """Return the test that fails when the change is made, or an empty text and why none does."""
        blocks, file, source = self._blocks_of(change), self.house / change.path, self.texts[change.path]
        # A time of its own for each text: what was compiled of one within a second must not be taken for another.
        stamp = file.stat().st_mtime + 10.0
        while True:
            files = mapping.chosen(self.runs, blocks, self.unsound)
            file.write_text(change.made(source), "utf-8")
            os.utime(file, (stamp, stamp))
            try:
                failing, why = self._first_failing(change, source, files)
            finally:
                file.write_text(source, "utf-8")
                os.utime(file, (stamp + 10.0, stamp + 10.0))
            if not failing or "::" not in failing or self._is_sound(failing):
                return failing, why
            stamp += 20.0

    def _blocks_of(self, change: Change) -> list[int]:
        return running(change.path, change.line, self.blocks, self.texts)

    def _is_sound(self, test: str) -> bool:
        """Return whether a test passes where nothing is changed."""
        if test in self.sound:
            return True
        if self._ends([test], 900.0, None) != 0:
            self.unsound.add(test)
            return False
        if not _WAITING.search(test):
            self.sound.add(test)
        return True

    def _first_failing(self, change: Change, source: str, files: list[tuple[float, list[str]]]) -> tuple[str, str]:
        begun, spent = 0, 0.0
        for leap in LEAPS_S:
            until, gathered = begun, list[str]()
            while until < len(files) and (spent == 0.0 or spent + files[until][0] <= leap):
                spent += files[until][0]
                gathered += files[until][1]
                until += 1
            begun = until
            if gathered:
                ended = self._ends(gathered, 10.0 * leap + 120.0, (change.path, source, change.made(source)))
                if ended != 0:
                    return self._failed(ended), ""
        if not files:
            return "", "no test runs it"
        tests = sum(len(each) for _, each in files[:begun])
        return "", f"{tests} tests of {spent:.0f} s pass, {sum(len(each) for _, each in files[begun:])} are not run"

    def _ends(self, tests: list[str], patience_s: float, changed: tuple[str, str, str] | None) -> int:
        def first() -> list[object]:
            if changed:
                forking.exchange(*changed)
            return []

        return forking.ran(tests, self.told, patience_s, first, ["-x"])

    def _failed(self, ended: int) -> str:
        text = self.told.read_text("utf-8", "replace")
        lines = [line for line in text.splitlines() if line.startswith(("FAILED", "ERROR"))]
        if ended == -1:
            return "over the time"
        if ended in (1, 2) and lines:
            return lines[0].split(" ", 1)[1].split(" - ")[0]
        if ended == 4 and _GONE in text:
            # A test that the map still has, and its file no longer: found unsound, and left out.
            return text.split(_GONE)[1].splitlines()[0].strip()
        if -20 < ended < 0 or "armature" in text[-3000:]:
            return f"ends with {ended}"
        raise RuntimeError(f"the tests cannot be run, {ended}: {text[-2000:]}")


def attempt(drawn: list[Change]) -> None:
    """Try each change and print the survivors."""
    alike = {row["place"] for row in tomllib.loads(ALIKE.read_text("utf-8")).get("alike", [])}
    ends: dict[str, list[str]] = {"seen": [], "alike": [], "SURVIVES": []}
    with tempfile.TemporaryDirectory() as aside:
        house = Path(aside) / "house"
        shutil.copytree(ASIDE / "house", house)
        forking.take_in(house, ROOT)
        trial = Trial(house)
        for change in drawn:
            source, begun = trial.texts[change.path], time.monotonic()
            by, why = trial.seen_by(change)
            end = "seen" if by else "alike" if change.key(source) in alike else "SURVIVES"
            ends[end].append(change.told(source))
            print(f"{end:8s} {time.monotonic() - begun:4.0f} s  {change.told(source)}    {by or why}", flush=True)
    print(
        f"\n{len(ends['SURVIVES'])} of {len(drawn)} survive, {len(ends['alike'])} more alter nothing that can be seen"
    )
    print("\n".join(ends["SURVIVES"]))


def main() -> None:
    """Do what the command line asks."""
    asked = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    asked.add_argument("what", choices=("copy", "map", "try", "list"))
    asked.add_argument("number", type=int, nargs="?", default=60)
    asked.add_argument("seed", type=int, nargs="?", default=0)
    asked.add_argument("--part", default="1/1", help="of the files or changes, every so-manieth, from this one on")
    wanted = asked.parse_args()
    first, step = map(int, wanted.part.split("/"))
    if wanted.what == "copy":
        copy()
    elif wanted.what == "map":
        make_map(first, step)
    else:
        drawn = places(ASIDE / "house", wanted.seed)[: wanted.number][first - 1 :: step]
        if wanted.what == "try":
            attempt(drawn)
        else:
            print("\n".join(each.told((ASIDE / "house" / each.path).read_text("utf-8")) for each in drawn))


if __name__ == "__main__":
    main()
