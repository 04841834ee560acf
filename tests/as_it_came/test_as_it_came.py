"""How two small commissions came at their last approval: the figures of every stage, record and file.

No proof of truth: it says that something changed and where, not which is right. What is right is proven beside each
module. After a change that was meant to move figures, look through what moved, then write them anew:

    python -m tests.as_it_came.test_as_it_came
"""

from __future__ import annotations

import json
import tempfile
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

from armature.commission import Commission, read
from armature.make import Plans
from armature.tree import Tree
from tests.as_it_came.figures import Figures, figures_of, figures_of_folder, strays

# By its name as a module: the verb of the front door hides it.
making = import_module("armature.make")

HERE = Path(__file__).parent
# Meshes are made by the same code for both, and cost the most.
SKIPPED = {"lane": ("pictures",), "quay": ("pictures", "mesh")}
# Figures agree to the last bit on one machine; on another, last digits of sines differ and sums carry them on.
SHARE = 1e-6


@pytest.mark.parametrize("name", SKIPPED)
def test_every_figure_is_as_it_came_at_its_last_approval(name: str, tmp_path: Path) -> None:
    then = {key: tuple(value) for key, value in json.loads((HERE / f"{name}.json").read_text("utf-8")).items()}
    moved = strays(figures(name, tmp_path), then, SHARE)
    assert not moved, "\n".join([f"{len(moved)} figures moved; see this file's head", *moved[:40]])


def figures(name: str, folder: Path) -> Figures:
    """Return the figures of one commission: what was planned, record by record, and what was written."""
    planned = making.planned
    heard: list[Plans] = []

    def overheard(*given: Any, **named: Any) -> Plans:
        plans: Plans = planned(*given, **named)
        heard.append(plans)
        return plans

    # The plans are those that the folder is written from: planned once, and listened to on the way.
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(making, "planned", overheard)
        making.make(read(HERE / f"{name}.toml"), folder / name, SKIPPED[name])
    return figures_of_plans(heard[0]) | figures_of_folder(folder / name)


def figures_of_plans(plans: Plans) -> Figures:
    """Return the figures of all records of the plans."""
    told: Figures = figures_of(plans.tree, "tree")
    for part in ("raw", "verdict", "mending", "leaves", "strength", "shop"):
        told |= figures_of(getattr(plans, part), part, () if part == "raw" else (Tree, Commission))
    return told


def main() -> None:
    """Write the figures anew."""
    for name in SKIPPED:
        with tempfile.TemporaryDirectory() as aside:
            told = figures(name, Path(aside))
        rows = ",\n".join(f"{json.dumps(key)}: {json.dumps(value)}" for key, value in sorted(told.items()))
        (HERE / f"{name}.json").write_text("{\n" + rows + "\n}\n", "utf-8")
        print(f"{name}: {len(told)} figures")


if __name__ == "__main__":
    main()
