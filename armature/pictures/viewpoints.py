"""The usual places from which a tree is shown.

Axes: x to the right of the front view, y away from it, z up.
"""

from __future__ import annotations

import numpy as np

from armature.edge import CommissionError
from armature.pictures.cameras import Camera, aimed, fitted, toward
from armature.pictures.closeup import shown_twig
from armature.pictures.scene import Scene
from armature.tree import LIMB, Floats, Tree

# Azimuth and elevation of the place from which each view of the whole looks, in degrees.
AROUND = {
    "front": (-90.0, 4.0),
    "side": (0.0, 4.0),
    "back": (90.0, 4.0),
    "quarter": (-52.0, 13.0),
    "above": (-90.0, 89.99),
}
VIEWS = (*AROUND, "below", "visitor", "twig", "crotch")
_EYE_HEIGHT = 1600.0
# Sine of the sun's height, 45 degrees, above which a shadow is no longer than the tree.
_HIGH = 0.707


def camera(scene: Scene, tree: Tree, view: str, size: tuple[int, int]) -> Camera:
    """Return the camera of a view, one of `VIEWS`, for a picture of a size in px."""
    named(view)
    if view in AROUND:
        # From elsewhere the shadow lies so far aside that the tree would be small beside it.
        points = _with_shadow(scene) if view in ("front", "back") else scene.subject
        return fitted(points, toward(*AROUND[view]), size)
    if view == "below":
        return _below(scene, tree, size)
    if view == "visitor":
        return _visitor(scene, tree, size)
    if view == "twig":
        return _twig(scene, tree, size)
    return _crotch(tree, size)


def _with_shadow(scene: Scene) -> Floats:
    """Return the points (Q, 3) of the tree and of its shadow, both of which a picture shows whole; a low sun throws it
    farther than any picture reaches.
    """
    sun, points = scene.sky.sun, scene.subject
    if sun[2] < _HIGH or all(each.name != "ground" for each in scene.parts):
        return points
    thrown = points[::20]
    return np.concatenate([points, thrown - sun * (thrown[:, 2:] / sun[2])])


def named(view: str) -> str:
    """Return the name of a view, or raise where there is none of that name."""
    if view not in VIEWS:
        raise CommissionError("view", f"must be one of {', '.join(VIEWS)}", view)
    return view


def _below(scene: Scene, tree: Tree, size: tuple[int, int]) -> Camera:
    """Lying under the crown, looking up past the trunk."""
    crown = _crown(scene)
    away = 0.30 * _reach(tree)
    eye = np.array([0.45 * away, -away, 250.0])
    return aimed(crown, eye, size, widest=88.0)


def _visitor(scene: Scene, tree: Tree, size: tuple[int, int]) -> Camera:
    """Standing on the path that leads to the tree, a little to the right of its front."""
    away = _reach(tree) + 0.75 * float(tree.tips[:, 2].max())
    eye = np.append(toward(-66.0, 0.0)[:2] * away, _EYE_HEIGHT)
    return aimed(scene.subject, eye, size, widest=80.0)


def _twig(scene: Scene, tree: Tree, size: tuple[int, int]) -> Camera:
    """Close to a twig rich in leaves, seen from the side and from outside the crown, with as little as may be before
    and behind it.
    """
    figure = [each.vertices[::40] for each in scene.parts if each.name == "figure"]
    chosen, look = shown_twig(tree, np.concatenate(figure) if figure else np.zeros((0, 3)))
    chain = tree.chains.taken([chosen]).vertices
    hung = tree.hang_points[tree.leaves.twigs == chosen]
    low = np.concatenate([chain, hung, hung - [0.0, 0.0, 110.0]])
    return fitted(low, look, size, field=22.0, margin=0.12)


def _crotch(tree: Tree, size: tuple[int, int]) -> Camera:
    """Close to where the first limbs leave the trunk."""
    limbs = tree.of_rank(LIMB)
    at = tree.starts[limbs] if len(limbs) else tree.starts
    room = 5.0 * float(tree.start_diameters[0])
    box = np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)]) * [
        0.6 * room,
        0.6 * room,
        0.7 * room,
    ]
    lowest = at[np.argsort(at[:, 2])[: max(len(at) // 2, 1)]]
    # From the front half of the round, where no limb stands before the trunk.
    azimuths = np.arange(-150.0, -29.0, 10.0)
    out = tree.axes[limbs] if len(limbs) else tree.axes
    turned = np.degrees(np.arctan2(out[:, 1], out[:, 0]))
    apart = np.abs((azimuths[:, None] - turned + 180.0) % 360.0 - 180.0).min(axis=1)
    look = float(azimuths[np.argmax((np.minimum(apart, 75.0) - 0.05 * np.abs(azimuths + 60.0)).round(6))])
    return fitted(lowest.mean(axis=0) + [0.0, 0.0, 0.25 * room] + box, toward(look, 8.0), size, 30.0, 0.02)


def _crown(scene: Scene) -> Floats:
    steel = next(each for each in scene.parts if each.name == "steel").vertices
    return np.asarray(steel[steel[:, 2] > 0.30 * steel[:, 2].max()])


def _reach(tree: Tree) -> float:
    return float(np.hypot(tree.tips[:, 0], tree.tips[:, 1]).max())
