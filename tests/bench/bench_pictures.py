"""How long pictures take: stills, film, page and easel, against a cast of one million rays in the same run.

Run by hand: `python -m tests.bench.bench_pictures`; needs chromium for the last two rows.
"""

from __future__ import annotations

import os
import shutil
import statistics
import tempfile
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
from playwright.sync_api import sync_playwright

from armature.cli.pictures import works
from armature.commission import Commission, changed, read
from armature.commission.presets import preset_paths
from armature.grow import grow
from armature.leaves import plan_leaves
from armature.pictures import Showing, facts
from armature.pictures.easel.server import listening
from armature.pictures.light import Caster
from armature.pictures.page import client_page
from armature.pictures.rays import RayStage
from armature.pictures.stages import manner
from armature.pictures.stills import drawn
from armature.pictures.turntable import turntable
from armature.pictures.view_folder import draw_stills
from armature.pictures.viewpoints import camera


def _timed(act: Callable[[], object]) -> float:
    start = time.perf_counter()
    act()
    return time.perf_counter() - start


def _showing(commission: Commission) -> Showing:
    plan = plan_leaves(commission, grow(commission), plates=False)
    outline = commission.leaves.outline
    blades, frames = plan.meshes(outline.dish, outline.curl), plan.frames(commission.seed)
    return Showing(plan.tree, commission, facts(commission, plan.tree), blades, frames)


def _reference(showing: Showing) -> float:
    cast = Caster(list(showing.scene(rays=0).parts), ThreadPoolExecutor(os.cpu_count() or 1))
    ball = np.random.default_rng(1).normal(size=(1_000_000, 3)).astype(np.float32)
    return _timed(lambda: cast.open(ball * np.float32(3000.0), -ball))


def _slider(commission: Commission, folder: Path, page: Path) -> tuple[float, float]:
    """Return seconds from opening the client's page to its tree, and the median from slider to new tree of twenty."""
    easel = listening(commission, works(), folder, "127.0.0.1", 0)
    threading.Thread(target=easel.run, daemon=True).start()
    chromium = shutil.which("chromium") or "chromium"
    with sync_playwright() as started:
        browser = started.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        opened = browser.new_page(viewport={"width": 1280, "height": 800})
        start = time.perf_counter()
        opened.goto(page.as_uri())
        opened.wait_for_selector("#tree[data-frames]")
        first = time.perf_counter() - start
        opened.goto(easel.address)
        opened.wait_for_selector("#tree[data-fine]", timeout=60_000)
        took = []
        slider = opened.locator("#growth-twig-insertion_angle")
        slider.focus()
        for _ in range(20):
            before = opened.get_attribute("#tree", "data-tree")
            opened.keyboard.press("ArrowRight")
            opened.wait_for_selector(f"body:not(.busy) #tree:not([data-tree='{before}'])")
            took.append(float(opened.get_attribute("#tree", "data-took") or "nan"))
        browser.close()
    easel.stop()
    return first, statistics.median(took) / 1000.0


def main() -> None:
    """Print one row a piece of work: seconds, mark, and the ratio to a million rays."""
    commission = changed(read(preset_paths()["garden"]), {"pictures.width": 1200, "pictures.height": 1500})
    showing = _showing(commission)
    unit = _reference(showing)
    folder = Path(tempfile.mkdtemp())
    large = (1600, 1600)
    rows = [("front still, 1600 px", 5.0, _timed(lambda: drawn(showing.scene(), showing.tree, ["front"], large)))]
    leafy = showing.scene()
    rays = RayStage(leafy, large)
    rows.append(
        (
            "the same by rays, light not counted",
            5.0,
            _timed(lambda: rays.draw(camera(leafy, showing.tree, "front", large))),
        )
    )
    rays.close()

    def stills() -> None:
        draw_stills(showing, showing.scene(), showing.scene(leaves=False), folder, lambda _what, _share: None)

    rows.append(("all stills and the sheet", 20.0, _timed(stills)))
    turning = showing.scene(fine=0.6, rays=12)
    rows.append(("film of 120 frames, 720 px", 60.0, _timed(lambda: turntable(turning, folder / "turntable.mp4"))))
    page = client_page(leafy, showing.tree, showing.facts, folder / "client.html")
    first, moved = _slider(commission, folder, page)
    rows += [("client page, opened to drawn", 5.0, first), ("easel, slider to new tree, median of 20", 1.0, moved)]
    print(f"{manner()}; a million rays: {unit:.3f} s; client page {page.stat().st_size / 1e6:.1f} MB")
    for name, mark, seconds in rows:
        print(f"{name:<42}{seconds:8.2f} s   mark {mark:5.1f} s   {seconds / unit:8.1f} x")


if __name__ == "__main__":
    main()
