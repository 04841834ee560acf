import numpy as np
import pytest

from armature.errors import CommissionError
from armature.leaves.assigning import BEST, PLAIN, SCRAP, Places, assign_names

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
