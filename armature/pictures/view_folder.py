"""Everything that goes into `view/` of a job folder."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np

from armature.commission import Commission
from armature.pictures.client_sheet import Facts, sheet
from armature.pictures.elevations import write_drawings
from armature.pictures.foliage import Sheet
from armature.pictures.light import baked
from armature.pictures.page import LATITUDE, PageKnows, client_page
from armature.pictures.scene import Scene, staged
from armature.pictures.setting import Plate
from armature.pictures.shade import Sky, studio_sky
from armature.pictures.solar import LOWEST, sky_at
from armature.pictures.stages import checked
from armature.pictures.stills import Picture, drawn_each, saved
from armature.pictures.turntable import turntable
from armature.progress import Told
from armature.tree import Floats, Tree

STILLS = ("front", "side", "quarter", "below", "visitor", "twig", "crotch")
_BARE = ("front", "quarter")
# Factor on the corners of bars and loops where each pixel is looked at by itself.
_FINE = 1.5
# The sheet's frames in px, so that no picture on it is cut or scaled.
_FRAMES = {
    "front": (1090, 1330),
    "bare": (458, 652),
    "quarter": (458, 652),
    "visitor": (508, 460),
    "below": (508, 460),
    "twig": (508, 460),
}


def still_names() -> list[str]:
    """Return the names of the files of all stills."""
    return [*(f"{view}.png" for view in STILLS), *(f"{view}-bare.png" for view in _BARE)]


@dataclass(frozen=True)
class Showing:
    """A tree and how it hangs its leaves.

    blades: by design, frames: (L, 4, 4) from a blade to the tree; plain ones if not given. plate_mm: width of the base
    plate, five trunks where it is not given. far_blades: blades of fewer triangles, for all leaves but those that a
    close view shows. design: hash of the design.json that is shown, for the client's word on it. plate: under the
    trunk, as it is made.
    """

    tree: Tree
    commission: Commission
    facts: Facts
    blades: Sequence[Sheet] | None = None
    frames: Floats | None = None
    plate_mm: float | None = None
    far_blades: Sequence[Sheet] | None = None
    design: str = ""
    plate: Plate | None = None

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of a still, px."""
        return checked((self.commission.pictures.width, self.commission.pictures.height))

    def sky(self) -> Sky:
        """Return the sky of the commission's hour, or the usual one."""
        asked = self.commission.pictures
        if asked.date is None or asked.latitude is None:
            return studio_sky()
        return sky_at(date.fromisoformat(asked.date), asked.hour, asked.latitude)

    def scene(self, leaves: bool = True, fine: float = 0.9, rays: int = 16, figure: bool = True) -> Scene:
        """Return the scene of the tree, in leaf or bare; figure: whether one may stand there."""
        asked, sky = self.commission.pictures, self.sky()
        return staged(
            self.tree,
            leaves,
            asked.age,
            sky,
            rays,
            self.far_blades or self.blades,
            scale_figure=asked.figure and figure,
            fine=fine,
            frames=self.frames,
            metal=self.commission.leaves.metal,
            plate=self.plate,
            lit=asked.lamps and sky.sun[2] < np.sin(np.radians(LOWEST)),
            paved=asked.setting == "courtyard",
            near_blades=self.blades if self.blades and self.far_blades and figure else (),
        )


def write_view(
    showing: Showing,
    folder: Path,
    told: Told = lambda _what, _share: None,
    fine: bool = False,
    stills: bool = True,
) -> list[Path]:
    """Return the paths of all that was written to the folder: stills, sheet, page, drawings.

    fine: stills with light found for every pixel in place of draft ones, and the film. stills: whether to draw them;
    the sheet is drawn all the same. told: hears what is drawn and the share done. Raises ArmatureError for a size or
    an hour that cannot be.
    """
    showing.sky()
    folder.mkdir(parents=True, exist_ok=True)
    told("light", 0.0)
    leafy, bare = showing.scene(), showing.scene(leaves=False)
    paths, front = draw_stills(
        showing, leafy, bare, folder, lambda what, share: told(what, 0.1 + 0.3 * share), fine, stills
    )
    told("page", 0.4)
    light = {each.name: each.light for each in bare.parts}
    place = showing.commission.pictures.latitude
    knows = PageKnows(
        showing.design,
        showing.commission.units,
        front,
        _alone(leafy),
        _alone(bare),
        LATITUDE if place is None else place,
    )
    age = showing.commission.pictures.age
    page = client_page(leafy, showing.tree, showing.facts, folder / "client.html", age, light, knows)
    units = showing.commission.units
    paths += [page, *write_drawings(showing.tree, showing.facts, units, folder, showing.plate_mm)]
    asked = showing.commission.pictures
    if fine and asked.turntable:
        told("film", 0.5)
        # Walking round with the camera, the figure would pass before the tree and leave the picture.
        turning = showing.scene(fine=0.6, rays=12, figure=False)
        film = folder / "turntable.mp4"
        side, frames = asked.turntable_side, asked.turntable
        paths += turntable(turning, film, side, frames, lambda share: told("film", 0.5 + 0.5 * share), asked.gif)
    told("pictures done", 1.0)
    return paths


def _alone(scene: Scene, rays: int = 16) -> Floats | None:
    """The ground's light (N, 3) where no figure stands on it."""
    solid = [each for each in scene.parts if each.name not in ("ground", "figure")]
    floor = [each for each in scene.parts if each.name == "ground"]
    if len(solid) + len(floor) == len(scene.parts):
        return None
    return baked(floor, solid, scene.sky.sun, rays)[0].light


def draw_stills(
    showing: Showing,
    leafy: Scene,
    bare: Scene,
    folder: Path,
    told: Told,
    fine: bool = False,
    asked: bool = True,
) -> tuple[list[Path], Picture]:
    """Return the paths of all stills, the sheet last, and the sheet's front view.

    fine: stills with light per pixel, from scenes of their own; asked: whether any are drawn beside the sheet.
    """
    clear = showing.commission.pictures.clear
    framed = [name for name in _FRAMES if name != "bare"]
    pictures: dict[str, Picture] = {}
    on_sheet: dict[str, Picture] = {}
    for scene, wanted, ending, names in ((leafy, STILLS, "", framed), (bare, _BARE, "-bare", ["bare"])):
        views = wanted if asked else ()
        stills = [(view, showing.size) for view in views]
        frames = [("front" if name == "bare" else name, _FRAMES[name]) for name in names]
        if (fine or clear) and stills:
            own = showing.scene(scene is leafy, _FINE, 0) if fine else scene
            seen = drawn_each(own, showing.tree, stills, clear, fine) + drawn_each(scene, showing.tree, frames)
        else:
            # One stage serves both.
            seen = drawn_each(scene, showing.tree, [*stills, *frames])
        pictures |= {f"{view}{ending}": picture for view, picture in zip(views, seen, strict=False)}
        on_sheet |= dict(zip(names, seen[len(views) :], strict=True))
        told(f"stills{ending}", 0.7 if ending else 0.5)
    paths = [saved(seen, folder / f"{name}.png") for name, seen in pictures.items()]
    told("sheet", 0.8)
    return [*paths, saved(sheet(showing.facts, on_sheet), folder / "sheet.png")], on_sheet["front"]
