"""Who is over its limit shows in the picture."""

from pathlib import Path

import numpy as np
from PIL import Image

from armature.pictures.ratios import STEPS, draw_ratios
from tests.trees import gallows


def test_a_member_over_its_limit_is_drawn_in_the_colour_of_the_legend(tmp_path: Path) -> None:
    tree = gallows()
    for ratio, (_, colour) in zip((0.2, 0.7, 0.9, 1.5, 9.0), STEPS, strict=True):
        path = draw_ratios(tree, np.array([0.1, ratio]), tmp_path / "strength.png", side=900)
        seen = np.asarray(Image.open(path).convert("RGB")).astype(int)
        wanted = np.array([int(colour[at : at + 2], 16) for at in (1, 3, 5)])
        # Right of the post and above the ground there is only the limb.
        limb = np.abs(seen[150:850, 470:] - wanted).max(axis=2) < 12
        assert limb.sum() > 100
