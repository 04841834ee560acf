"""The soak: many runs of the whole program, by hand.

`python -m tests.soak.soak [PART ...] [--share 0.1]` prints a table.

Parts: grown made kills forced together places malformed. share: of the full numbers.
"""

from __future__ import annotations

import os
import random
import re
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from tests.soak.checker import faults, touching
from tests.soak.commissions import random_commission
from tests.soak.malformed import malformed

ROOT = Path(__file__).parents[2]
ARMATURE = [sys.executable, "-m", "armature"]
HERE = os.environ | {"PYTHONPATH": str(ROOT)}
SMALL = 'title = "x"\ncanopy.height = "1 m"\ngrowth = {limbs = 3, branches = 5, twigs = 16}\nleaves.count = 20\n'
QUICK = [f"--skip={part}" for part in ("pictures", "mending", "plates")]


def run(arguments: list[str], **more: object) -> subprocess.CompletedProcess[str]:
    """Return one run of the program as a user starts it."""
    return subprocess.run([*ARMATURE, *arguments], capture_output=True, text=True, env=HERE, **more)  # type: ignore[call-overload,no-any-return]


def unlike(told: subprocess.CompletedProcess[str]) -> list[str]:
    """Return what breaks the rule for a refusal: exit 2, one line, under 300 characters, no traceback."""
    lines = told.stderr.splitlines()
    said = [f"exit {told.returncode}"] if told.returncode not in (0, 2) else []
    said += ["traceback"] if "Traceback" in told.stderr else []
    said += [f"{len(lines)} lines"] if told.returncode == 2 and len(lines) != 1 else []
    return said + [f"line of {len(line)}" for line in lines if len(line) >= 300]


def grown(count: int) -> Iterator[list[str]]:
    """Yield the faults of each of so many random commissions, grown; pairs that touch stand apart."""
    for number in range(count):
        with tempfile.TemporaryDirectory() as home:
            text = random_commission(number)
            (Path(home) / "tree.toml").write_text(text)
            told = run(["grow", f"{home}/tree.toml", "--out", f"{home}/out"])
            said = unlike(told)
            if told.returncode == 0:
                keys = ("limbs", "branches", "twigs", "count")
                asked = [int(match[1]) for key in keys if (match := re.search(rf"^{key} = (\d+)", text, re.M))]
                said += faults(Path(home) / "out" / "design.json", *asked)
                said += ["TOUCH"] * bool(touching(Path(home) / "out" / "design.json"))
            else:
                said += ["REFUSED"] + (["something written"] if (Path(home) / "out").exists() else [])
            yield said


def made(count: int) -> Iterator[list[str]]:
    """Yield the faults of each of so many random commissions, made whole but for pictures."""
    for number in range(10_000, 10_000 + count):
        with tempfile.TemporaryDirectory() as home:
            (Path(home) / "tree.toml").write_text(random_commission(number))
            told = run(["make", f"{home}/tree.toml", "--out", f"{home}/out", "--skip=pictures"])
            said = unlike(told) + (["REFUSED"] if told.returncode == 2 else [])
            if told.returncode == 0:
                sums = subprocess.run(
                    ["sha256sum", "-c", "--quiet", "SHA256SUMS"], cwd=f"{home}/out", capture_output=True
                )
                back = run(["rebuild", f"{home}/out"])
                said += ["sums"] * bool(sums.returncode) + ["rebuild"] * bool(back.returncode)
            yield said


