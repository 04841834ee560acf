"""Pictures of the tree: one scene for stills, turntable, the client's page and the easel."""

from __future__ import annotations

from armature.pictures.stills import contact_sheet, picture

__all__ = ["contact_sheet", "picture"]
