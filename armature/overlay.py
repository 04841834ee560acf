"""While tacking: a photograph of the half-made crown over the plan's silhouette, and which twig helps where it
is thin."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from armature.edge import CommissionError
from armature.marks import Camera, Picture, found_markers, grey, photo_bytes, read_photo, read_stand, stood
from armature.tree import TWIG, Tree, sampled

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
# Fields across the picture, by how much of a field's area photograph and plan must differ to be told, and what share of
# a twig's silhouette must fill what is missing for it to help.
FIELDS, TOLD, HELPS = 24, 0.01, 0.4


@dataclass(frozen=True, eq=False)
class Overlay:
    """camera; planned, there: (H, W) what plan and photograph cover; fields (F, F') share of each field by which the
    photograph is denser (+) or thinner (-) than the plan; helps: (tag, share of its silhouette that fills thin fields)
    of twigs not made yet, the best first; picture: photograph and plan together."""

    camera: Camera
    planned: Bools
    there: Bools
    fields: Floats
    helps: tuple[tuple[str, float], ...]
    picture: Picture


def overlay(tree: Tree, photo: Path, stand: Path, made: Collection[str]) -> Overlay:
    """Return a photograph from a marked standpoint laid over the plan.

    stand: places of the marks. made: tags of members that stand already; twigs that are not among them can help.
    Raises FileError where marks are missing, CommissionError for a tag that the tree has not.
    """
    if strange := sorted(set(made) - set(tree.tags.tolist())):
        raise CommissionError("made", "no member of that tag in the plan", strange[0])
    picture = read_photo(photo)
    marks, eye = read_stand(stand)
    camera = stood(picture, photo, marks, eye)
    size = picture.shape[0], picture.shape[1]
    planned = silhouette(tree, camera, size, range(len(tree)))
    # Marks that hang in the picture hide what is behind them: nothing is said there.
    crown = _crown(planned) & ~_marked(picture)
    there = _there(picture) & crown
    step = max(size[1] // FIELDS, 8)
    fields = _by_field(there, step) - _by_field(planned & crown, step)
    helps = []
    for row in np.flatnonzero(tree.ranks == TWIG).tolist():
        if str(tree.tags[row]) not in made:
            own = _by_field(silhouette(tree, camera, size, [row]), step)
            share = float(np.minimum(own, np.clip(-fields, 0.0, None)).sum() / max(float(own.sum()), 1e-9))
            if share > HELPS:
                helps.append((str(tree.tags[row]), round(share, 4)))
    helps.sort(key=lambda one: (-one[1], one[0]))
    return Overlay(camera, planned, there, fields, tuple(helps), _drawn(picture, planned, there, fields, step))


def silhouette(tree: Tree, camera: Camera, size: tuple[int, int], rows: Collection[int]) -> Bools:
    """Return what members cover in the camera's picture of (height, width) pixels."""
    import cv2

    drawn = sampled(tree.chains, 4.0)
    pixels, depth = camera.seen(drawn.points)
    mask = np.zeros(size, dtype=np.uint8)
    for row in rows:
        part = slice(int(drawn.offsets[row]), int(drawn.offsets[row + 1]))
        if (depth[part] < 100.0).any():
            continue
        points, far = pixels[part], depth[part]
        ends = (float(tree.start_diameters[row]), float(tree.end_diameters[row]))
        widths = np.linspace(*ends, len(points)) * camera.focus / far
        for k in range(len(points) - 1):
            a, b = (tuple(np.clip(np.round(points[j] * 16), -2e7, 2e7).astype(int).tolist()) for j in (k, k + 1))
            cv2.line(mask, a, b, 1, max(round(float(widths[k])), 1), cv2.LINE_8, 4)
    return np.asarray(mask.astype(bool))


def _crown(planned: Bools) -> Bools:
    """Where the crown may be: the plan's silhouette, closed and a little wider."""
    import cv2

    points, _ = cv2.findContours(planned.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
    hull = np.zeros(planned.shape, dtype=np.uint8)
    if points:
        cv2.fillConvexPoly(hull, cv2.convexHull(np.concatenate(list(points))), 1)
    return np.asarray(cv2.dilate(hull, np.ones((15, 15), np.uint8)).astype(bool))


def _marked(picture: Picture) -> Bools:
    """Printed marks and their white border."""
    import cv2

    hidden = np.zeros(picture.shape[:2], dtype=np.uint8)
    for four in found_markers(picture).values():
        middle = four.mean(axis=0)
        cv2.fillConvexPoly(hidden, np.round(middle + 1.5 * (four - middle)).astype(np.int32), 1)
    return np.asarray(hidden.astype(bool))


def _there(picture: Picture) -> Bools:
    """What is darker than the light behind it: steel before sky, a wall or a sheet hung up."""
    import cv2

    shade = cv2.GaussianBlur(grey(picture), (0, 0), 1.0)
    behind = cv2.GaussianBlur(cv2.morphologyEx(shade, cv2.MORPH_CLOSE, np.ones((41, 41), np.uint8)), (0, 0), 15)
    even = np.clip(shade * 255.0 / np.maximum(behind, 1.0), 0, 255).astype(np.uint8)
    limit, _ = cv2.threshold(even, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    return np.asarray(even < limit)


def _by_field(mask: Bools, step: int) -> Floats:
    high, wide = (-(-side // step) * step for side in mask.shape)
    whole = np.zeros((high, wide))
    whole[: mask.shape[0], : mask.shape[1]] = mask
    return np.asarray(whole.reshape(high // step, step, wide // step, step).mean(axis=(1, 3)))


def _spread(fields: Floats, step: int, size: tuple[int, int]) -> Floats:
    return np.asarray(np.kron(fields, np.ones((step, step)))[: size[0], : size[1]])


def _drawn(picture: Picture, planned: Bools, there: Bools, fields: Floats, step: int) -> Picture:
    """The photograph paled, the plan's edge in blue, fields too thin in blue and too dense in red, with their share."""
    import cv2

    out = (picture * 0.55 + 255 * 0.45).astype(np.uint8)
    for sign, colour in ((1.0, (60, 60, 230)), (-1.0, (220, 120, 20))):
        tint = np.clip(_spread(np.clip(sign * fields, 0.0, 1.0), step, planned.shape) * 10.0, 0.0, 0.55)[..., None]
        out = (out * (1.0 - tint) + np.array(colour) * tint).astype(np.uint8)
    edges, _ = cv2.findContours(planned.astype(np.uint8), cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)
    cv2.drawContours(out, edges, -1, (150, 70, 0), 1)
    for y, x in np.argwhere(np.abs(fields) > TOLD).tolist():
        text = f"{100.0 * fields[y, x]:+.1f}"
        cv2.putText(
            out, text, (x * step + 4, y * step + step // 2), cv2.FONT_HERSHEY_SIMPLEX, step / 110.0, (20, 20, 20), 1
        )
    return np.asarray(out)


def overlay_text(overlay: Overlay) -> str:
    """Return overlay.csv: each field told, where it is in the picture and by how much photograph and plan differ."""
    rows = ["row,column,photograph_less_plan_percent"]
    rows += [
        f"{y + 1},{x + 1},{100.0 * overlay.fields[y, x]:.1f}"
        for y, x in np.argwhere(np.abs(overlay.fields) > TOLD).tolist()
    ]
    return "\n".join(rows) + "\n"


def overlay_png(overlay: Overlay) -> bytes:
    """Return the picture as PNG."""
    return photo_bytes(overlay.picture)
