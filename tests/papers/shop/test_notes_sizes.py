"""A card tells the diameters of a bar that is more than one cone."""

from __future__ import annotations

from armature.papers.shop.notes import size_texts
from tests.test_tapers import stepped
from tests.trees import post


def test_a_bar_that_steps_down_tells_every_place_on_its_card() -> None:
    (told,) = size_texts(stepped(), 0, "mm")
    assert told == (
        "the foot is upset over the first 60 mm: 52 mm at 0 mm, 44 mm at 30 mm, 40 mm at 60 mm, 40 mm at 500 mm,"
        " 30 mm at 520 mm, 30 mm at 800 mm, 8 mm at 1000 mm, straight between"
    )


def test_a_cone_needs_no_list() -> None:
    assert size_texts(post().coned(ends=[8.0], froms=[300.0]), 0, "mm") == []
