"""Pictures of the tree: one scene for stills, film, the client's page and the easel.

picture(tree, "front.png")                       # a quick look
write_view(Showing(tree, commission, facts(commission, tree)), folder)   # all of a job folder's `view/`
"""

from __future__ import annotations

from armature.pictures.facts import facts
from armature.pictures.foliage import ovate
from armature.pictures.packed import packed
from armature.pictures.page import viewer_script, web
from armature.pictures.ratios import draw_ratios
from armature.pictures.scene import staged
from armature.pictures.showing import showing_of
from armature.pictures.stages import checked, manner
from armature.pictures.stills import as_png, drawn, picture, picture_path, saved
from armature.pictures.view_folder import Showing, still_names, write_view
from armature.pictures.viewpoints import camera, named
from armature.pictures.window import need_screen, show_window

__all__ = [
    "Showing",
    "as_png",
    "camera",
    "checked",
    "draw_ratios",
    "drawn",
    "facts",
    "manner",
    "named",
    "need_screen",
    "ovate",
    "packed",
    "picture",
    "picture_path",
    "saved",
    "show_window",
    "showing_of",
    "staged",
    "still_names",
    "viewer_script",
    "web",
    "write_view",
]
