"""Still pictures of a tree."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from armature.edge import FileError, write_whole
from armature.pictures.scene import Scene, staged
from armature.pictures.stages import checked, stage
from armature.pictures.viewpoints import camera
from armature.tree import Tree

Picture = NDArray[np.uint8]
Said = Callable[[str], None]


def picture(
    tree: Tree, path: str | Path, view: str = "front", size: tuple[int, int] = (1200, 1200), leaves: bool = True
) -> Path:
    """Return the path of a quick picture of the tree as a PNG, from one of `views.VIEWS`."""
    scene = staged(tree, leaves=leaves, rays=8, fine=0.8)
    return saved(drawn(scene, tree, [view], size)[view], Path(path))


def drawn(
    scene: Scene, tree: Tree, views: Iterable[str], size: tuple[int, int], clear: bool = False
) -> dict[str, Picture]:
    """Return pictures (H, W, 3) of some views by name, or (H, W, 4) on a see-through background."""
    listed = tuple(views)
    return dict(zip(listed, drawn_each(scene, tree, [(view, size) for view in listed], clear), strict=True))


def drawn_each(
    scene: Scene, tree: Tree, wanted: Sequence[tuple[str, tuple[int, int]]], clear: bool = False, fine: bool = False
) -> list[Picture]:
    """Return a picture for each view and size in px that is wanted, all from one stage; fine: with light per pixel."""
    shown = scene.without("ground") if clear else scene
    set_up = stage(shown, wanted[0][1], fine)
    pictures = []
    try:
        for view, size in wanted:
            set_up.resize(checked(size))
            pictures.append(set_up.draw(camera(shown, tree, view, size), clear))
    finally:
        set_up.close()
    return pictures


def saved(seen: Picture, path: Path) -> Path:
    """Return the path to which the picture was written as a PNG, whole or not at all."""
    return write_whole(path, as_png(seen))


def as_png(seen: Picture) -> bytes:
    """Return the picture as the bytes of a PNG."""
    packed = io.BytesIO()
    Image.fromarray(seen).save(packed, format="PNG", compress_level=4)
    return packed.getvalue()


def picture_path(path: Path, source: Path) -> Path:
    """Return the path for a picture of what `source` holds.

    Raises FileError where it is no name of a PNG, is the source itself, or lies in no folder.
    """
    if path.suffix.lower() != ".png":
        raise FileError(path, "must end in .png: a picture is written there")
    if path.exists() and source.exists() and path.samefile(source):
        raise FileError(path, "is the file that the picture is drawn from")
    if not path.parent.is_dir():
        raise FileError(path, "cannot be written: no such folder")
    return path
