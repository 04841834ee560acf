"""What is too much to look at one by one is bounded, and what is not judged is left out and told."""

import numpy as np

from armature.look import judged, skeleton_of_nodes
from armature.look.axes import Nodes
from armature.look.side_pictures import PIXELS, _wood
from armature.look.strokes import painted


def star(count: int) -> Nodes:
    """Return rays of one length from one point, all round: every ray crosses every other at the hub."""
    ways = np.random.default_rng(1).normal(size=(count, 3))
    tips = 1000.0 * ways / np.linalg.norm(ways, axis=1)[:, None] + [0.0, 0.0, 1500.0]
    points = np.concatenate([[[0.0, 0.0, 0.0], [0.0, 0.0, 1000.0]], tips])
    parents = np.concatenate([[-1, 0], np.ones(count, dtype=np.int64)])
    radii = np.concatenate([[100.0, 100.0], np.full(count, 10.0)])
    return Nodes(np.arange(count + 2).astype(np.str_), parents, points, radii, ())


def test_crossings_without_number_are_not_counted_and_told() -> None:
    verdict = judged(skeleton_of_nodes(star(6000)))
    assert "crossings" in verdict.silent
    assert "crossings" not in judged(skeleton_of_nodes(star(60))).silent


def test_wood_many_times_over_is_painted_as_if_all_of_it_were() -> None:
    rng = np.random.default_rng(2)
    starts = rng.uniform(300.0, 700.0, (4000, 2))
    flat = np.stack([starts, starts + rng.uniform(-90.0, 90.0, (4000, 2))], axis=1).reshape(-1, 2)
    heads, wide = np.arange(0, 8000, 2), np.full(8000, 15.0)
    whole = painted(flat, wide, heads, PIXELS)
    seen = _wood(flat, wide, heads)
    assert not (seen & ~whole).any()
    # A turn that shows less than two thousandths of a million points that are new is the last.
    assert np.count_nonzero(whole) - np.count_nonzero(seen) < 4000
