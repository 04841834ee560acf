"""How long the shop takes, beside a reference in the same run: python -m tests.bench.bench_shop [PRESET ...]."""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import numpy as np
from pypdf import PdfReader

from armature.commission import read
from armature.files.lists import bends_csv, joints_csv, members_csv
from armature.grow import grow
from armature.job.shop import write_shop
from armature.papers.shop.packet import packet
from armature.shop import cut_lengths, paper_for, rebuilt, shop_plan
from armature.shop.access import weld_order
from armature.shop.bars import Yard, bar_plan
from armature.shop.cutting_plan import packed
from armature.shop.quick_bars import fitted
from armature.shop.stocklist import stock_pieces
from armature.tree import forged_masses

T = TypeVar("T")
PRESETS = Path(__file__).parents[2] / "presets"


def timed(work: Callable[[], T]) -> tuple[T, float]:
    """Return what the work returns, and its seconds."""
    start = time.perf_counter()
    found = work()
    return found, time.perf_counter() - start


def bench(name: str) -> None:
    """Print the figures of one preset."""
    commission = read(PRESETS / f"{name}.toml")
    tree, growing = timed(lambda: grow(commission))
    plan, planning = timed(lambda: shop_plan(tree, commission))
    cards, printing = timed(lambda: packet(plan))
    _, welding = timed(lambda: weld_order(tree))
    with tempfile.TemporaryDirectory() as folder:
        _, papers = timed(lambda: write_shop(Path(folder), plan))
        sheets = len(PdfReader(Path(folder) / "shop" / "templates.pdf").pages)
    shop = commission.shop
    pieces = stock_pieces(plan.sawn)
    _, sawing = timed(lambda: bar_plan(pieces, Yard((shop.bar_length,), shop.kerf, plan.paper.length_mm)))
    print(f"{name}: {len(tree)} members, grown in {growing:.2f} s")
    print(f"  plan {planning:.2f} s, {planning / growing:.1f} times growing")
    print(f"  packet {printing:.2f} s, {1000 * printing / len(tree):.1f} ms a card, {len(cards) / 1e6:.2f} MB")
    print(f"  all papers {papers:.2f} s, {papers / growing:.1f} times growing; {sheets} pages of templates")
    print(f"  order of welding {welding:.2f} s, {1000 * welding / len(tree):.1f} ms a member")
    sizes = plan.bars.sizes
    bought, bound = sum(size.bought for size in sizes), sum(size.bound for size in sizes)
    print(f"  bars {sawing:.2f} s: {bought} to buy, bound {bound}, proofs {sorted({size.proof for size in sizes})}")
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        (home / "joints.csv").write_text(joints_csv(tree))
        (home / "bends.csv").write_text(bends_csv(tree))
        masses = forged_masses(tree, commission.steel.density)
        (home / "members.csv").write_text(members_csv(tree, cut_lengths(tree, commission), masses))
        found = rebuilt(home, paper_for(commission.units))
    print(f"  rebuilt from files within {found.largest_mm:.2g} mm; from paper within {found.paper_errors.max():.1f} mm")


def bench_bars() -> None:
    """Print hard random lists against first-fit decreasing."""
    for low, high, count in ((960, 2080, 400), (720, 1200, 200), (200, 1500, 420)):
        pieces = np.random.default_rng(1).integers(low, high, count)
        quick = len(fitted(pieces, 3842))
        best, seconds = timed(lambda pieces=pieces: packed(pieces, 3842))  # type: ignore[misc]
        print(f"{count} pieces of {low}-{high} on 3842: first fit {quick}, plan {len(best.bars)}, "
              f"bound {best.bound}, {best.proof or 'not proven'}, {seconds:.1f} s")  # fmt: skip


if __name__ == "__main__":
    for preset in sys.argv[1:] or sorted(path.stem for path in PRESETS.glob("*.toml")):
        bench(preset)
    bench_bars()
