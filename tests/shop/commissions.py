"""Invented commissions for the shop's tests."""

from __future__ import annotations

from pathlib import Path

from armature.commission import Commission, read

TEXT = """
title = "{title}"
seed = 3
units = "{units}"
canopy.height = "3 m"
growth.limbs = 3
growth.branches = 6
growth.twigs = 24
"""


def commission(folder: Path, title: str = "Alder by the gate", units: str = "mm", more: str = "") -> Commission:
    """Return a small commission written into a folder and read back."""
    path = folder / "job.toml"
    path.write_text(TEXT.format(title=title, units=units) + more, encoding="utf-8")
    return read(path)
