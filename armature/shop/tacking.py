"""Members turned at their weld until their tip is where the check dimensions want it, before the tack holds.

Size letters: Q members of all copies together. Lengths are mm, angles degrees. Vectors stand in the parent's own frame
at the joint: chalk, t x chalk, t.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from armature.tree import BendList, Floats, Joints, bent, carry, dot, row_norms, turned


def tacked(listed: Joints, true_bends: BendList, bends: BendList, aim: Floats) -> Joints:
    """Return joints turned so that members bent as `bends` point their tips where `true_bends` would have them.

    listed: the joints as drawn. aim: (Q, 3) mm, by how much each tip is missed all the same. The chord of a member is
    laid on the wanted one by the least rotation; what it is too long or too short stays.
    """
    d, n = _frames(listed)
    wanted = _in_parent(_chords(true_bends), d, n) + aim
    made = _in_parent(_chords(bends), d, n)
    before = made / np.maximum(row_norms(made), 1e-9)[:, None]
    after = wanted / np.maximum(row_norms(wanted), 1e-9)[:, None]
    d, n = carry(d, before, after), carry(n, before, after)
    return replace(listed, **_angles(d, n))


def _frames(listed: Joints) -> tuple[Floats, Floats]:
    """Return the axis d and the chalk direction n of each child: (Q, 3)."""
    clock, lean = np.radians(listed.clocks), np.radians(listed.leans)
    none = np.zeros(len(clock))
    u = np.stack([np.cos(clock), np.sin(clock), none], axis=1)
    t = np.array([0.0, 0.0, 1.0])
    d = np.cos(lean)[:, None] * t + np.sin(lean)[:, None] * u
    plain = np.cos(lean)[:, None] * u - np.sin(lean)[:, None] * t
    return d, turned(plain, d, np.radians(listed.rolls))


def _chords(bends: BendList) -> Floats:
    """Return start to tip of each member along its own axis, chalk and across: (Q, 3) mm."""
    zero = np.zeros((len(bends.tails), 3))
    chains = bent(bends, zero, zero + [1.0, 0.0, 0.0], zero + [0.0, 1.0, 0.0])
    return np.asarray(chains.vertices[chains.offsets[1:] - 1])


def _in_parent(local: Floats, d: Floats, n: Floats) -> Floats:
    return np.asarray(local[:, :1] * d + local[:, 1:2] * n + local[:, 2:] * np.cross(d, n))


def _angles(d: Floats, n: Floats) -> dict[str, Floats]:
    side = np.hypot(d[:, 0], d[:, 1])
    lean = np.arctan2(side, d[:, 2])
    clock = np.where(side > 1e-9, np.arctan2(d[:, 1], d[:, 0]), 0.0)
    none = np.zeros(len(clock))
    u = np.stack([np.cos(clock), np.sin(clock), none], axis=1)
    plain = np.cos(lean)[:, None] * u - np.sin(lean)[:, None] * np.array([0.0, 0.0, 1.0])
    roll = np.arctan2(dot(np.cross(d, plain), n), dot(plain, n))
    return {"clocks": np.degrees(clock), "leans": np.degrees(lean), "rolls": np.degrees(roll)}
