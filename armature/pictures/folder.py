"""Everything that goes into `view/` of a job folder."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from armature.pictures.foliage import Sheet
from armature.pictures.scene import Scene, staged
from armature.pictures.shade import Sky
from armature.pictures.sheet import Facts, beside, sheet
from armature.pictures.stages import checked
from armature.pictures.stills import Picture, drawn, saved
from armature.tree import Tree

Told = Callable[[str, float], None]
STILLS = ("front", "side", "quarter", "below", "visitor", "twig", "crotch")
# Looked at as much for what is between the leaves as for the leaves.
_FRAMES = {"front": (1090, 1330), "bare": (458, 652), "quarter": (458, 652), "visitor": (508, 400), "below": (508, 400), "twig": (508, 400)}


@dataclass(frozen=True)
class Showing:
    """What is shown and how: the tree, its facts, its leaves by design, their age, the sky, the size of stills in px.

    before: the tree before a refinement, for a picture of both. clear: see-through background. figure: a person beside it.
    """

    tree: Tree
    facts: Facts
    blades: Sequence[Sheet] | None = None
    age: str = "new"
    sky: Sky | None = None
    size: tuple[int, int] = (1200, 1500)
    before: Tree | None = None
    clear: bool = False
    figure: bool = True
    rays: int = field(default=16)

    def scene(self, tree: Tree | None = None, leaves: bool = True) -> Scene:
        """Return the scene of the tree, or of another one under the same light, in leaf or bare."""
        return staged(
            tree or self.tree, leaves, self.age, self.sky, self.rays, self.blades, scale_figure=self.figure
        )


def draw_stills(showing: Showing, folder: Path, told: Told = lambda _what, _share: None) -> list[Path]:
    """Return the paths of all stills written to the folder, the sheet last; `told` hears what is drawn and the share done."""
    checked(showing.size)
    told("light", 0.0)
    leafy, bare = showing.scene(), showing.scene(leaves=False)
    views = drawn(leafy, showing.tree, STILLS, showing.size, showing.clear)
    told("in leaf", 0.5)
    plain = drawn(bare, showing.tree, ("front", "quarter"), showing.size, showing.clear)
    told("bare", 0.7)
    pictures = {**views, **{f"{name}-bare": seen for name, seen in plain.items()}}
    if showing.before is not None:
        old = drawn(showing.scene(showing.before), showing.before, ["front"], showing.size)["front"]
        pictures["before-after"] = beside(old, views["front"])
    paths = [saved(seen, folder / f"{name}.png") for name, seen in pictures.items()]
    told("sheet", 0.85)
    page = sheet(showing.facts, _framed(showing, leafy, bare))
    return [*paths, saved(page, folder / "sheet.png")]


def _framed(showing: Showing, leafy: Scene, bare: Scene) -> dict[str, Picture]:
    """Return pictures in the very sizes of the sheet's frames, so that none is cut."""
    found = {}
    for name, size in _FRAMES.items():
        scene, view = (bare, "front") if name == "bare" else (leafy, name)
        found[name] = drawn(scene, showing.tree, [view], size)[view]
    return found