def kills(count: int, forced: bool = False, left_out: Sequence[str] = ()) -> Iterator[list[str]]:
    """Yield the faults after each of so many kills, spread over a run or at touches of the disk near its end.

    left_out: parts that are not made either.
    """
    with tempfile.TemporaryDirectory() as home:
        job = Path(home) / "job"
        (Path(home) / "tree.toml").write_text(SMALL)
        make = ["make", f"{home}/tree.toml", "--out", str(job), *QUICK, *(f"--skip={part}" for part in left_out)]
        begun = time.time()
        run(make)
        whole = time.time() - begun
        (job / "notes.txt").write_text("mine")
        (job / "made.csv").write_text("tag\n")
        for number in range(count):
            before = {path: path.read_bytes() for path in job.rglob("*.*") if path.is_file()}
            code = f"from tests.soak.dying import main; main({number + 1}, {make + ['--seed', str(number)]!r})"
            line = [sys.executable, "-c", code] if forced else [*ARMATURE, *make, "--seed", str(number)]
            process = subprocess.Popen(line, env=HERE, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
            if not forced:
                time.sleep(whole * (number + 0.5) / count)
                process.send_signal(signal.SIGKILL)
            process.wait()
            yield _after(job, before, make)


def _after(job: Path, before: dict[Path, bytes], make: list[str]) -> list[str]:
    same = all(path.exists() and path.read_bytes() == content for path, content in before.items())
    sums = subprocess.run(["sha256sum", "-c", "--quiet", "SHA256SUMS"], cwd=job, capture_output=True).returncode
    said = [] if same or not sums else ["neither old nor new"]
    said += [] if (job / "notes.txt").read_text() == "mine" else ["notes lost"]
    if run(make).returncode:
        said.append("next run fails")
    said += ["left beside"] if [name for name in os.listdir(job.parent) if name.startswith(".job")] else []
    return said


def together(count: int) -> Iterator[list[str]]:
    """Yield the faults after three runs at once into one folder."""
    for _ in range(count):
        with tempfile.TemporaryDirectory() as home:
            (Path(home) / "tree.toml").write_text(SMALL)
            lines = [
                [*ARMATURE, "make", f"{home}/tree.toml", "--out", f"{home}/job", *QUICK, "--seed", str(k)]
                for k in (1, 2, 3)
            ]
            runs = [subprocess.Popen(line, env=HERE, stdout=-1, stderr=-1) for line in lines]
            codes = [each.wait() for each in runs]
            sums = subprocess.run(["sha256sum", "-c", "--quiet", "SHA256SUMS"], cwd=f"{home}/job", capture_output=True)
            left = sorted(os.listdir(home)) != ["job", "tree.toml"]
            yield [f"exit {codes}"] * any(codes) + ["sums"] * bool(sums.returncode) + ["left beside"] * left


def places(count: int) -> Iterator[list[str]]:
    """Yield the faults where the disk is full, nothing may be written, and there is no home."""
    cases = ("ulimit -f 8;", "HOME=/nonexistent XDG_CACHE_HOME=/proc/none", "OUT=/proc/job", "OUT=/sys/job")
    for case in cases[: max(count, 1)]:
        with tempfile.TemporaryDirectory() as home:
            (Path(home) / "tree.toml").write_text(SMALL)
            out = case[4:] if case.startswith("OUT=") else f"{home}/job"
            before = "" if case.startswith("OUT=") else case
            line = f"{before} {' '.join(ARMATURE)} make {home}/tree.toml --out {out} {' '.join(QUICK)}"
            told = subprocess.run(["bash", "-c", line], env=HERE, capture_output=True, text=True)
            wanted = 0 if case.startswith("HOME") else 2
            left = sorted(os.listdir(home)) != (["job", "tree.toml"] if wanted == 0 else ["tree.toml"])
            yield unlike(told) + [f"exit {told.returncode}"] * (told.returncode != wanted) + ["left"] * left


def broken(count: int) -> Iterator[list[str]]:
    """Yield the faults of each of so many malformed inputs."""
    for number in range(count):
        with tempfile.TemporaryDirectory() as home:
            arguments = malformed(number, Path(home))
            try:
                told = run(arguments, timeout=120)
            except subprocess.TimeoutExpired:
                yield ["over 120 s"]
                continue
            written = told.returncode == 2 and (Path(home) / "out").exists()
            yield [f"{arguments[0]} {number}: {one}" for one in unlike(told)] + ["something written"] * written


PARTS: dict[str, tuple[Callable[[int], Iterator[list[str]]], int]] = {
    "grown": (grown, 1000),
    "made": (made, 200),
    "kills": (kills, 30),
    "forced": (lambda count: kills(count, forced=True), 30),
    "together": (together, 3),
    "places": (places, 4),
    "malformed": (broken, 300),
}


def table(wanted: list[str], share: float) -> str:
    """Return the table of the soak as Markdown: what was tried, what was refused or touches, what was at fault."""
    rows = ["| part | tried | refused | touching pairs | faults |", "| --- | --- | --- | --- | --- |"]
    for name in wanted or PARTS:
        part, full = PARTS[name]
        said: list[list[str]] = []
        try:
            for one in part(max(1, round(full * share))):
                said.append(one)
                wrong = [line for line in one if line not in ("REFUSED", "TOUCH")]
                if wrong:
                    print(f"{name} {len(said) - 1}: {'; '.join(wrong)}", file=sys.stderr, flush=True)
        except KeyboardInterrupt:
            print(f"{name}: stopped, what was tried counts", file=sys.stderr, flush=True)
        rows.append(_row(name, said))
        print(rows[-1], file=sys.stderr, flush=True)
    return "\n".join(rows)


def _row(name: str, said: list[list[str]]) -> str:
    refused, touch = (sum(word in one for one in said) for word in ("REFUSED", "TOUCH"))
    wrong = [line for one in said for line in one if line not in ("REFUSED", "TOUCH")]
    return f"| {name} | {len(said)} | {refused} | {touch} | {len(wrong)} {'; '.join(dict.fromkeys(wrong))[:200]} |"


def main(arguments: list[str]) -> None:
    """Run the parts named, or all."""
    share = float(arguments[arguments.index("--share") + 1]) if "--share" in arguments else 1.0
    random.seed(1)
    print(table([name for name in arguments if name in PARTS], share))


if __name__ == "__main__":
    main(sys.argv[1:])
