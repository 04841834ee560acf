"""However a run ends, it ends in order: nothing half made stays, and nobody is shown a traceback."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

import armature

ROOT = Path(armature.__file__).parent.parent
TREE = 'title = "Alder"\ncanopy.height = "1 m"\ngrowth = {limbs = 3, branches = 6, twigs = 20}\nleaves.count = 20\n'
COMMAND = f"{sys.executable} -m armature"
HERE = os.environ | {"PYTHONPATH": str(ROOT)}


@pytest.mark.parametrize(
    ("rest", "code"),
    [(">&-", 0), ("none 2>&-", 2), ("<&- >&- 2>&-", 0), (">/dev/full", 1), ("none 2>/dev/full", 2)],
)
def test_closed_and_full_streams_show_no_traceback(rest: str, code: int, tmp_path: Path) -> None:
    (tmp_path / "tree.toml").write_text(TREE)
    line = f"{COMMAND} grow tree.toml --out job {rest}"
    told = subprocess.run(["bash", "-c", line], cwd=tmp_path, env=HERE, capture_output=True, text=True, timeout=240)
    assert told.returncode == code
    assert "Traceback" not in told.stderr
    assert (tmp_path / "job" / "members.csv").exists() == (code == 0)


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_a_run_that_is_ended_leaves_nothing_half_made(number: signal.Signals, tmp_path: Path) -> None:
    (tmp_path / "tree.toml").write_text(
        TREE.replace("twigs = 20", "twigs = 400").replace("branches = 6", "branches = 40")
    )
    run = subprocess.Popen(
        [sys.executable, "-m", "armature", "make", "tree.toml", "--out", "job"], cwd=tmp_path, env=HERE, stderr=-1
    )
    for _ in range(4800):
        if run.poll() is not None or list(tmp_path.glob(".job.*.new")):
            break
        time.sleep(0.05)
    run.send_signal(number)
    _, said = run.communicate(timeout=240)
    assert (run.returncode, said) == (1, b"armature: stopped\n")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["tree.toml"]
