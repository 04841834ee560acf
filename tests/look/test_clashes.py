import numpy as np

from armature.look import clashes

from .sticks import sticks

POLE = [[0.0, 0.0, 0.0], [0.0, 0.0, 1000.0]]


def test_a_member_through_another_is_found_and_a_joint_is_none() -> None:
    parent = [[0.0, 0.0, 500.0], [400.0, 0.0, 500.0]]
    through = [[0.0, 0.0, 300.0], [200.0, 0.0, 496.0], [300.0, 100.0, 700.0]]
    clear = [[0.0, 0.0, 800.0], [-400.0, 0.0, 900.0]]
    tree = sticks([POLE, parent, through, clear], [-1, 0, 0, 0], [0, 500, 300, 800])
    pairs, places = clashes.met(tree)
    assert pairs.tolist() == [[1, 2]]
    assert np.linalg.norm(places[0] - [200.0, 0.0, 498.0]) < 10.0
    assert clashes.crossings(tree).value == 1.0


def test_air_between_skins_decides() -> None:
    one = [[0.0, 0.0, 500.0], [400.0, 0.0, 500.0]]
    other = [[0.0, 0.0, 800.0], [300.0, -300.0, 516.0], [300.0, 300.0, 516.0]]
    tree = sticks([POLE, one, other], [-1, 0, 0], [0, 500, 800])
    assert len(clashes.met(tree)[0]) == 0  # 16 mm between axes of 5 mm radius: 6 mm of air
    assert len(clashes.met(tree, air=5.9)[0]) == 0
    assert len(clashes.met(tree, air=6.1)[0]) == 1
