"""Flat drawings of a tree from the side: ink on paper, near wood dark and far wood pale, with what spoils the look
marked."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from armature.look import Finding, Skeleton, Verdict, across, crown_hull, side_views, sky_hole
from armature.papers.look.words import fault_in_words, natural_range, shown, standing, widened
from armature.tree import Floats, Ints

PAPER, INK, PALE = (247, 244, 238), (38, 34, 32), (176, 169, 160)
ACCENT, COOL, LEAF = (200, 62, 32), (36, 104, 148), (201, 160, 122)
_FINE = 2


@dataclass(frozen=True)
class Frame:
    """Where a side picture lies on paper: azimuth deg, origin (3,) mm at the middle of its foot, mm a pixel, and that
    pixel's place."""

    azimuth: float
    origin: Floats
    scale: float
    left: float
    foot: float

    def put(self, points: Floats) -> Floats:
        """Return the place on paper of points (Q, 3): (Q, 2) px."""
        right = across(points, self.azimuth, self.origin)
        up = points[:, 2] - self.origin[2]
        return np.stack([self.left + right / self.scale, self.foot - up / self.scale], axis=1)

    def toward(self, points: Floats) -> Floats:
        """Return how near points (Q, 3) are to the viewer: (Q,) mm from the origin."""
        turn = np.radians(self.azimuth)
        return np.asarray((points - self.origin) @ np.array([np.cos(turn), np.sin(turn), 0.0]))


def framed(skeleton: Skeleton, azimuth: float, box: tuple[float, float, float, float], margin: float = 0.06) -> Frame:
    """Return the frame that shows a whole tree, at the same scale from every side, in a box (left, top, right, bottom)
    px."""
    low, high = skeleton.points.min(axis=0), skeleton.points.max(axis=0)
    origin = np.array([*(low + high)[:2] / 2.0, low[2]])
    reach = float(np.hypot(*(skeleton.points[:, :2] - origin[:2]).T).max())
    wide, tall = (box[2] - box[0]) * (1.0 - 2.0 * margin), (box[3] - box[1]) * (1.0 - 2.0 * margin)
    scale = max(2.0 * reach / wide, float(high[2] - low[2]) / tall, 1e-9)
    return Frame(azimuth, origin, scale, (box[0] + box[2]) / 2.0, box[3] - margin * (box[3] - box[1]))


def draw_skeleton(
    paper: ImageDraw.ImageDraw,
    skeleton: Skeleton,
    frame: Frame,
    marked: Ints | None = None,
    leaves: bool = True,
    ink: tuple[int, int, int] = ACCENT,
) -> None:
    """Draw the wood, far to near, and the marked members over it in an ink; leaves as small pale dots behind."""
    depth = frame.toward(skeleton.middles)
    span = max(float(np.ptp(depth)), 1e-9)
    near = (depth - depth.min()) / span
    heads, flat = skeleton.heads, frame.put(skeleton.points)
    widths = np.maximum((skeleton.radii[heads] + skeleton.radii[heads + 1]) / frame.scale, 1.2)
    hot = np.zeros(len(skeleton), dtype=bool)
    if marked is not None:
        hot[marked] = True
    on_hot = hot[skeleton.members[heads]]
    order = np.argsort(depth + np.where(on_hot, 10.0 * span, 0.0), kind="stable")
    if leaves and len(skeleton.leaves):
        size = max(0.006 * skeleton.height / frame.scale, 1.5)
        for x, y in frame.put(skeleton.leaves).tolist():
            paper.ellipse((x - size, y - size, x + size, y + size), fill=_mixed(LEAF, PAPER, 0.35))
    for at in order.tolist():
        colour = ink if on_hot[at] else _mixed(PALE, INK, float(near[at]) ** 0.8)
        ends = [_pair(flat[heads[at]]), _pair(flat[heads[at] + 1])]
        width = round(float(widths[at]) + (2.0 * _FINE if on_hot[at] else 0.0))
        paper.line(ends, fill=colour, width=max(width, 1))
        if width > 3:
            radius = width / 2.0 - 0.5
            x, y = ends[1]
            paper.ellipse((x - radius, y - radius, x + radius, y + radius), fill=colour)


