import numpy as np

from armature.leaves.hanging.meeting import outside_swing, poses_joined, rods_met

WAYS = np.array([[0.0, 0.0, -1.0], [0.6, 0.0, -0.8], [0.0, -0.6, -0.8]])


def test_rods_meet_where_dense_points_of_both_come_near() -> None:
    """Points 0.7 % apart overstate a distance by under 0.2 mm here; rods nearer the gap than that are left out."""
    rng = np.random.default_rng(3)
    count = 80
    offsets, runs = rng.normal(0.0, 30.0, (count, 3)), rng.uniform(5.0, 40.0, count)
    axes = rng.normal(size=(count, 3))
    axes /= np.sqrt((axes**2).sum(axis=1))[:, None]
    lengths, gaps = rng.uniform(40.0, 90.0, count), rng.uniform(8.0, 30.0, count)
    firsts = np.where(rng.random(count) < 0.5, 0.25 * lengths, 0.0)
    met = rods_met(offsets, lengths, gaps, axes, runs, WAYS, firsts)
    steps = np.linspace(0.0, 1.0, 151)
    checked = 0
    for k in range(count):
        bar = runs[k] * steps[:, None] * axes[k]
        for p, way in enumerate(WAYS):
            rod = offsets[k] + (firsts[k] + (lengths[k] - firsts[k]) * steps)[:, None] * way
            near = np.sqrt(((rod[:, None] - bar[None]) ** 2).sum(axis=2)).min()
            if abs(near - gaps[k]) > 0.2:
                assert met[k, p] == (near < gaps[k])
                checked += 1
    assert checked > 0.9 * met.size
    assert 0.1 < met.mean() < 0.9


def test_parallel_rods_meet_within_the_sum_of_their_radii() -> None:
    """Hung 20 mm apart, and one 30 mm under the other's apex: gaps of 20 and 30 mm are just not enough."""
    offsets = np.array([[20.0, 0, 0], [20.0, 0, 0], [0.0, 0, 80.0], [0.0, 0, 80.0]])
    plumb = np.tile([0.0, 0.0, -1.0], (4, 1))
    fifty, none = np.full(4, 50.0), np.zeros(4)
    gaps = np.array([19.99, 20.01, 29.99, 30.01])
    assert rods_met(offsets, fifty, gaps, plumb, fifty, WAYS[:1], none)[:, 0].tolist() == [False, True, False, True]


def test_no_pose_comes_nearer_than_the_swept_sector() -> None:
    rng = np.random.default_rng(5)
    points, lengths = rng.normal(0.0, 60.0, (400, 3)), rng.uniform(30.0, 90.0, 400)
    for swing in (20.0, 60.0, 90.0):
        far = outside_swing(points, lengths, swing)
        nearest = np.full(400, np.inf)
        for lean in np.linspace(0.0, np.deg2rad(swing), 16):
            for turn in np.linspace(0.0, 2 * np.pi, 48, endpoint=False):
                way = np.array([np.sin(lean) * np.cos(turn), np.sin(lean) * np.sin(turn), -np.cos(lean)])
                along = np.clip(points @ way, 0.0, lengths)
                nearest = np.minimum(nearest, np.sqrt(((points - along[:, None] * way) ** 2).sum(axis=1)))
        assert (far <= nearest + 1e-9).all()
        # Directions 7.5 deg and 4 deg apart miss the nearest by little.
        assert (nearest - far < 8.0).all()


def test_what_is_met_is_joined_under_each_row() -> None:
    struck = np.zeros((3, 2), dtype=bool)
    rows = np.array([2, 0, 2, 1])
    poses_joined(struck, rows, np.array([[True, False], [False, True], [False, True], [False, False]]))
    assert struck.tolist() == [[False, True], [False, False], [True, True]]
