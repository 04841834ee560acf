"""A stage to draw a scene on: a graphics library where one works, else rays."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from armature.edge import CommissionError
from armature.pictures.cameras import Camera
from armature.pictures.probe import RAYS, way, window_class
from armature.pictures.scene import Scene

# More than this needs more memory than a graphics library without a card can be asked for.
LARGEST = 8192


class Stage(Protocol):
    """A scene that can be drawn from any number of cameras."""

    def draw(self, camera: Camera, clear: bool = False) -> NDArray[np.uint8]:
        """Return the picture (H, W, 3), or (H, W, 4) with a see-through background."""
        ...

    def resize(self, size: tuple[int, int]) -> None:
        """Draw pictures of this size in px from now on."""
        ...

    def close(self) -> None:
        """Give everything back."""
        ...


def stage(scene: Scene, size: tuple[int, int], fine: bool = False) -> Stage:
    """Return a stage for pictures of a size in px, by the best way this machine has; fine: light found for every pixel,
    which every machine can.
    """
    checked(size)
    if fine:
        from armature.pictures.fine import FineStage

        return FineStage(scene, size)
    if way() == RAYS:
        from armature.pictures.rays import RayStage

        return RayStage(scene, size)
    from armature.pictures.raster import GraphicsStage

    return GraphicsStage(scene, size, window_class(way()))


def checked(size: tuple[int, int]) -> tuple[int, int]:
    """Return the size, or raise where a side is not from 16 to `LARGEST` px."""
    for side in size:
        if not 16 <= side <= LARGEST:
            raise CommissionError("pictures.size", f"each side must be from 16 to {LARGEST} px", side)
    return size


def manner() -> str:
    """Return one line that says how pictures are drawn here."""
    if way() == RAYS:
        return "no graphics library works here: pictures are drawn by casting rays"
    return f"pictures are drawn by VTK through {way().upper()}"
