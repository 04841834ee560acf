"""Sky, sun and the colour of a surface under them, in numpy; `shade.glsl` says the same to a graphics library.

Size letters: Q shaded points. Colours are linear RGB; reflection by a Trowbridge-Reitz lobe with Schlick's glance
(Karis, "Real shading in Unreal Engine 4", 2013, and Karis 2014 for the lobe's short form); the tone curve is
Narkowicz's fit of a film curve (2015).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from armature.pictures.cameras import toward
from armature.pictures.parts import Finish, linear
from armature.tree import Floats

# Pictures are shaded in single or double precision, as they come.
Shades = NDArray[np.floating]
_PLACES = 6


@dataclass(frozen=True, eq=False)
class Sky:
    """Colours of zenith, horizon and of the light thrown back by the ground, the sun and the exposure; all linear.

    lamps: places (K, 3) mm of lamps at the tree's foot, lit in the sun's stead; its colour is theirs then, and a
    surface's share of the sun is the light that falls on it from them.
    """

    zenith: Floats
    horizon: Floats
    bounce: Floats
    sun_colour: Floats
    sun: Floats
    exposure: float = 0.82
    lamps: Floats | None = None

    @property
    def mean(self) -> Floats:
        """Mean light of the sky on a level surface."""
        return 0.55 * self.horizon + 0.45 * self.zenith

    def uniforms(self) -> dict[str, list[float] | float]:
        """Return the values that `shade.glsl` reads, by name, in as many places as any processor gives alike."""
        lit: dict[str, list[float] | float] = {} if self.lamps is None else {"lampLit": 1.0}
        colours = {
            "skyZenith": self.zenith,
            "skyHorizon": self.horizon,
            "groundBounce": self.bounce,
            "skyMean": self.mean,
            "sunColour": self.sun_colour,
            "sunDirection": self.sun,
        }
        rounded = {name: each.round(_PLACES).tolist() for name, each in colours.items()}
        return lit | rounded | {"exposure": self.exposure}


def studio_sky(sun: Floats | None = None) -> Sky:
    """Return a pale late-morning sky with a warm sun in front at the left."""
    return Sky(
        zenith=linear("7891b0") * 1.1,
        horizon=linear("e8dfd0") * 1.15,
        bounce=linear("87837c") * 0.75,
        sun_colour=np.array([1.0, 0.90, 0.76]) * 2.6,
        sun=toward(-114.0, 54.0) if sun is None else sun,
    )


@cache
def glsl() -> str:
    """Return the text of the shading functions."""
    return (files("armature.pictures") / "shade.glsl").read_text(encoding="utf-8")


def backdrop(sky: Sky, rise: Shades) -> Shades:
    """Return the sky's colour (Q, 3) at heights (Q,) of unit directions."""
    share = (np.clip(rise, 0.0, 1.0) ** 0.6)[:, None]
    return sky.horizon + share * (sky.zenith - sky.horizon)


# Slabs of a courtyard in mm, where their joints begin, and the joints' width.
_SLAB, _FROM, _JOINT = np.array([900.0, 600.0]), np.array([130.0, 170.0]), 8.0


def paved(place: Shades, wide: Shades) -> Shades:
    """Return how light the slabs of a courtyard are at places (Q, 2) mm, 1 in the mean; wide: (Q, 2) mm, how much of it
    one pixel covers.

    >>> import numpy as np
    >>> at = np.array([[130.0, 470.0], [400.0, 400.0]])
    >>> (paved(at, np.full((2, 2), 1.0)) < 0.7).tolist()
    [True, False]
    """
    laid = (place - _FROM) / _SLAB
    row = np.floor(laid[:, 1])
    laid[:, 0] += 0.5 * np.mod(row, 2.0)
    column = np.floor(laid[:, 0])
    inside = laid - np.stack([column, row], axis=1)
    off = np.minimum(inside, 1.0 - inside) * _SLAB
    wider = np.maximum(wide, 0.01)
    cover = np.clip((0.5 * _JOINT + 0.5 * wider - off) / wider, 0.0, 1.0) * np.minimum(1.0, _JOINT / wider)
    joint = 1.0 - (1.0 - cover[:, 0]) * (1.0 - cover[:, 1])
    draw = np.mod(0.7548777 * column + 0.5698403 * row, 1.0)
    draw = np.mod(draw * draw * 37.0 + draw * 11.0, 1.0)
    far = np.clip(((wider / _SLAB).max(axis=1) - 0.25) / 0.75, 0.0, 1.0)
    near = 1.0 - far * far * (3.0 - 2.0 * far)
    return np.asarray((1.0 + 0.16 * (draw - 0.5) * near) * (1.0 - 0.45 * joint))


