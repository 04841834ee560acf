"""Drawings are the same in every process, whatever order Python gives to its sets there."""

from __future__ import annotations

import ast
import hashlib
import os
import subprocess
import sys
from pathlib import Path

import armature
from armature.files.centrelines import centrelines_dxf
from armature.pictures.elevation_lines import views
from armature.pictures.elevations import views_dxf
from tests.trees import gallows

ROOT = Path(armature.__file__).parents[1]

ASKED = "from tests.files.test_dxf import drawn; print(drawn())"


def drawn() -> str:
    """Return a digest of drawings in which every kind of line, circle and text comes."""
    texts = centrelines_dxf(gallows()), views_dxf(list(views(gallows(), "mm")))
    return hashlib.sha256("".join(texts).encode()).hexdigest()


def test_drawings_are_the_same_under_every_hash_seed() -> None:
    """Under that of this process, drawn anew for each run of the tests, and under a seed of its own."""
    told = subprocess.run(
        [sys.executable, "-c", ASKED],
        cwd=ROOT,
        env=dict(os.environ, PYTHONPATH=".", PYTHONHASHSEED="1"),
        capture_output=True,
        text=True,
        check=True,
    )
    assert told.stdout.strip() == drawn()


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
