"""What is too much to look at one by one is bounded, and what is not judged is left out and told."""

from pathlib import Path

import numpy as np

from armature.look import judged, skeleton_of_nodes
from armature.look.axes import Nodes
from armature.look.likeness import twins
from armature.look.measured import read_nodes
from armature.look.side_pictures import PIXELS, _wood
from armature.look.skeleton import Skeleton
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


def test_members_alike_without_number_are_all_named() -> None:
    # 4,000 sticks bent alike have eight million pairs: a share of them stands for all.
    bent = np.array([[0.0, 0.0, 0.0], [0.0, 60.0, 100.0], [0.0, 60.0, 300.0]])
    apart = 50.0 * np.stack(np.divmod(np.arange(4000), 64), axis=1)
    points = [np.array([[0.0, 0.0, 0.0], [0.0, 0.0, 2000.0]]), *(bent + [x, y, 500.0] for x, y in apart.tolist())]
    counts = np.array([len(each) for each in points])
    skeleton = Skeleton(
        tags=np.arange(4001).astype(np.str_),
        ranks=np.minimum(np.arange(4001), 1),
        parents=np.where(np.arange(4001) == 0, -1, 0),
        stations=np.full(4001, 500.0),
        offsets=np.concatenate([[0], np.cumsum(counts)]),
        points=np.concatenate(points),
        radii=np.full(int(counts.sum()), 3.0),
        leaves=np.zeros((0, 3)),
        hung=np.zeros(0, dtype=np.int64),
        designed=True,
    )
    found = twins(skeleton)
    assert found.value == 100.0
    assert len(found.high_rows) == 4000


def test_loose_pieces_without_number_are_joined_in_one_go(tmp_path: Path) -> None:
    # A stem of 2 m, and 3,000 single nodes within a tenth of that, or far off, by turns.
    lines = [f"{k + 1} 1 0 0 {0.02 * k:.2f} 0.05 {k if k else -1}" for k in range(101)]
    lines += [f"{k + 200} 1 {0.1 if k % 2 else 9.0} 0 {0.0005 * k:.4f} 0.01 -1" for k in range(3000)]
    (tmp_path / "loose.swc").write_text("\n".join(lines) + "\n")
    nodes = read_nodes(tmp_path / "loose.swc")
    assert len(nodes) == 101 + 1500
    assert any(repair.startswith("1500 loose piece(s) joined") for repair in nodes.repairs)
    assert any(repair.startswith("1500 piece(s) of 1500 node(s)") for repair in nodes.repairs)