def shaded(sky: Sky, base: Shades, normal: Shades, view: Shades, light: Shades, finish: Finish) -> Shades:
    """Return the colour (Q, 3) of points with base colours, unit normals, unit directions to the eye and light, each
    (Q, 3).
    """
    facing = np.einsum("ij,ij->i", normal, view)
    turn = np.where((facing < 0.0) & finish.both_sides, -1.0, 1.0)
    n = normal * turn[:, None]
    opened = np.where(turn > 0.0, light[:, 0], light[:, 1])[:, None]
    nv = np.clip(np.abs(facing), 0.04, 1.0)[:, None]
    toward = 1.0 if sky.lamps is not None else np.clip(n @ sky.sun, 0.0, 1.0)
    sun = (light[:, 2] * toward)[:, None]
    rough, metal = finish.roughness, finish.metal
    f0 = 0.04 + metal * (base - 0.04)
    around = (sky.bounce + (0.5 + 0.5 * n[:, 2:]) * (sky.mean - sky.bounce)) * opened
    colour = base * (1.0 - metal + 0.35 * metal) * (around + sky.sun_colour * sun)
    half = sky.sun + view
    half = half / np.linalg.norm(half, axis=1, keepdims=True)
    nh = np.clip(np.einsum("ij,ij->i", n, half), 0.0, 1.0)[:, None]
    vh = np.einsum("ij,ij->i", view, half)[:, None]
    a2 = rough**4
    lobe = a2 / (4.0 * (nh * nh * (a2 - 1.0) + 1.0) ** 2 * np.maximum(vh * vh, 0.1) * (rough + 0.5))
    glance = f0 + (np.maximum(1.0 - rough, f0) - f0) * (1.0 - nv) ** 5
    mirrored = 2.0 * np.einsum("ij,ij->i", n, view)[:, None] * n - view
    colour = colour + glance * _skyward(sky, mirrored[:, 2], rough) * opened**2
    # Lamps shine from many places: they show no one glint.
    lobe = np.minimum(lobe, 6.0) * (0.0 if sky.lamps is not None else 1.0)
    return np.asarray(colour + glance * sky.sun_colour * lobe * sun)


def shown(sky: Sky, colour: Shades) -> Shades:
    """Return screen values (Q, 3) from 0 to 1 of linear colours (Q, 3)."""
    x = colour * sky.exposure
    toned = np.clip((x * (2.51 * x + 0.03)) / (x * (2.43 * x + 0.59) + 0.14), 0.0, 1.0)
    return np.where(toned <= 0.0031308, 12.92 * toned, 1.055 * np.maximum(toned, 1e-5) ** (1.0 / 2.4) - 0.055)


def untoned(sky: Sky, colour: Floats) -> Floats:
    """Return the linear light (3,) that a picture shows as a linear colour (3,) of a screen: what `shown` undoes.

    >>> import numpy as np
    >>> from armature.pictures.parts import linear
    >>> sky = studio_sky()
    >>> bool(np.allclose(shown(sky, untoned(sky, linear("7d9aa6"))) * 255, [0x7D, 0x9A, 0xA6], atol=1e-6))
    True
    """
    a, b, c = 2.51 - 2.43 * colour, 0.03 - 0.59 * colour, -0.14 * colour
    return np.asarray((-b + np.sqrt(b * b - 4.0 * a * c)) / (2.0 * a) / sky.exposure)


def _skyward(sky: Sky, rise: Shades, rough: float) -> Shades:
    high = sky.horizon + (np.clip(rise, 0.0, 1.0) ** 0.55)[:, None] * (sky.zenith - sky.horizon)
    soft = 0.04 + 0.9 * rough
    share = np.clip((rise + soft) / (2.0 * soft), 0.0, 1.0)
    share = (share * share * (3.0 - 2.0 * share))[:, None]
    return np.asarray(sky.bounce + share * (high - sky.bounce))
