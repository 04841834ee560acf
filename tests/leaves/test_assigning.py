import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import maximum_bipartite_matching

from armature.edge import CommissionError
from armature.leaves.naming.assigning import BEST, PLAIN, SCRAP, Places, assign_names
from armature.leaves.naming.letters import setting

HEIGHTS = np.array([2.38, 3.175])
PANELS = np.array([[40.0, 12.0], [16.0, 6.0]])


def places(count: int, designs: int = 1, grades: int = PLAIN) -> Places:
    rng = np.random.default_rng(4)
    points = np.stack([100.0 * np.arange(count), np.zeros(count), np.full(count, 2000.0)], axis=1)
    tags = np.array([f"A{k // 5:02d}-1-{k}" for k in range(count)])
    return Places(
        tags, np.arange(count) % designs, np.arange(count) // 5, points, rng.uniform(size=count), np.full(count, grades)
    )


def test_each_name_gets_a_leaf_of_its_own() -> None:
    found = assign_names([f"Ada {k}" for k in range(20)], [""] * 20, places(30), PANELS, HEIGHTS)
    assert len(set(found.leaves.tolist())) == 20
    assert found.leaves.min() >= 0


def test_families_hang_on_one_branch() -> None:
    families = [f"f{k // 3}" for k in range(18)]
    here = places(60)
    found = assign_names([f"Ada {k}" for k in range(18)], families, here, PANELS, HEIGHTS)
    for family in set(families):
        rows = [leaf for leaf, name in zip(found.leaves.tolist(), families, strict=True) if name == family]
        assert len(set(here.groups[rows].tolist())) == 1


def test_best_graded_leaves_are_used_first_and_scrap_never() -> None:
    here = places(30)
    here.grades[:5] = BEST
    here.grades[5:10] = SCRAP
    found = assign_names([f"Ada {k}" for k in range(5)], [""] * 5, here, PANELS, HEIGHTS)
    assert sorted(found.leaves.tolist()) == [0, 1, 2, 3, 4]


def test_stamped_leaves_stay() -> None:
    found = assign_names(["Ada", "Eve", "Kim"], [""] * 3, places(10), PANELS, HEIGHTS, stamped={1: 7})
    assert found.leaves[1] == 7
    assert 7 not in (found.leaves[0], found.leaves[2])


def test_long_names_get_the_leaves_with_room() -> None:
    here = places(10, designs=2)
    texts = ["Ada", "Eve", "Kim", "Lin", "Ann", "Wolfeschlegel"]
    found = assign_names(texts, [""] * 6, here, PANELS, HEIGHTS)
    assert here.designs[found.leaves[5]] == 0
    assert (found.leaves >= 0).all()


def test_a_name_too_long_for_every_leaf_is_told_with_what_would_fit() -> None:
    found = assign_names(["Hubert Wolfeschlegelsteinhausen", "Ada"], ["", ""], places(4), PANELS, HEIGHTS, lines=1)
    assert found.leaves[0] == -1
    assert found.leaves[1] >= 0
    assert found.too_long[0].name.startswith("Hubert")
    assert "at most 16 letters a line" in found.too_long[0].advice


def test_more_names_than_leaves_are_refused() -> None:
    with pytest.raises(CommissionError, match="2 would have none"):
        assign_names(["Ada"] * 6, [""] * 6, places(4), PANELS, HEIGHTS)


def test_of_equal_leaves_the_best_graded_take_names_then_the_worthiest() -> None:
    """Single names on one design: the leaves that are used are those a plain sort would take."""
    rng = np.random.default_rng(1)
    here = places(60)
    here.grades[:] = rng.integers(SCRAP, BEST + 1, size=60)
    found = assign_names([f"Ada {k}" for k in range(25)], [""] * 25, here, PANELS, HEIGHTS)
    whole = [k for k in range(60) if here.grades[k] > SCRAP]
    expected = sorted(whole, key=lambda k: (-here.grades[k], -here.worth[k]))[:25]
    assert sorted(found.leaves.tolist()) == sorted(expected)


def test_a_family_takes_the_best_leaves_of_its_branch() -> None:
    here = places(20)
    here.grades[[11, 13]] = BEST
    found = assign_names(["Ada", "Eve"], ["f", "f"], here, PANELS, HEIGHTS)
    assert sorted(found.leaves.tolist()) == [11, 13]


def test_a_family_too_large_for_a_branch_spreads_over_the_nearest_ones() -> None:
    """Branches of five leaves in a row, 500 mm apart: twelve names take three neighbouring branches."""
    here = places(60)
    found = assign_names([f"Ada {k}" for k in range(12)], ["f"] * 12, here, PANELS, HEIGHTS)
    branches = sorted(set(here.groups[found.leaves].tolist()))
    assert len(branches) == 3
    assert branches[-1] - branches[0] <= 3, "one branch to either side, or two on one side"


@given(st.integers(0, 10_000))
def test_as_many_names_are_seated_as_any_assignment_could(seed: int) -> None:
    """Against the maximum matching of the general graph library, stamped leaves out of play."""
    rng = np.random.default_rng(seed)
    designs, leaves, count = 4, 14, 12
    panels = np.stack([rng.choice([4.0, 12.0, 20.0, 40.0], designs), rng.choice([3.0, 6.0, 12.0], designs)], axis=1)
    here = places(leaves, designs)
    here.designs[:] = rng.integers(0, designs, leaves)
    here.grades[:] = rng.choice([SCRAP, PLAIN, BEST], leaves, p=[0.1, 0.6, 0.3])
    lengths = rng.choice([2, 4, 6, 10, 14], count)
    texts = ["".join(rng.choice(list("ABCDEFG"), n)) for n in lengths]
    families = rng.choice(["", "f", "g"], count).tolist()
    stamped = {0: int(np.flatnonzero(here.grades > SCRAP)[0])}
    free = [k for k in range(leaves) if here.grades[k] > SCRAP and k != stamped[0]]
    if len(free) < count - 1:
        return
    found = assign_names(texts, families, here, panels, HEIGHTS, 2, stamped)
    fits = np.array(
        [[bool(setting(t, tuple(panels[here.designs[k]]), HEIGHTS, 2)) for k in free] for t in texts[1:]], dtype=bool
    )
    most = int((maximum_bipartite_matching(csr_matrix(fits), perm_type="column") >= 0).sum())
    seated = [int(leaf) for leaf in found.leaves[1:] if leaf >= 0]
    assert len(seated) == most
    assert len(set(seated)) == len(seated)
    assert set(seated) <= set(free)
    for text, leaf in zip(texts[1:], found.leaves[1:].tolist(), strict=True):
        assert leaf < 0 or setting(text, tuple(panels[here.designs[leaf]]), HEIGHTS, 2)
    assert len(found.too_long) == count - 1 - most
