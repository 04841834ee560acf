"""Still pictures of a tree."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from armature.pictures.cameras import Camera, fitted, toward
from armature.pictures.scene import Scene, staged
from armature.pictures.stages import stage as staged_for
from armature.tree import Tree

# Azimuth and elevation of the place from which each view looks, in degrees.
VIEWS = {
    "front": (-90.0, 5.0),
    "side": (0.0, 5.0),
    "back": (90.0, 5.0),
    "quarter": (-52.0, 13.0),
    "above": (-90.0, 89.99),
}


def picture(
    tree: Tree, path: str | Path, view: str = "front", size: tuple[int, int] = (1200, 1200), leaves: bool = True
) -> Path:
    """Return the path of a quick picture of the tree as a PNG, from one of `VIEWS`."""
    scene = staged(tree, leaves=leaves, rays=8, fine=0.8)
    stage = staged_for(scene, size)
    Image.fromarray(stage.draw(camera(scene, view, size))).save(path)
    stage.close()
    return Path(path)


def contact_sheet(
    trees: list[Tree],
    path: str | Path,
    titles: list[str] | None = None,
    view: str = "front",
    side: int = 420,
    leaves: bool = True,
) -> Path:
    """Return the path of one PNG with a small picture of each tree, in rows, all at one scale, with a title under each."""
    columns = int(np.ceil(np.sqrt(len(trees) * 1.4)))
    rows = -(-len(trees) // columns)
    sheet = Image.new("RGB", (columns * side, rows * (side + 26)), "#f4f1ea")
    for number, tree in enumerate(trees):
        scene = staged(tree, leaves=leaves, rays=6, fine=0.6)
        stage = staged_for(scene, (side - 8, side - 8))
        small = Image.fromarray(stage.draw(camera(scene, view, (side, side))))
        stage.close()
        corner = (number % columns * side + 4, number // columns * (side + 26) + 4)
        sheet.paste(small, corner)
        _write(sheet, (corner[0] + 4, corner[1] + side - 6), titles[number] if titles else str(number + 1))
    sheet.save(path)
    return Path(path)


def camera(scene: Scene, view: str, size: tuple[int, int]) -> Camera:
    """Return the camera of a named view that shows the whole scene."""
    return fitted(scene.subject, toward(*VIEWS[view]), size)


def drawn(scene: Scene, view: str, size: tuple[int, int]) -> NDArray[np.uint8]:
    """Return the picture (H, W, 3) of a named view."""
    stage = staged_for(scene, size)
    found = stage.draw(camera(scene, view, size))
    stage.close()
    return found


def _write(sheet: Image.Image, corner: tuple[int, int], text: str) -> None:
    from PIL import ImageDraw, ImageFont

    ImageDraw.Draw(sheet).text(corner, text, fill="#33302b", font=ImageFont.load_default(15))
