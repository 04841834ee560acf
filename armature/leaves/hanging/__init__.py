"""Hanging: loops on twigs, room to swing, leaves moved and exchanged until few strike."""

from __future__ import annotations

from armature.leaves.hanging.facing import leaf_frames
from armature.leaves.hanging.hang import Hung, hang_leaves
from armature.leaves.hanging.locking import hung_as_cut
from armature.leaves.hanging.loop_metals import Contact, Part, contact, parts_list
from armature.leaves.hanging.loops import Loop

__all__ = ["Contact", "Hung", "Loop", "Part", "contact", "hang_leaves", "hung_as_cut", "leaf_frames", "parts_list"]
