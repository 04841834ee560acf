"""How each leaf hangs, for pictures and meshes."""

from __future__ import annotations

import numpy as np

from armature.leaves.hanging.meeting import Floats
from armature.seeds import keys, uniform
from armature.tree import Tree


def leaf_frames(tree: Tree, eyes: Floats, seed: int) -> Floats:
    """Return how each leaf hangs, for pictures and meshes: (L, 4, 4), from a leaf mesh's frame to the tree's, mm.

    Faces lie outward from the tree's axis, give or take 50 deg by the leaf's tag, a few degrees off plumb.
    """
    draw = uniform(keys(seed, tree.leaves.tags, "facing"), 3)
    out = eyes[:, :2] - (eyes[:, :2].mean(axis=0) if len(eyes) else 0.0)
    # A leaf mesh faces +y: turned by this angle about z it faces outward.
    yaw = np.arctan2(out[:, 1], out[:, 0]) - np.pi / 2 + np.deg2rad(100.0) * (draw[:, 0] - 0.5)
    pitch, roll = (np.deg2rad(14.0) * (draw[:, k] - 0.5) for k in (1, 2))
    frames = np.zeros((len(eyes), 4, 4))
    frames[:, :3, :3] = _about_z(yaw) @ _about_x(pitch) @ _about_y(roll)
    frames[:, :3, 3] = eyes
    frames[:, 3, 3] = 1.0
    return frames


def _about_z(a: Floats) -> Floats:
    z, one = np.zeros_like(a), np.ones_like(a)
    rows = [np.cos(a), -np.sin(a), z, np.sin(a), np.cos(a), z, z, z, one]
    return np.stack(rows, axis=1).reshape(-1, 3, 3)


def _about_x(a: Floats) -> Floats:
    z, one = np.zeros_like(a), np.ones_like(a)
    return np.stack([one, z, z, z, np.cos(a), -np.sin(a), z, np.sin(a), np.cos(a)], axis=1).reshape(-1, 3, 3)


def _about_y(a: Floats) -> Floats:
    z, one = np.zeros_like(a), np.ones_like(a)
    return np.stack([np.cos(a), z, np.sin(a), z, one, z, -np.sin(a), z, np.cos(a)], axis=1).reshape(-1, 3, 3)