def ring(paper: ImageDraw.ImageDraw, at: Floats, radius: float, colour: tuple[int, int, int], width: int = 3) -> None:
    """Draw an open circle at a place (2,) px."""
    x, y = float(at[0]), float(at[1])
    paper.ellipse((x - radius, y - radius, x + radius, y + radius), outline=colour, width=width * _FINE)


def fault_picture(skeleton: Skeleton, fault: Finding, size: tuple[int, int] = (1000, 1100)) -> Image.Image:
    """Return the view from which a finding shows, its members in red, its places ringed, and what to do about it."""
    wide, tall = size[0] * _FINE, size[1] * _FINE
    picture = Image.new("RGB", (wide, tall), PAPER)
    paper = ImageDraw.Draw(picture)
    azimuth = standing(skeleton, fault)
    frame = framed(skeleton, azimuth, (0, 150 * _FINE, wide, tall - 50 * _FINE))
    draw_skeleton(paper, skeleton, frame, fault.rows[: max(24, len(skeleton) // 8)])
    for place in frame.put(fault.places[:12]):
        ring(paper, place, _ring_size(skeleton, fault) / frame.scale, COOL)
    words = fault_in_words(skeleton, fault)
    paper.text((40 * _FINE, 26 * _FINE), fault.range.title, fill=INK, font=font_of(26))
    number = f"{shown(fault, fault.value)}   natural {natural_range(fault)}{widened(fault)}   score {fault.score:.0f}"
    paper.text((40 * _FINE, 62 * _FINE), number, fill=ACCENT, font=font_of(17))
    body = "\n".join(textwrap.wrap(words.split(" (", 1)[0] if len(words) > 400 else words.rsplit(" (", 1)[0], 112))
    paper.multiline_text((40 * _FINE, 92 * _FINE), body, fill=INK, font=font_of(15), spacing=5 * _FINE)
    paper.text((40 * _FINE, tall - 40 * _FINE), f"seen from {azimuth:.0f} deg", fill=INK, font=font_of(15))
    return picture.resize(size, Image.Resampling.LANCZOS)


def stand_back(skeleton: Skeleton, verdict: Verdict, size: tuple[int, int] = (1800, 1240)) -> Image.Image:
    """Return eight silhouettes around the tree, with the emptiest spot of each side ringed blue and the most crowded
    red."""
    picture = Image.new("RGB", (size[0] * _FINE, size[1] * _FINE), PAPER)
    paper = ImageDraw.Draw(picture)
    paper.text((40 * _FINE, 24 * _FINE), f"Stand back: {verdict.overall:.0f} of 100", fill=INK, font=font_of(30))
    key = "blue ring: the largest hole of sky from this side     red ring: where tips crowd"
    paper.text((40 * _FINE, 66 * _FINE), key, fill=INK, font=font_of(16))
    top, cell, tall = 100 * _FINE, size[0] * _FINE / 4.0, (size[1] - 110) * _FINE / 2.0
    crowds = _crowds(skeleton)
    for number in range(8):
        azimuth = 45.0 * number
        left, upper = (number % 4) * cell, top + (number // 4) * tall
        frame = framed(skeleton, azimuth, (left, upper, left + cell, upper + tall - 20 * _FINE))
        _silhouette(paper, skeleton, frame)
        hole = sky_hole(skeleton, side_views(skeleton, np.array([azimuth])))
        if len(hole.high_places):
            box = float(np.sqrt(np.ptp(frame.put(skeleton.tips), axis=0).prod()))
            ring(paper, frame.put(hole.high_places)[0], max(hole.value * box * 0.5, 12.0 * _FINE), COOL, 2)
        for place in frame.put(crowds):
            ring(paper, place, 0.035 * skeleton.height / frame.scale, ACCENT, 2)
        label = f"{azimuth:.0f} deg"
        paper.text((left + cell / 2.0, upper + tall - 16 * _FINE), label, fill=INK, font=font_of(16), anchor="mm")
    return picture.resize(size, Image.Resampling.LANCZOS)


def side_by_side(
    before: Skeleton, after: Skeleton, moved: Ints, overalls: tuple[float, float], size: tuple[int, int] = (1600, 1900)
) -> Image.Image:
    """Return a tree's bare steel before and after mending, from two sides: what moved, with all it carries, in blue
    before, and in red after over a blue trace of where it was.
    """
    picture = Image.new("RGB", (size[0] * _FINE, size[1] * _FINE), PAPER)
    paper = ImageDraw.Draw(picture)
    wide, tall = size[0] * _FINE / 2.0, (size[1] - 90) * _FINE / 2.0
    gone = _carried(before, moved)
    for column, (skeleton, name) in enumerate(((before, "before"), (after, "after"))):
        title = f"{name}: {overalls[column]:.0f} of 100"
        paper.text((column * wide + 40 * _FINE, 30 * _FINE), title, fill=INK, font=font_of(28))
        for row, azimuth in enumerate((30.0, 120.0)):
            top = 90 * _FINE + row * tall
            # One frame for both, so that all that stayed stands at the same place.
            frame = framed(before, azimuth, (column * wide, top, (column + 1) * wide, top + tall))
            if column:
                _trace(paper, before, frame, gone)
            draw_skeleton(paper, skeleton, frame, gone, leaves=False, ink=ACCENT if column else COOL)
            note = f"seen from {azimuth:.0f} deg; {len(moved)} moved, with {len(gone) - len(moved)} that they carry"
            paper.text((column * wide + 40 * _FINE, top + 12 * _FINE), note, fill=INK, font=font_of(15))
    return picture.resize(size, Image.Resampling.LANCZOS)


def _carried(skeleton: Skeleton, rows: Ints) -> Ints:
    """Return the members of the rows and all that they carry."""
    carried = np.zeros(len(skeleton), dtype=bool)
    carried[rows] = True
    for level in skeleton.levels[1:]:
        carried[level] |= carried[skeleton.parents[level]]
    return np.flatnonzero(carried)


def _trace(paper: ImageDraw.ImageDraw, skeleton: Skeleton, frame: Frame, rows: Ints) -> None:
    flat, heads = frame.put(skeleton.points), skeleton.heads
    for head in heads[np.isin(skeleton.members[heads], rows)].tolist():
        paper.line([_pair(flat[head]), _pair(flat[head + 1])], fill=_mixed(COOL, PAPER, 0.35), width=2)


def _silhouette(paper: ImageDraw.ImageDraw, skeleton: Skeleton, frame: Frame) -> None:
    flat, heads = frame.put(skeleton.points), skeleton.heads
    if len(skeleton.leaves):
        size = max(0.006 * skeleton.height / frame.scale, 1.5)
        for x, y in frame.put(skeleton.leaves).tolist():
            paper.ellipse((x - size, y - size, x + size, y + size), fill=_mixed(INK, PAPER, 0.62))
    widths = np.maximum((skeleton.radii[heads] + skeleton.radii[heads + 1]) / frame.scale, 1.6)
    for head, width in zip(heads.tolist(), widths.tolist(), strict=True):
        paper.line([_pair(flat[head]), _pair(flat[head + 1])], fill=INK, width=round(width))


def _crowds(skeleton: Skeleton) -> Floats:
    """Return the middles of the three places where tips stand closest, apart from each other: (<= 3, 3) mm."""
    if len(skeleton) < 24:
        return np.zeros((0, 3))
    from scipy.spatial import cKDTree

    close = np.asarray(cKDTree(skeleton.tips).query(skeleton.tips, k=7)[0])[:, 6]
    crowds: list[Floats] = []
    for row in np.argsort(close, kind="stable").tolist():
        if all(float(np.linalg.norm(skeleton.tips[row] - other)) > 0.2 * skeleton.height for other in crowds):
            crowds.append(skeleton.tips[row])
        if len(crowds) == 3:
            break
    return np.array(crowds).reshape(-1, 3)


def _ring_size(skeleton: Skeleton, fault: Finding) -> float:
    if fault.name == "empty_ball":
        hull = crown_hull(skeleton.tips)
        volume = float(hull.volume) if hull is not None else skeleton.height**3 / 30.0
        return fault.value * float((3.0 * volume / (4.0 * np.pi)) ** (1 / 3))
    return (0.1 if fault.range.family == "gaps" else 0.035) * skeleton.height


def _pair(place: Floats) -> tuple[float, float]:
    return float(place[0]), float(place[1])


def _mixed(one: tuple[int, int, int], other: tuple[int, int, int], share: float) -> tuple[int, int, int]:
    red, green, blue = (round(a + (b - a) * share) for a, b in zip(one, other, strict=True))
    return red, green, blue


def font_of(size: int) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    """Return the lettering of a size, px of the finished picture."""
    return ImageFont.load_default(size * _FINE)
