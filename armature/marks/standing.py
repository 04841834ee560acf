"""Where a photograph was taken from: the camera's place, turn and lens, from marks whose places are known."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from armature.edge import FileError, read_bytes
from armature.marks.seeing import Picture, found_markers

Floats = NDArray[np.float64]
# Marks that must be seen, and how far they may miss their places in the picture, as a share of its width.
LEAST, CLOSE = 4, 0.01
# How well the marked standpoint is known, mm.
_STAND = 50.0


@dataclass(frozen=True, eq=False)
class Camera:
    """A pinhole camera: turn (3, 3) from the tree's axes to the camera's, place (3,) mm, focus in pixels, middle (2,)
    of the picture; error: pixels, by which marks miss their places in the mean."""

    turn: Floats
    place: Floats
    focus: float
    middle: Floats
    error: float

    def seen(self, points: Floats) -> tuple[Floats, Floats]:
        """Return where points (N, 3) mm of the tree appear, (N, 2) pixels, and how far off they lie, (N,) mm."""
        there = (points - self.place) @ self.turn.T
        depth = there[:, 2]
        flat = there[:, :2] / np.where(np.abs(depth) > 1e-6, depth, 1e-6)[:, None]
        return np.asarray(flat * self.focus + self.middle), np.asarray(depth)


def read_stand(file: Path) -> tuple[dict[int, Floats], Floats | None]:
    """Return the places (3,) mm of marks by number, and of the camera, None where it is not told.

    CSV `mark,x_mm,y_mm,z_mm`: the number of a printed mark, or `eye` for the camera's own place. Raises FileError.
    """
    rows = list(
        csv.reader(read_bytes(file, 1_000_000, "list of marks").decode("utf-8-sig", errors="replace").splitlines())
    )
    if not rows or [c.strip().lower() for c in rows[0]] != ["mark", "x_mm", "y_mm", "z_mm"]:
        raise FileError(file, "needs the header row mark,x_mm,y_mm,z_mm")
    marks: dict[int, Floats] = {}
    eye = None
    for number, row in enumerate(rows[1:], 2):
        try:
            place = np.array([float(cell) for cell in row[1:4]])
            name = row[0].strip().lower()
            mark = -1 if name == "eye" else int(name)
        except (ValueError, IndexError):
            raise FileError(file, f"row {number} must be a mark's number, or eye, and three lengths in mm") from None
        if len(place) != 3 or not np.isfinite(place).all():
            raise FileError(file, f"row {number} must be a mark's number, or eye, and three lengths in mm")
        if mark == -1:
            eye = place
        else:
            marks[mark] = place
    return marks, eye


def stood(picture: Picture, file: Path, marks: dict[int, Floats], eye: Floats | None) -> Camera:
    """Return the camera that saw a picture.

    marks: places of the middles of printed marks, mm, by number. eye: the marked standpoint. Turn, place and focus are
    those under which the marks fall where they are seen, in least squares, the standpoint known to 50 mm; without it
    at least six marks are needed, not all in one plane. Raises FileError where too few are seen or none fits.
    """
    from scipy.optimize import least_squares
    from scipy.spatial.transform import Rotation

    seen = {number: four.mean(axis=0) for number, four in found_markers(picture).items() if number in marks}
    least = LEAST if eye is not None else 6
    if len(seen) < least:
        raise FileError(
            file, f"shows {len(seen)} of the {len(marks)} marks of the standpoint, at least {least} are needed"
        )
    high, wide = picture.shape[:2]
    middle = np.array([wide / 2.0, high / 2.0])
    points, pixels = np.stack([marks[k] for k in sorted(seen)]), np.stack([seen[k] for k in sorted(seen)])
    start = eye if eye is not None else points.mean(axis=0) + [0.0, -6000.0, 0.0]

    def camera(v: Floats) -> Camera:
        return Camera(Rotation.from_rotvec(v[:3]).as_matrix(), v[3:6] * 1000.0, float(np.exp(v[6])) * wide, middle, 0.0)

    def misses(v: Floats) -> Floats:
        off = (camera(v).seen(points)[0] - pixels) / wide * 1000.0
        known = [] if eye is None else ((v[3:6] * 1000.0 - eye) / _STAND).tolist()
        return np.concatenate([off.ravel(), known, [0.02 * v[6]]])

    first = np.concatenate([_looking(points.mean(axis=0) - start), start / 1000.0, [0.0]])
    solved = least_squares(misses, first, method="trf", max_nfev=400)
    one = camera(np.asarray(solved.x))
    error = float(np.sqrt(np.mean(np.sum((one.seen(points)[0] - pixels) ** 2, axis=1))))
    if error > CLOSE * wide:
        raise FileError(
            file, f"does not answer its marks, {error:.0f} pixels off: see that their places are told right"
        )
    return Camera(one.turn, one.place, one.focus, middle, error)


def _looking(way: Floats) -> Floats:
    """The turn, as a rotation vector, of a level camera that looks along a way: x right, y down, z ahead."""
    from scipy.spatial.transform import Rotation

    ahead = way / np.linalg.norm(way)
    right = np.cross(ahead, [0.0, 0.0, 1.0])
    right = right / max(float(np.linalg.norm(right)), 1e-9)
    return np.asarray(Rotation.from_matrix(np.stack([right, np.cross(ahead, right), ahead])).as_rotvec())
