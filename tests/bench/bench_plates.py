"""Sheet that plates need, run by hand: `python -m tests.bench.bench_plates`.

The presets by the quick way, against the same leaves simply laid one after the other; and the published set of
tests/leaves/test_published_nests.py against its best density.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np

from armature.commission import read
from armature.leaves.given import plate_rules
from armature.leaves.nesting.filling import mixed
from armature.leaves.nesting.grid import raster_plate
from armature.leaves.nesting.laying import lay_plates, with_spares
from armature.leaves.nesting.packing import packed
from armature.leaves.nesting.plates import Rules, density, plate_faults
from armature.leaves.outline.designs import draw_designs
from tests.leaves.test_published_nests import BEST, BLAZ, EACH, HIGH, UNIT, WEB, designs


def presets() -> None:
    for file in sorted(Path("presets").glob("*.toml")):
        commission = read(file)
        leaves, drawn, rules = commission.leaves, draw_designs(commission), plate_rules(commission)
        counts = with_spares(mixed(np.full(len(drawn), leaves.count), leaves.count), leaves.plates.spares)
        start = time.process_time()
        layout = lay_plates(drawn, counts.tolist(), leaves.plates.sizes, rules, leaves.plates.offcuts)
        took = time.process_time() - start
        faults = sum(len(plate_faults(p, drawn, rules)) for p in dict.fromkeys(layout.plates))
        width, height = layout.plates[0].width, layout.plates[0].height
        plain = raster_plate(drawn, counts, width, height, rules, 1.0)
        full = density(layout.plates[:-1], drawn) if len(layout.plates) > 1 else density(layout.plates, drawn)
        print(f"{file.stem}: {counts.sum()} leaves on {len(layout.plates)} plates, {took:.1f} s of one core")
        print(f"  {full:.3f} of the full plates used, {density([plain], drawn):.3f} simply laid; {faults} faults")


def published() -> None:
    rules = Rules(web=WEB, margin=0.0, rotation="grain")
    for seconds in (6.0, 60.0):
        strip = packed(designs(BLAZ), np.full(7, EACH), HIGH * UNIT, rules, seconds, seed=1, workers=2)
        used = 324.0 / (HIGH * strip.width / UNIT)
        print(f"blaz, {seconds:g} s: {used:.4f} of the strip used, {used / BEST:.3f} of the best published")


if __name__ == "__main__":
    for part in (presets, published):
        if len(sys.argv) < 2 or part.__name__ in sys.argv[1:]:
            part()
