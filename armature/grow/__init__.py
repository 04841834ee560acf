"""Growing: from a commission to a Tree."""

from __future__ import annotations

from armature.grow.growing import grow

__all__ = ["grow"]
