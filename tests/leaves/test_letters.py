import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from armature.leaves.naming.letters import (
    advance,
    broken,
    letter_heights,
    line_lengths,
    method,
    setting,
    stamp_heights,
    stamped_text,
)

HEIGHTS = stamp_heights(1.5, 13.0)


@given(st.lists(st.text("ABCDEFG", min_size=1, max_size=9), min_size=1, max_size=6), st.integers(1, 4))
def test_breaking_loses_no_word_and_is_the_best_there_is(words: list[str], lines: int) -> None:
    text = " ".join(words)
    found = broken(text, lines)
    assert " ".join(found).split() == words
    assert len(found) <= lines

    def best(rest: list[str], left: int) -> float:
        if left == 1 or len(rest) == 1:
            return advance(" ".join(rest))
        cuts = range(1, len(rest) + 1)
        return min(max(advance(" ".join(rest[:k])), best(rest[k:], left - 1) if k < len(rest) else 0.0) for k in cuts)

    assert max(advance(line) for line in found) == best(words, lines)


def test_setting_fits_its_panel_with_the_largest_stamp() -> None:
    found = setting("Ada Byron Lovelace", (30.0, 14.0), HEIGHTS, 3)
    assert found is not None
    assert found.lines == ("ADA BYRON", "LOVELACE")
    # Nine letters on 30 mm take 3.33 mm at most: the 1/8 in stamp (3.175 mm) serves, 5/32 in does not.
    assert found.height == pytest.approx(3.175)


def test_table_of_heights_agrees_with_single_settings() -> None:
    names = ["Ada Lind", "Giorgos Papadopoulos", "明 王", "Li"]
    panels = np.array([[30.0, 12.0], [45.0, 6.0], [10.0, 3.0]])
    table = letter_heights(line_lengths(names, 3), panels, HEIGHTS)
    for n, name in enumerate(names):
        for d, panel in enumerate(panels.tolist()):
            one = setting(name, (panel[0], panel[1]), HEIGHTS, 3)
            assert table[n, d] == pytest.approx(one.height if one else 0.0)


def test_scripts_without_stamps_are_chased_as_written() -> None:
    assert method("محمد") == "chase"
    assert stamped_text("Ωμέγα") == "Ωμέγα"
    assert stamped_text("Zoë") == "ZOË"
