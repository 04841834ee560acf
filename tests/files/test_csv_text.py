"""Text that every reader of CSV gives back, and that no spreadsheet calculates."""

from __future__ import annotations

import csv
import io

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from armature.files.csv_text import csv_text, rounded

# What UTF-8 can hold; a NUL ends text in arrays of text.
TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=20)


@given(st.lists(TEXTS, min_size=1, max_size=5))
def test_any_text_comes_back_or_with_one_apostrophe_before_it(texts: list[str]) -> None:
    text = csv_text({"name": np.array(texts), "feed_mm": np.zeros(len(texts))})
    read = [row["name"] for row in csv.DictReader(io.StringIO(text, newline=""))]
    for was, found in zip(texts, read, strict=True):
        assert found in (was, "'" + was)
        assert not found.startswith(("=", "+", "-", "@", "\t", "\r", "\n"))


@given(st.lists(st.floats(-1e7, 1e7), min_size=1, max_size=20))
def test_a_length_reads_back_to_a_nanometre_and_stays_there(values: list[float]) -> None:
    text = csv_text({"feed_mm": np.array(values)})
    read = np.array([float(line) for line in text.splitlines()[1:]])
    assert np.abs(read - values).max() <= 0.51e-6
    assert csv_text({"feed_mm": read}) == text
    assert (rounded("feed_mm", read) == read).all()
    assert "-0.0" not in text.splitlines()


def test_whole_numbers_stay_whole() -> None:
    assert csv_text({"bend": np.array([1, 2]), "bend_deg": np.array([5.0, 90.0])}) == "bend,bend_deg\n1,5.0\n2,90.0\n"
