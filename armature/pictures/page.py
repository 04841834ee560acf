"""The client's page: one file that opens by double click, without a network, and lets the tree be turned around."""

from __future__ import annotations

import base64
import gzip
import hashlib
from collections.abc import Mapping
from functools import cache
from html import escape
from importlib.resources import files
from pathlib import Path
from string import Template

from armature.edge import FileError
from armature.pictures.client_sheet import Facts
from armature.pictures.figure import STATURE
from armature.pictures.packed import packed
from armature.pictures.scene import Scene
from armature.pictures.shade import glsl
from armature.pictures.staff import BAND, SMALL
from armature.tree import Floats, Tree

LARGEST_BYTES = 15_000_000


def client_page(
    scene: Scene, tree: Tree, facts: Facts, path: Path, age: str = "new", bare: Mapping[str, Floats] | None = None
) -> Path:
    """Return the path of the page written; bare: light (N, 3) by name of the part when no leaf hangs.

    The page holds its own scripts, style and scene, and forbids itself any address by its content security policy.
    """
    script = viewer_script() + f"\nconst AGE = {age!r};\n" + web("page.js")
    style = web("page.css")
    # The clock is left out of the compressed scene, so that the same tree gives the same page.
    scene_text = base64.b64encode(gzip.compress(packed(scene, tree, bare), 7, mtime=0)).decode()
    rows = "".join(f"<div><dt>{escape(label)}</dt><dd>{escape(value)}</dd></div>" for label, value in facts.rows)
    text = Template(web("page.html")).substitute(
        title=escape(facts.title),
        under=escape(facts.under),
        foot=escape(facts.foot),
        rows=rows,
        scale=_scale(tree),
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


def _scale(tree: Tree) -> str:
    if float(tree.tips[:, 2].max()) >= SMALL:
        return f"a person of {STATURE / 1000.0:.2f} m for scale"
    return f"a staff with bands of {BAND:g} mm"


def _hash(text: str) -> str:
    """Return the name by which a content security policy allows exactly this text (W3C CSP level 3, 8.4)."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
