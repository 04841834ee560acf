"""Growing: from a commission to a Tree."""

from __future__ import annotations

from armature.grow.edit import twig_added
from armature.grow.growing import grow
from armature.grow.kept import kept_members

__all__ = ["grow", "kept_members", "twig_added"]
