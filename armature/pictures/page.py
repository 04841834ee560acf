"""The client's page: one file that opens by double click, without a network, and lets the tree be turned around."""

from __future__ import annotations

import base64
import gzip
import hashlib
import io
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from html import escape
from importlib.resources import files
from pathlib import Path
from string import Template
from typing import Any

import numpy as np
from PIL import Image

from armature.edge import FileError, System, format_length
from armature.pictures.client_sheet import Facts
from armature.pictures.figure import STATURE
from armature.pictures.packed import Extra, packed
from armature.pictures.scene import Scene
from armature.pictures.shade import glsl
from armature.pictures.solar import sky_at
from armature.pictures.staff import BAND, SMALL
from armature.pictures.stills import Picture
from armature.tree import RANKS, Floats, Tree

LARGEST_BYTES = 15_000_000
_STILL = 900  # px
# Where the sun of other hours is taken from when a commission says no place.
LATITUDE = 45.0
SEASONS = {"summer": date(2026, 6, 21), "spring": date(2026, 3, 20), "winter": date(2026, 12, 21)}


@dataclass(frozen=True, eq=False)
class PageKnows:
    """What the page knows beyond the scene.

    design: hash of the design.json that a signed word is about. units: of lengths as told. still: (H, W, 3), seen
    where nothing can be turned. alone, bare_alone: light (N, 3) of the ground with no figure on it, in leaf and bare.
    latitude: of the sun of other hours.
    """

    design: str = ""
    units: System = "mm"
    still: Picture | None = None
    alone: Floats | None = None
    bare_alone: Floats | None = None
    latitude: float = LATITUDE


def client_page(
    scene: Scene,
    tree: Tree,
    facts: Facts,
    path: Path,
    age: str = "new",
    bare: Mapping[str, Floats] | None = None,
    knows: PageKnows | None = None,
) -> Path:
    """Return the path of the page written; bare: light (N, 3) by name of the part when no leaf hangs.

    The page holds its own scripts, style and scene, and forbids itself any address by its content security policy.
    """
    script = viewer_script() + f"\nconst AGE = {age!r};\n" + web("page.js")
    style = web("page.css")
    knows = knows or PageKnows()
    extra = Extra(knows.alone, knows.bare_alone, True, _book(tree, facts, knows))
    # The clock is left out of the compressed scene, so that the same tree gives the same page.
    scene_text = base64.b64encode(gzip.compress(packed(scene, tree, bare, extra), 9, mtime=0)).decode()
    rows = "".join(f"<div><dt>{escape(label)}</dt><dd>{escape(value)}</dd></div>" for label, value in facts.rows)
    text = Template(web("page.html")).substitute(
        title=escape(facts.title),
        under=escape(facts.under),
        foot=escape(facts.foot),
        rows=rows,
        scale=_scale(tree, knows.units),
        place=f" at {abs(knows.latitude):.0f}° {'south' if knows.latitude < 0 else 'north'}",
        still=_still(knows.still),
        style=style,
        style_hash=_hash(style),
        script=script,
        script_hash=_hash(script),
        scene=scene_text,
    )
    try:
        path.write_text(text, encoding="utf-8", newline="\n")
    except OSError as error:
        raise FileError(path, f"cannot be written: {error.strerror or error}") from None
    return path


@cache
def web(name: str) -> str:
    """Return the text of one of the files that go to a browser."""
    return (files("armature.pictures") / "web" / name).read_text(encoding="utf-8")


@cache
def viewer_script() -> str:
    """Return the viewer with the shading that it shares with the stills."""
    return f"const SHADE = `{glsl()}`;\n" + web("viewer.js")


def _book(tree: Tree, facts: Facts, knows: PageKnows) -> dict[str, Any]:
    """What a tap tells: tag, rank and length in mm of members, tag and name of leaves; and which design it is."""
    return {
        "title": facts.title,
        "design": knows.design,
        "units": knows.units,
        "skies": {name: _skies(day, knows.latitude) for name, day in SEASONS.items()},
        "members": tree.tags.tolist(),
        "ranks": [RANKS[rank] for rank in tree.ranks.tolist()],
        "lengths": np.round(tree.lengths).astype(int).tolist(),
        "leaves": tree.leaves.tags.tolist(),
        "names": tree.leaves.names.tolist(),
    }


def _skies(day: date, latitude: float) -> list[dict[str, Any]]:
    """Skies of a day, each half hour from 4 to 22."""
    hours = np.arange(4.0, 22.25, 0.5).tolist()
    skies = (sky_at(day, hour, latitude).uniforms() for hour in hours)
    return [{name: np.round(value, 4).tolist() for name, value in sky.items()} for sky in skies]


def _still(seen: Picture | None) -> str:
    """The picture as an attribute of its place, packed small."""
    if seen is None:
        return ""
    image = Image.fromarray(seen[..., :3])
    image.thumbnail((_STILL, _STILL), Image.Resampling.LANCZOS)
    file = io.BytesIO()
    image.save(file, "JPEG", quality=82)
    return f' src="data:image/jpeg;base64,{base64.b64encode(file.getvalue()).decode()}"'


def _scale(tree: Tree, units: System) -> str:
    if float(tree.tips[:, 2].max()) < SMALL:
        return f"a staff with bands of {BAND:g} mm"
    tall = (
        format_length(round(STATURE / 25.4) * 25.4, units, feet=True) if units == "inch" else f"{STATURE / 1e3:.2f} m"
    )
    return f"a person of {tall} for scale"


def _hash(text: str) -> str:
    """Return the name by which a content security policy allows exactly this text (W3C CSP level 3, 8.4)."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
