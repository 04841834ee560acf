"""Members tied together: compatibility, equilibrium, a frame solver, and clear words for a tie that is not there."""

from __future__ import annotations

import numpy as np
import pytest

from armature.commission.site import Tie
from armature.edge import CommissionError
from armature.strength import assessed
from armature.strength.forces import Loads, forces, movement
from armature.strength.frame import frame
from armature.strength.stiffness import stiffness
from armature.strength.ties import solved, tie_bars, tie_places, tied
from tests.strength.made import commission
from tests.trees import gallows, post, random_tree

YOUNG = 200e3


def tie(member: str, at: str, bar: str = "6 mm", **far: object) -> Tie:
    return Tie.model_validate({"member": member, "at": at, "bar": bar, **far})


def test_a_guy_shares_a_push_with_the_post_as_by_hand() -> None:
    """Force method: a level guy at the top of a post takes P k_guy / (k_guy + 3 E I / L^3)."""
    ties = (tie("T", "1000 mm", to_point=["2000 mm", "0 mm", "1000 mm"]),)
    tree = post(1000.0, 20.0)
    cut = frame(tree, extra=tie_places(tree, ties))
    bars, stiff = tie_bars(cut, ties), stiffness(cut, YOUNG, 77e3)
    points = np.zeros((len(cut), 3, 1))
    points[-1, 0, 0] = 100.0
    loads, pulls = tied(cut, bars, stiff, Loads(points, np.zeros((len(cut), 2, 3, 1))), YOUNG)
    guy = YOUNG * np.pi / 4.0 * 36.0 / 2000.0
    stem = 3.0 * YOUNG * np.pi / 64.0 * 20.0**4 / 1000.0**3
    # Pushed toward the guy's far end, the guy is squeezed.
    assert pulls[0, 0] == pytest.approx(-100.0 * guy / (guy + stem), rel=1e-9)
    assert forces(cut, loads).within[0, 0, 0] == pytest.approx(100.0 + pulls[0, 0], rel=1e-9)


def test_sweeps_with_the_ties_pulls_move_as_the_whole_system_does() -> None:
    tree = random_tree(12, 4)
    ties = (
        tie("A", "700 mm", to_member="B", to_at="700 mm"),
        tie("C", "900 mm", to_member="A01", to_at="300 mm"),
    )
    cut = frame(tree, extra=tie_places(tree, ties))
    bars, stiff = tie_bars(cut, ties), stiffness(cut, YOUNG, 77e3)
    rng = np.random.default_rng(1)
    loads = Loads(rng.normal(0.0, 5.0, (len(cut), 3, 3)), np.zeros((len(cut), 2, 3, 3)))
    with_pulls, _ = tied(cut, bars, stiff, loads, YOUNG)
    swept = movement(cut, stiff.steps(cut, forces(cut, with_pulls), with_pulls)).shifts
    whole = solved(cut, stiff, loads, bars, YOUNG).shifts
    np.testing.assert_allclose(swept, whole, atol=1e-5 * np.abs(whole).max())


def test_a_tied_pair_of_limbs_moves_less_than_a_free_one() -> None:
    tree = random_tree(12, 4)
    free = assessed(tree, commission())
    site = '[site]\nwind_speed = "115 mph"\nexposure = "C"\n'
    held = assessed(
        tree, commission(site + 'ties = [{member = "A", at = "1 m", to_member = "B", to_at = "1 m", bar = "20 mm"}]\n')
    )
    assert held.ties is not None
    assert abs(held.ties[1][0]) > 0.0
    assert held.service.swings[1] < free.service.swings[1]


@pytest.mark.parametrize(
    ("one", "says"),
    [
        (tie("Z9", "1 m", to_member="A", to_at="1 mm"), r"site\.ties\[1\]\.member: must be the tag of a member .*'Z9'"),
        (tie("T", "900 mm", to_member="Q", to_at="1 mm"), r"site\.ties\[1\]\.to_member: must be the tag of a member"),
        (
            tie("T", "5 m", to_point=["1 m", "0 mm", "0 mm"]),
            r"site\.ties\[1\]\.at: must lie on the member, .*1000\.0 mm",
        ),
    ],
)
def test_a_tie_to_what_is_not_there_is_one_clear_line(one: Tie, says: str) -> None:
    with pytest.raises(CommissionError, match=says) as caught:
        tie_places(gallows(), (one,))
    assert "\n" not in str(caught.value)


def test_a_tie_of_no_length_is_refused() -> None:
    ties = (tie("T", "500 mm", to_point=["0 mm", "0 mm", "500 mm"]),)
    tree = post()
    cut = frame(tree, extra=tie_places(tree, ties))
    with pytest.raises(CommissionError, match="at least 1 mm apart"):
        tie_bars(cut, ties)
