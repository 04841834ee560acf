"""Drawings are the same in every process, whatever order Python gives to its sets there."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from pathlib import Path

import armature

ROOT = Path(armature.__file__).parents[1]

DRAWN = """
import hashlib
from armature.pictures.elevations import views_dxf
from armature.pictures.elevation_lines import views
from armature.files.centrelines import centrelines_dxf
from tests.trees import gallows
for text in (centrelines_dxf(gallows()), views_dxf(list(views(gallows(), "mm")))):
    print(hashlib.sha256(text.encode()).hexdigest())
"""


def drawn(hash_seed: int) -> str:
    told = subprocess.run(
        [sys.executable, "-c", DRAWN],
        cwd=ROOT,
        env=dict(os.environ, PYTHONPATH=".", PYTHONHASHSEED=str(hash_seed)),
        capture_output=True,
        text=True,
        check=True,
    )
    return told.stdout


def test_drawings_are_the_same_under_every_hash_seed() -> None:
    assert len({drawn(seed) for seed in range(3)}) == 1


def test_one_module_alone_starts_and_writes_drawings() -> None:
    """What another module saved by itself would have its classes in the order of a set."""
    writers = {
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "armature").rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ImportFrom)
        and (node.module or "").startswith("ezdxf")
        and {name.name for name in node.names} & {"new", "options"}
    }
    assert writers == {"armature/files/dxf.py"}
