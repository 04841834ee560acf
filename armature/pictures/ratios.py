"""The tree coloured by what its checks say: where it is at its limit, at a glance."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw

from armature.pictures.cameras import Camera, fitted, toward
from armature.pictures.lettering import PAPER, lettered
from armature.pictures.parts import Finish, linear, part
from armature.pictures.scene import Scene
from armature.pictures.shade import Sky, shaded, studio_sky, untoned
from armature.pictures.stages import stage
from armature.pictures.stills import Picture, saved
from armature.tree import Floats, Ints, Rings, Tree, Tubes, rings, swept

# Steps of the ratio and their colours, told apart by lightness as well as by hue.
STEPS = ((0.5, "#7d9aa6"), (0.8, "#4f7d63"), (1.0, "#d9a441"), (2.0, "#cc5a2b"), (np.inf, "#7a0f1d"))
_WORDS = ("under 0.5", "0.5 to 0.8", "0.8 to 1", "over its limit, to 2", "over twice its limit")
_EDGE = 40
# Thinner than this, px, a twig over its limit would not be seen.
_LEAST = 1.4
_MATT = Finish(roughness=1.0, metal=0.0)
_LOOK, _FIELD, _MARGIN = toward(-90.0, 4.0), 12.0, 0.03
# Light from below as a share of that from above, and light from the eye: by both a bar is seen to be round.
_BELOW, _AHEAD = 0.45, 0.9


def draw_ratios(tree: Tree, ratios: Floats, path: Path, side: int = 1400) -> Path:
    """Return the path of a PNG of the tree from the front: members in the colour of their ratio (M,), worst on top.

    What faces the eye has the very colour of the legend; a ratio that is not known counts as 0.
    """
    steps = np.searchsorted([most for most, _ in STEPS], np.nan_to_num(ratios, nan=0.0))
    seen = Image.fromarray(_drawn(tree, steps, side))
    _legend(seen)
    return saved(np.asarray(seen), path)


def raised(mesh: Tubes, steps: Ints, camera: Camera) -> Floats:
    """Return the vertices (N, 3), those of members over their limit before all others: drawn toward the eye along the
    line of sight, so that they stay in their place of the picture.
    """
    away = (camera.eye - mesh.vertices) @ camera.axes[2]
    nearer = 0.98 * float(away.min() / away.max())
    over = np.maximum(steps[mesh.members] - 2, 0)
    return np.asarray(camera.eye + (mesh.vertices - camera.eye) * (nearer**over)[:, None])


def _drawn(tree: Tree, steps: Ints, side: int) -> Picture:
    mesh = _thick(tree, side)
    camera = fitted(mesh.vertices, _LOOK, (side, side), _FIELD, _MARGIN)
    sky = _sky()
    colours = np.stack([_base(sky, colour) for _, colour in STEPS])[steps[mesh.members]]
    bars = part("steel", raised(mesh, steps, camera), mesh.normals, mesh.faces, colours, _MATT, mesh.members)
    set_up = stage(Scene((bars,), sky, (1e9, 2e9)), (side, side))
    try:
        return set_up.draw(camera)
    finally:
        set_up.close()


def _thick(tree: Tree, side: int) -> Tubes:
    """Return the members as tubes, none thinner than can be seen in a picture of `side` px."""
    bars = rings(tree, chord_error=1.0)
    unit = float(np.ptp(tree.chains.vertices, axis=0).max()) / side
    radii = np.maximum(bars.radii, _LEAST / 2.0 * unit)
    facets = np.clip(np.round(4.0 + 1.3 * np.sqrt(tree.start_diameters)), 6, 32).astype(np.int64)
    return swept(tree.chains, Rings(bars.members, bars.stations, radii), facets)


def _sky() -> Sky:
    """Return a sky of the paper's colour everywhere, dimmer from below, with its sun behind the eye."""
    plain = studio_sky(_LOOK)
    paper = untoned(plain, linear(PAPER[1:]))
    return replace(plain, zenith=paper, horizon=paper, bounce=_BELOW * paper, sun_colour=_AHEAD * np.ones(3))


def _base(sky: Sky, colour: str) -> Floats:
    """Return the base colour (3,) of a surface that is shown in a colour where it faces the eye."""
    eye, lit = _LOOK[None], np.ones((1, 3))
    black, white = (shaded(sky, np.full((1, 3), base), eye, eye, lit, _MATT)[0] for base in (0.0, 1.0))
    return np.asarray((untoned(sky, linear(colour[1:])) - black) / (white - black))


def _legend(image: Image.Image) -> None:
    pen = ImageDraw.Draw(image)
    lettered(image, (_EDGE, _EDGE), "Asked over allowed, the worst check of each member", 22)
    for row, ((_, colour), words) in enumerate(zip(STEPS, _WORDS, strict=True)):
        top = _EDGE + 44 + 32 * row
        pen.rectangle((_EDGE, top, _EDGE + 34, top + 20), fill=colour)
        lettered(image, (_EDGE + 46, top - 2), words, 18)
    lettered(image, (_EDGE, image.height - 30), "A design aid, not a certificate.", 16)
