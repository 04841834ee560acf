"""Who is over its limit shows in the picture."""

from pathlib import Path

import numpy as np
from PIL import Image

from armature.pictures.cameras import fitted, projected, toward
from armature.pictures.ratios import STEPS, draw_ratios, raised
from armature.tree import tubes
from tests.trees import gallows, random_tree


def test_a_member_over_its_limit_is_drawn_in_the_colour_of_the_legend(tmp_path: Path) -> None:
    tree = gallows()
    for ratio, (_, colour) in zip((0.2, 0.7, 0.9, 1.5, 9.0), STEPS, strict=True):
        path = draw_ratios(tree, np.array([0.1, ratio]), tmp_path / "strength.png", side=900)
        seen = np.asarray(Image.open(path).convert("RGB")).astype(int)
        wanted = np.array([int(colour[at : at + 2], 16) for at in (1, 3, 5)])
        # Right of the post and above the ground there is only the limb.
        limb = np.abs(seen[150:850, 470:] - wanted).max(axis=2) < 12
        assert limb.sum() > 100


def test_members_over_their_limit_stand_before_all_others_in_the_same_place_of_the_picture() -> None:
    tree = random_tree(60, 3)
    mesh = tubes(tree, 6)
    steps = np.arange(len(tree)) % len(STEPS)
    camera = fitted(mesh.vertices, toward(-90.0, 4.0), (400, 400))
    shown = raised(mesh, steps, camera)
    size = (400, 400)
    np.testing.assert_allclose(projected(camera, shown, size), projected(camera, mesh.vertices, size), atol=1e-6)
    away, over = (camera.eye - shown) @ camera.axes[2], np.maximum(steps[mesh.members] - 2, 0)
    assert away[over == 1].max() < away[over == 0].min()
    assert away[over == 2].max() < away[over == 1].min()
