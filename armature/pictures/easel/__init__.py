"""The easel: a page in the browser on which a tree is shaped by eye."""

from __future__ import annotations

from armature.pictures.easel.server import Easel, serve
from armature.pictures.easel.works import Settled, Works

__all__ = ["Easel", "Settled", "Works", "serve"]
