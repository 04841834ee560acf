"""Photographs of a marked sheet, made up: seen askew, blurred, noisy, in uneven light."""

from pathlib import Path

import cv2
import numpy as np

from armature.marks import MarkedSheet, marker_squares

SCALE = 8.0


def paper(sheet: MarkedSheet, hidden: int = 0) -> np.ndarray:
    """The sheet as printed, `hidden` markers left out."""
    picture = np.full((round(sheet.height * SCALE), round(sheet.width * SCALE), 3), 250, np.uint8)
    for number, corners in list(zip(sheet.ids, sheet.corners, strict=True))[hidden:]:
        squares = marker_squares(number)
        (left, top), side = corners[0] * SCALE, float(corners[1, 0] - corners[0, 0]) * SCALE
        shade = np.where(squares, 25, 250).astype(np.uint8)
        tile = cv2.resize(shade, (round(side), round(side)), interpolation=cv2.INTER_NEAREST)
        y, x = round(float(top)), round(float(left))
        picture[y : y + tile.shape[0], x : x + tile.shape[1]] = tile[..., None]
    return picture


def photographed(flat: np.ndarray, file: Path, tilt: float = 1.0) -> Path:
    """Write what a telephone would see of it."""
    high, wide = flat.shape[:2]
    there = np.array([[0, 0], [wide, 0], [wide, high], [0, high]], dtype=np.float32)
    right = [[1890 - 60 * tilt, 170 + 40 * tilt], [1960, 2680 - 70 * tilt]]
    seen = np.array([[180, 140], *right, [90 + 80 * tilt, 2620]], dtype=np.float32)
    turn = cv2.getPerspectiveTransform(there, seen)
    picture = cv2.warpPerspective(flat, turn, (2100, 2850), flags=cv2.INTER_AREA, borderValue=(120, 140, 150))
    light = np.linspace(1.0, 0.72, 2100)[None, :, None] * np.linspace(0.9, 1.0, 2850)[:, None, None]
    noisy = cv2.GaussianBlur(picture, (0, 0), 1.0) * light + np.random.default_rng(4).normal(0, 3.0, picture.shape)
    cv2.imwrite(str(file), np.clip(noisy, 0, 255).astype(np.uint8), [cv2.IMWRITE_JPEG_QUALITY, 92])
    return file
