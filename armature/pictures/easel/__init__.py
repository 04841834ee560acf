"""The easel: a page in the browser on which a tree is shaped by eye."""

from __future__ import annotations

from armature.pictures.easel.server import serve
from armature.pictures.easel.works import Standing, Works

__all__ = ["Standing", "Works", "serve"]
