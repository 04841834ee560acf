"""The one scene: everything that any picture, turntable or page shows, with its light."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from armature.pictures.closeup import near_leaves
from armature.pictures.dusk import dimmed
from armature.pictures.figure import STATURE, figure
from armature.pictures.foliage import Sheet, foliage, loops
from armature.pictures.light import baked
from armature.pictures.parts import Part
from armature.pictures.setting import LAMPLIGHT, Plate, base_plate, ground, lamp_places, lamps
from armature.pictures.shade import Sky, studio_sky
from armature.pictures.staff import SMALL, staff
from armature.pictures.steel import steel
from armature.tree import Floats, Tree

# Height in mm up to which bars are meshed as finely as a close look asks.
_USUAL = 4500.0


@dataclass(frozen=True, eq=False)
class Scene:
    """Parts in drawing order under one sky.

    fade: (2,) mm, where the ground begins to melt into the horizon, and where it ends. metal: of the leaves. paved:
    whether the ground is laid with slabs.
    """

    parts: tuple[Part, ...]
    sky: Sky
    fade: tuple[float, float]
    metal: str = "copper"
    paved: bool = False

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
    rays: int = 16,
    blades: Sequence[Sheet] | None = None,
    scale_figure: bool = True,
    fine: float = 1.0,
    with_loops: bool = True,
    frames: Floats | None = None,
    metal: str = "copper",
    near_blades: Sequence[Sheet] = (),
    paved: bool = False,
    plate: Plate | None = None,
    lit: bool = False,
) -> Scene:
    """Return the scene of a tree on its plate, with leaves of an age or bare, lit by as many rays a vertex; no rays:
    quickly and roughly.

    near_blades: finer ones by design, for the leaves that a close view shows. paved: whether the ground is laid with
    slabs. plate: the one under the trunk as it is made, where it is known. lit: whether lamps at its foot
    shine in the sun's stead.
    """
    above = sky or studio_sky()
    height = float(tree.tips[:, 2].max())
    # A taller tree is seen from farther off: bends keep their shape, straight bars need fewer rings.
    iron = steel(tree, step=45.0 / fine * max(height / _USUAL, 1.0), fine=fine)
    reach = float(np.abs(iron.vertices[:, :2]).max())
    beside = []
    if scale_figure:
        beside = [figure(*_beside(tree, reach)) if height >= SMALL else staff(_near(reach), height)]
    hung: list[Part | None] = []
    if leaves:
        standing = beside[0].vertices[::40] if beside else np.zeros((0, 3))
        near = near_leaves(tree, standing) if near_blades and len(tree.leaves) else None
        hung.append(foliage(tree, age, blades, frames, metal, near, near_blades))
        hung.append(loops(tree, frames, fine, near) if with_loops else None)
    if lit:
        above = replace(above, lamps=lamp_places(tree), sun_colour=LAMPLIGHT)
    solid = [
        iron,
        base_plate(tree, plate.side, plate.thickness, plate.rods) if plate else base_plate(tree),
        *(each for each in hung if each is not None),
        *beside,
    ]
    floor = ground(max(reach + 0.9 * height, 1500.0), (reach + 0.9 * height) / (110.0 * fine))
    shown = [*solid, *([lamps(above.lamps)] if above.lamps is not None else []), floor]
    cast = baked(shown, solid, above.sun, rays, above.lamps) if rays else dimmed(shown, solid, above.sun)
    return Scene(tuple(cast), above, (1.2 * height + reach, 9.0 * height), metal, paved)


def _beside(tree: Tree, reach: float) -> tuple[Floats, float]:
    """Return where the figure stands and whither it looks: at the crown's edge, clear of a crown that hangs low, out of
    the way of the usual views.
    """
    azimuth = np.radians(162.0)
    hangs = float(np.quantile(tree.tips[:, 2], 0.1)) < STATURE
    away = 1.02 * reach + 450.0 if hangs else 0.86 * reach + 350.0
    return away * np.array([np.cos(azimuth), np.sin(azimuth)]), -35.0


def _near(reach: float) -> Floats:
    """Return where the staff stands: where the figure would, but at a small piece's own distance."""
    azimuth = np.radians(162.0)
    return 1.3 * reach * np.array([np.cos(azimuth), np.sin(azimuth)])
