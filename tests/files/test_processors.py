"""The same commission gives the same files on plainer processors, whose sines and powers end in other digits."""

from __future__ import annotations

import importlib
import os
import subprocess
import sys
from pathlib import Path

import armature

ROOT = Path(armature.__file__).parents[1]

WRITTEN = """
import hashlib, sys, tempfile
from pathlib import Path
from armature.commission import read
from armature.grow import grow
from armature.leaves import plan_leaves
from armature.look import refined
from armature.job.records import write_records
from armature.strength import strengthened
text = 'title = "T"\\ncanopy.height = "3 m"\\ngrowth = {limbs = 2, branches = 6, twigs = 24}\\n'
commission = read(text + 'leaves.count = 40\\nleaves.designs = 2\\nsite.wind_speed = "30 m/s"\\nsite.exposure = "C"\\n')
tree = refined(grow(commission), commission, (), 3)[0]
plan = plan_leaves(commission, tree, plates=False)
tree = strengthened(plan.tree, commission, plan.hung.masses, plan.hung.areas).tree
with tempfile.TemporaryDirectory() as folder:
    write_records(Path(folder), tree, commission)
    for path in sorted(Path(folder).rglob("*")):
        if path.is_file():
            print(path.relative_to(folder), hashlib.sha256(path.read_bytes()).hexdigest())
"""


def written(disabled: str) -> list[str]:
    run = subprocess.run(
        [sys.executable, "-c", WRITTEN],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": ".", "NPY_DISABLE_CPU_FEATURES": disabled},
        capture_output=True,
        text=True,
        check=True,
    )
    return run.stdout.splitlines()


def test_a_design_its_lists_and_its_meshes_are_the_same_on_a_plainer_processor() -> None:
    """Two processes: one with all that this processor can do, one with numpy held to its plainest loops."""
    umath = importlib.import_module("numpy._core._multiarray_umath")
    extras = " ".join(name for name in umath.__cpu_dispatch__ if umath.__cpu_features__.get(name))
    first = written("")
    assert {"design.json", "mesh/tree.glb", "mesh/centrelines.dxf"} <= {line.split(" ")[0] for line in first}
    assert written(extras) == first
