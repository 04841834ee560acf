"""Pictures of the tree: one scene for stills, film, the client's page and the easel.

picture(tree, "front.png")                       # a quick look
write_view(Showing(tree, commission, facts(commission, tree)), folder)   # all of a job folder's `view/`
"""

from __future__ import annotations

from armature.pictures.facts import facts
from armature.pictures.folder import Showing, write_view
from armature.pictures.stills import picture

__all__ = ["Showing", "facts", "picture", "write_view"]
