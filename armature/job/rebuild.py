"""What a rebuild from the lists of a job folder says, in lines."""

from __future__ import annotations

from pathlib import Path

from armature.edge import System
from armature.files import load
from armature.shop import card_strays, paper_for, rebuilt

# A nanometre is written in the lists: a rebuild further off than this means that they were changed.
SAME_MM = 0.01


def rebuild_said(folder: Path, units: System) -> tuple[list[str], bool]:
    """Return how far the tips of a tree land off that is put together again from the lists of a job folder alone, and
    from its cards where the design is there, a line each; and whether the lists make the tree of members.csv.

    units: whose rounding on paper is tried. Raises what `rebuilt` raises.
    """
    paper = paper_for(units)
    again = rebuilt(folder, paper)
    ends = max(range(len(again.tags)), key=lambda row: max(again.start_errors[row], again.tip_errors[row]))
    worst = int(again.paper_errors.argmax())
    lines = [
        f"{len(again.tags)} members rebuilt from the lists alone",
        f"largest error {again.largest_mm:.6f} mm, at {again.tags[ends]}",
        f"each figure rounded by itself ({units}) {again.paper_errors[worst]:.1f} mm, at {again.tags[worst]}",
    ]
    if (folder / "design.json").is_file():
        tree = load(folder)[0]
        off = card_strays(tree, paper)
        half, most = sorted(off.tolist())[len(off) // 2], int(off.argmax())
        lines.append(
            f"made from its cards ({units}) {half:.1f} mm in the middle, {off[most]:.1f} mm at {tree.tags[most]}"
        )
    same = again.largest_mm <= SAME_MM
    return lines if same else [*lines, f"the lists do not make the tree of members.csv: over {SAME_MM} mm off"], same
