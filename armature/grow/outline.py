"""An outline of the artist's own as canopy: radii at heights, or a closed mesh file."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING
from zipfile import BadZipFile, ZipFile

import numpy as np

from armature.edge import CommissionError, read_bytes
from armature.grow.envelope import DistanceGrid, Envelope
from armature.habits import KNOTS, habits
from armature.tree import Floats

if TYPE_CHECKING:
    import trimesh

    from armature.commission import Commission

_CELLS = 56
_LARGEST = 100_000_000  # bytes: some two million triangles
_UNPACKED = 500_000_000  # bytes of a package laid open: a small file may hold no end of blanks


def outlined(commission: Commission, base: float, boxes: Floats) -> Envelope:
    """Return the envelope of a commission's own outline, from `base` (mm) up, with its keep-outs (K, 2, 3) mm.

    Raises CommissionError where a mesh cannot be read, is not closed, or leaves nothing above the clear stem.
    """
    outline = commission.canopy.outline
    if isinstance(outline, str):
        return _of_mesh(_closed_mesh(commission.file(outline)), base, boxes)
    heights, radii = np.array(outline, dtype=np.float64).T
    bottom, top = max(base, float(heights[0])), float(heights[-1])
    _check_room(bottom, top)
    most = float(radii.max())
    reach = np.interp(bottom + KNOTS * (top - bottom), heights, radii) / most
    return Envelope(bottom, top, np.array([most, most]), replace(habits()["outline"], reach=reach), boxes)


def _closed_mesh(path: Path) -> trimesh.Trimesh:
    import trimesh

    where = f"canopy.outline: {path}"
    content = read_bytes(path, _LARGEST, "mesh")
    _check_unpacked(where, content)
    try:
        mesh = trimesh.load_mesh(BytesIO(content), file_type=path.suffix.lstrip(".").lower())
    except Exception:
        # What the reader says may quote the file, which may be none to be shown.
        raise CommissionError(where, "cannot be read as a mesh: STL, PLY, OBJ, OFF, GLB or 3MF") from None
    if not isinstance(mesh, trimesh.Trimesh) or not len(mesh.faces):
        raise CommissionError(where, "holds no faces")
    if not mesh.is_watertight or mesh.volume <= 0.0:
        raise CommissionError(where, "must be a closed mesh with its faces outward: this one is open or inside out")
    return mesh


def _check_unpacked(where: str, content: bytes) -> None:
    """Raise for a package (3MF) that unfolds to more than a mesh may hold."""
    try:
        with ZipFile(BytesIO(content)) as package:
            size = sum(part.file_size for part in package.infolist())
    except (BadZipFile, ValueError, OSError):
        return
    if size > _UNPACKED:
        raise CommissionError(where, f"unfolds to more than {_UNPACKED // 1_000_000} MB", f"{size / 1e6:.0f} MB")


def _of_mesh(mesh: trimesh.Trimesh, base: float, boxes: Floats) -> Envelope:
    low, high = np.asarray(mesh.bounds)
    bottom, top = max(base, float(low[2])), float(high[2])
    _check_room(bottom, top)
    half = np.maximum(np.abs(low[:2]), np.abs(high[:2]))
    form = replace(habits()["outline"], reach=np.ones(len(KNOTS)))
    return Envelope(bottom, top, half, form, boxes, _distances(mesh, bottom))


def _distances(mesh: trimesh.Trimesh, bottom: float) -> DistanceGrid:
    """Return distances to the mesh's skin on a grid, less half a cell, so that what the grid calls inside is inside."""
    from scipy.ndimage import distance_transform_edt

    low, high = np.asarray(mesh.bounds)
    pitch = float((high - low).max()) / _CELLS
    origin = low - 2.0 * pitch
    counts = np.ceil((high - low) / pitch).astype(np.int64) + 5
    axes = [origin[axis] + pitch * np.arange(counts[axis]) for axis in range(3)]
    places = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1)
    inside = mesh.contains(places.reshape(-1, 3)).reshape(tuple(counts)) & (places[..., 2] >= bottom)
    distance = distance_transform_edt(inside) - distance_transform_edt(~inside)
    return DistanceGrid((distance - 0.5 * np.sign(distance) - 0.5) * pitch, origin, pitch)


def _check_room(bottom: float, top: float) -> None:
    if top - bottom < 1.0:
        raise CommissionError(
            "canopy.outline",
            f"must rise above the lowest foliage, {bottom:.0f} mm (clear stem and a leaf's length)",
            top,
        )
