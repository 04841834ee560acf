"""Words on pictures: in the fonts of the papers, shaped, from right to left where they are read so."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image

from armature.pictures.lettering import PAPER, broken, lettered, width_of
from armature.typefaces import faces, signs_of

NAMES = ("Zo\u00eb", "\u0394\u03ad\u03bd\u03c4\u03c1\u03bf", "\u092e\u0940\u0930\u093e", "\u05e8\u05d5\u05ea", "\u738b")


def drawn(text: str) -> np.ndarray:
    sheet = Image.new("RGB", (400, 80), PAPER)
    lettered(sheet, (5.0, 10.0), text, 40)
    return np.asarray(np.asarray(sheet).min(axis=2))


@pytest.mark.parametrize("name", NAMES)
def test_each_sign_comes_from_a_font_that_has_it(name: str) -> None:
    assert all(any(sign in signs_of(file) for file in faces()) for sign in name)
    # A font without a sign draws its box for every one: two unlike signs would be drawn alike.
    seen = {drawn(sign).tobytes() for sign in dict.fromkeys(name)}
    assert len(seen) == len(set(name))
    assert 0.0 < width_of(name, 40) < 400.0


def test_hebrew_begins_at_the_right() -> None:
    both, second = drawn("\u05d0\u05d1"), drawn("\u05d1")
    wide = int(width_of("\u05d1", 40))
    np.testing.assert_array_equal(both[:, : 5 + wide - 2], second[:, : 5 + wide - 2])


def test_devanagari_is_shaped() -> None:
    # The sign of the short i is spoken after its consonant and drawn before it: drawn one by one they are wider apart.
    joined, single = drawn("\u0915\u093f"), drawn("\u0915")
    assert (joined[:, 5:12] < 128).sum() != (single[:, 5:12] < 128).sum()
    assert not np.array_equal(joined[:, :20], single[:, :20])


def test_lines_are_no_wider_than_asked() -> None:
    text = "A tree of bars and twigs for \u0394\u03ad\u03bd\u03c4\u03c1\u03bf"
    lines = broken(text, 30, 150.0)
    assert " ".join(lines) == text
    assert all(width_of(line, 30) <= 150.0 for line in lines)
