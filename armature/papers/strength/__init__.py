"""The strength report to read."""

from __future__ import annotations

from armature.papers.strength.page import page

__all__ = ["page"]
