"""The one scene: everything that any picture, turntable or page shows, with its light."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from armature.centreline import Floats
from armature.pictures.foliage import Blade, foliage
from armature.pictures.light import baked
from armature.pictures.parts import Part
from armature.pictures.setting import base_plate, figure, ground
from armature.pictures.shade import Sky, studio_sky
from armature.pictures.steel import steel
from armature.tree import Tree


@dataclass(frozen=True, eq=False)
class Scene:
    """Parts in drawing order under one sky; `fade` (2,) mm: where the ground begins to melt into the horizon, and where it ends."""

    parts: tuple[Part, ...]
    sky: Sky
    fade: tuple[float, float]

    @cached_property
    def subject(self) -> Floats:
        """Points (Q, 3) mm that a picture of the whole must show: all but the ground."""
        return np.concatenate([each.vertices for each in self.parts if each.name not in ("ground", "sky")])

    def without(self, *names: str) -> Scene:
        """Return this scene without some of its parts."""
        return replace(self, parts=tuple(each for each in self.parts if each.name not in names))


def staged(
    tree: Tree,
    leaves: bool = True,
    age: str = "new",
    sky: Sky | None = None,
    rays: int = 24,
    blades: list[Blade] | None = None,
    scale_figure: bool = True,
    fine: float = 1.0,
) -> Scene:
    """Return the scene of a tree on its plate, with leaves of an age or bare, lit by as many rays a vertex."""
    above = sky or studio_sky()
    iron = steel(tree, step=45.0 / fine, fine=fine)
    hung = foliage(tree, age, blades) if leaves else None
    height = float(tree.tips[:, 2].max())
    reach = float(np.abs(iron.vertices[:, :2]).max())
    solid = [iron, base_plate(tree), *([hung] if hung is not None else [])]
    if scale_figure:
        solid.append(figure(_beside(reach)))
    floor = ground(max(reach + 0.9 * height, 1500.0), (reach + 0.9 * height) / (110.0 * fine))
    parts = baked([*solid, floor], solid, above.sun, rays)
    return Scene(tuple(parts), above, (1.2 * height + reach, 9.0 * height))


def _beside(reach: float) -> Floats:
    """Return where the figure stands: at the crown's edge, a little in front."""
    return np.array([0.74 * reach + 250.0, -0.42 * reach - 250.0])
