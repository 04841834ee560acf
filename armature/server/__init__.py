"""The house's one web server: rooms such as the easel are mounted in it, behind one token and one set of limits."""

from __future__ import annotations

from armature.server.asking import Answer, Asked, MalformedError, whole_number
from armature.server.hands import Hands
from armature.server.listening import Server, listening
from armature.server.rooms import Room, room

__all__ = [
    "Answer",
    "Asked",
    "Hands",
    "MalformedError",
    "Room",
    "Server",
    "listening",
    "room",
    "whole_number",
]
