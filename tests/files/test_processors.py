"""The same commission gives the same files on plainer processors, whose sines and powers end in other digits."""

from __future__ import annotations

import hashlib
import importlib
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import armature
from armature.commission import read
from armature.grow import grow
from armature.job.records import write_records
from armature.leaves import plan_leaves
from armature.look import refined
from armature.strength import strengthened

ROOT = Path(armature.__file__).parents[1]

TEXT = """
title = "T"
canopy.height = "3 m"
growth = {limbs = 2, branches = 6, twigs = 24}
leaves.count = 40
leaves.designs = 2
site.wind_speed = "30 m/s"
site.exposure = "C"
"""
ASKED = "from tests.files.test_processors import written; print(*written(), sep=chr(10))"


def written() -> list[str]:
    """Return name and digest of every record of a tree that is grown, mended, hung with leaves and made to stand."""
    commission = read(TEXT)
    tree = refined(grow(commission), commission, (), 3)[0]
    plan = plan_leaves(commission, tree, plates=False)
    tree = strengthened(plan.tree, commission, plan.hung.masses, plan.hung.areas).tree
    with tempfile.TemporaryDirectory() as folder:
        write_records(Path(folder), tree, commission)
        files = sorted(path for path in Path(folder).rglob("*") if path.is_file())
        return [f"{path.relative_to(folder)} {hashlib.sha256(path.read_bytes()).hexdigest()}" for path in files]


def test_a_design_its_lists_and_its_meshes_are_the_same_on_a_plainer_processor() -> None:
    """Two processes: this one with all that its processor can do, one with numpy held to its plainest loops."""
    umath = importlib.import_module("numpy._core._multiarray_umath")
    extras = " ".join(name for name in umath.__cpu_dispatch__ if umath.__cpu_features__.get(name))
    here = written()
    assert {"design.json", "mesh/tree.glb", "mesh/centrelines.dxf"} <= {line.split(" ")[0] for line in here}
    run = subprocess.run(
        [sys.executable, "-c", ASKED],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": ".", "NPY_DISABLE_CPU_FEATURES": extras},
        capture_output=True,
        text=True,
        check=True,
    )
    assert run.stdout.splitlines() == here
