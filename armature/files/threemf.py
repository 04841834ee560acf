"""tree.3mf: an object per bar, named by its tag, all in one tree; millimetres, z up (3MF core specification 1.3).

Written here: trimesh leaves out the colours of steel and leaf, takes every object for a solid body, blades of no
thickness too, and numbers the parts at random, so that no two files of one tree are the same.
"""

from __future__ import annotations

import io
import zipfile
from xml.sax.saxutils import quoteattr

import numpy as np

from armature.files.foliage import Foliage
from armature.files.skin import Skin
from armature.metals import patina
from armature.tree import Floats, Ints, Tree

_HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'
_TYPES = (
    f'{_HEAD}<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>\n'
)
_LINKS = (
    f'{_HEAD}<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Target="/3D/3dmodel.model" Id="model"'
    ' Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>\n'
)
# The earliest date a zip archive can hold: the file must not change with the day it is written.
_DATE = (1980, 1, 1, 0, 0, 0)


def threemf_bytes(tree: Tree, outside: Skin, foliage: Foliage, metal: str = "copper") -> bytes:
    """Return the whole tree as a 3MF package; blades stand once in it and every leaf places one.

    outside: `skin(tree)`.
    """
    files = {"[Content_Types].xml": _TYPES, "_rels/.rels": _LINKS}
    files["3D/3dmodel.model"] = _model(tree, outside, foliage, metal)
    package = io.BytesIO()
    with zipfile.ZipFile(package, "w") as archive:
        for name, text in files.items():
            entry = zipfile.ZipInfo(name, _DATE)
            entry.compress_type, entry.create_system, entry.external_attr = zipfile.ZIP_DEFLATED, 3, 0o644 << 16
            archive.writestr(entry, text.encode("utf-8"), compresslevel=6)
    return package.getvalue()


def _model(tree: Tree, outside: Skin, foliage: Foliage, metal: str) -> str:
    tone = patina(metal, "new").tones[0].upper()
    parts = [
        f'{_HEAD}<model unit="millimeter" xml:lang="en" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">',
        '<resources><basematerials id="1"><base name="steel" displaycolor="#3A3A3C"/>',
        f'<base name={quoteattr(metal)} displaycolor="#{tone}"/></basematerials>\n',
    ]
    placed = []
    for row, tag in enumerate(tree.tags.tolist()):
        parts.append(_object(row + 2, tag, 0, *outside.member(row)))
        placed.append(f'<component objectid="{row + 2}"/>')
    if len(tree.leaves):
        first = len(tree) + 2
        for number, (vertices, faces) in enumerate(foliage.blades):
            parts.append(_object(first + number, f"blade {number + 1}", 1, vertices, faces))
        for shape, move in zip(foliage.shapes.tolist(), _transforms(foliage), strict=True):
            placed.append(f'<component objectid="{first + shape}" transform="{move}"/>')
    last = len(tree) + 2 + len(foliage.blades)
    parts.append(f'<object id="{last}" type="model" name="tree"><components>{"".join(placed)}</components></object>')
    parts.append(f'</resources><build><item objectid="{last}"/></build></model>\n')
    return "".join(parts)


def _object(number: int, name: str, material: int, vertices: Floats, faces: Ints) -> str:
    values, rows = (np.round(vertices, 4) + 0.0).ravel().tolist(), faces.ravel().tolist()
    kind = "model" if is_closed(faces) else "surface"
    return (
        f'<object id="{number}" type="{kind}" name={quoteattr(name)} pid="1" pindex="{material}"><mesh><vertices>'
        + '<vertex x="%.4f" y="%.4f" z="%.4f"/>' * len(vertices) % tuple(values)
        + "</vertices><triangles>"
        + '<triangle v1="%d" v2="%d" v3="%d"/>' * len(faces) % tuple(rows)
        + "</triangles></mesh></object>\n"
    )


def is_closed(faces: Ints) -> bool:
    """Return whether every edge of a mesh is run once in each direction.

    >>> is_closed(np.array([[0, 1, 2]])), is_closed(np.array([[0, 1, 2], [0, 3, 1], [1, 3, 2], [2, 3, 0]]))
    (False, True)
    """
    edges = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    width = int(faces.max(initial=0)) + 1
    forward, back = edges[:, 0] * width + edges[:, 1], edges[:, 1] * width + edges[:, 0]
    forward = np.sort(forward)
    return bool((np.diff(forward) > 0).all() and (forward == np.sort(back)).all())


def _transforms(foliage: Foliage) -> list[str]:
    """Return each leaf's place as 3MF writes it: rows of a matrix that a row vector is multiplied by."""
    rows = np.concatenate([foliage.turns.transpose(0, 2, 1), foliage.places[:, None]], axis=1).reshape(-1, 12)
    return [" ".join(["%.6f"] * 12) % tuple(row) for row in (np.round(rows, 6) + 0.0).tolist()]
