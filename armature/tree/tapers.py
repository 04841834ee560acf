"""Diameters along bars: what a bar measures at stations from its start to its tip.

Size letters: M members, K places, Q queries. Lengths and diameters are mm.

A *place* is a station at which a member's diameter is told; the first of each member is its start, and between two
places the diameter runs straight. The tip is told apart, since its station is the member's length. Toward the tip the
diameter falls or stays; only in the swelling at a foot, up to the station in `swells`, may it rise.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from armature.tree.centreline import Floats, Ints


@dataclass(frozen=True, eq=False)
class Tapers:
    """Diameters of M members as ragged arrays.

    offsets: (M + 1,) first place of each member, then K. stations: (K,) mm, 0 at each start, never falling within a
    member; of two places at one station the later holds. diameters: (K,) mm. tips: (M,) mm, diameter at each tip.
    swells: (M,) mm, station of the place at which the swelling at the foot ends, 0 for none.
    """

    offsets: Ints
    stations: Floats
    diameters: Floats
    tips: Floats
    swells: Floats

    def __len__(self) -> int:
        return len(self.tips)

    @cached_property
    def members(self) -> Ints:
        """Member of each place: (K,)."""
        return np.repeat(np.arange(len(self)), np.diff(self.offsets))

    @cached_property
    def starts(self) -> Floats:
        """Diameter at each start: (M,) mm."""
        return self.diameters[self.offsets[:-1]]

    @cached_property
    def bars(self) -> Floats:
        """Diameter of each bar behind the swelling at its foot: (M,) mm."""
        return self.diameters[self.pieces(np.arange(len(self)), self.swells)]

    @cached_property
    def nexts(self) -> Floats:
        """Diameter at the far end of the piece behind each place: (K,) mm."""
        following = np.append(self.diameters[1:], 0.0)
        following[self.offsets[1:] - 1] = self.tips
        return following

    @cached_property
    def falls(self) -> Floats:
        """First station, behind the swelling, after which the diameter falls; the last place where it never does: (M,)
        mm."""
        falling = (self.nexts < self.diameters) & (self.stations >= self.swells[self.members])
        wanted = np.where(falling, np.arange(len(self.stations)), len(self.stations))
        first = np.minimum.reduceat(wanted, self.offsets[:-1]) if len(self) else wanted
        return self.stations[np.minimum(first, self.offsets[1:] - 1)]

    def stops(self, lengths: Floats) -> Floats:
        """Return the station at which the piece behind each place ends: (K,) mm, from the members' lengths (M,) mm."""
        following = np.append(self.stations[1:], 0.0)
        following[self.offsets[1:] - 1] = lengths
        return following

    def at(self, lengths: Floats, members: ArrayLike, stations: ArrayLike) -> Floats:
        """Return the diameters (Q,) mm at stations (Q,) mm of the members (Q,); outside a bar that of its end.

        >>> bar = cones([12.0], [6.0], [100.0])
        >>> bar.at(np.array([400.0]), [0, 0, 0], [50.0, 250.0, 900.0]).tolist()
        [12.0, 9.0, 6.0]
        """
        rows, place = np.asarray(members, dtype=np.int64), np.asarray(stations, dtype=np.float64)
        piece = self.pieces(rows, place)
        start, stop = self.stations[piece], self.stops(lengths)[piece]
        share = np.clip((place - start) / np.maximum(stop - start, 1e-9), 0.0, 1.0)
        return np.asarray(self.diameters[piece] + share * (self.nexts[piece] - self.diameters[piece]))

    def pieces(self, members: Ints, stations: Floats) -> Ints:
        """Return the place (Q,) behind which each station (Q,) mm of the members (Q,) lies."""
        piece = self.offsets[members]
        counts = np.diff(self.offsets)[members]
        for number in range(1, int(counts.max(initial=1))):
            more = np.flatnonzero(counts > number)
            piece[more] += self.stations[self.offsets[members[more]] + number] <= stations[more]
        return piece

    def thinner(self, lengths: Floats, members: ArrayLike, diameters: ArrayLike) -> Floats:
        """Return the stations (Q,) mm behind which members (Q,) are thinner than diameters (Q,) mm: their length where
        they never are, 0 where they start so.

        >>> cones([12.0], [6.0], [100.0]).thinner(np.array([400.0]), [0, 0, 0], [9.0, 3.0, 20.0]).tolist()
        [250.0, 400.0, 0.0]
        """
        rows, wanted = np.asarray(members, dtype=np.int64), np.asarray(diameters, dtype=np.float64)
        reached = lengths[rows].astype(np.float64)
        counts, stops, left = np.diff(self.offsets)[rows], self.stops(lengths), np.ones(len(rows), dtype=bool)
        for number in range(int(counts.max(initial=0))):
            some = np.flatnonzero(left & (counts > number))
            piece = self.offsets[rows[some]] + number
            wide, narrow, asked = self.diameters[piece], self.nexts[piece], wanted[some]
            share = np.clip((wide - asked) / np.maximum(wide - narrow, 1e-9), 0.0, 1.0)
            here = narrow < asked
            begin = self.stations[piece[here]]
            reached[some[here]] = begin + share[here] * (stops[piece[here]] - begin)
            left[some[here]] = False
        return np.where(self.starts[rows] < wanted, 0.0, reached)

    def beyond(self, lengths: Floats, members: Ints, stations: Floats) -> Floats:
        """Return, for members (Q,) each once, the integral of the square of the diameter from stations (Q,) mm to the
        tip: (Q,) mm3."""
        since = np.full(len(self), np.inf)
        since[members] = stations
        stops, begin = self.stops(lengths), np.maximum(self.stations, since[self.members])
        kept = np.flatnonzero(begin < stops)
        rows = self.members[kept]
        wide = np.where(begin[kept] > self.stations[kept], self.at(lengths, rows, begin[kept]), self.diameters[kept])
        total = np.zeros(len(self))
        np.add.at(total, rows, squares(wide, self.nexts[kept], stops[kept] - begin[kept]))
        return total[members]

    def volumes(self, lengths: Floats, walls: Floats) -> Floats:
        """Return the steel of each member: (M,) mm3, frustum by frustum, less a pipe's bore.

        walls: (M,) mm, 0 for a solid bar. Where a pipe is drawn in below twice its wall the bore closes.
        """
        run, wall = self.stops(lengths) - self.stations, walls[self.members]
        wide = np.where(wall > 0.0, self.diameters - 2.0 * wall, 0.0)
        narrow = np.where(wall > 0.0, self.nexts - 2.0 * wall, 0.0)
        high, low = np.maximum(wide, narrow), np.minimum(wide, narrow)
        open_share = np.where(low < 0.0, np.maximum(high, 0.0) / np.maximum(high - low, 1e-9), 1.0)
        total = np.zeros(len(self))
        np.add.at(total, self.members, frustums(self.diameters, self.nexts, run))
        np.subtract.at(total, self.members, frustums(np.maximum(wide, 0.0), np.maximum(narrow, 0.0), open_share * run))
        return total

    def taken(self, rows: ArrayLike) -> Tapers:
        """Return the tapers of the given rows, in that order."""
        rows = np.asarray(rows, dtype=np.int64)
        counts = np.diff(self.offsets)[rows]
        offsets = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
        picked = np.repeat(self.offsets[rows] - offsets[:-1], counts) + np.arange(offsets[-1])
        return Tapers(offsets, self.stations[picked], self.diameters[picked], self.tips[rows], self.swells[rows])

    def stretched(self, shares: Floats) -> Tapers:
        """Return the tapers with the stations of each member times its share (M,)."""
        return replace(self, stations=self.stations * shares[self.members], swells=self.swells * shares)

    def moved(self, by: Floats, lengths: Floats) -> Tapers:
        """Return the tapers with places behind the swelling moved `by` (M,) mm toward the start, within the lengths
        (M,) mm."""
        swell = self.swells[self.members]
        moved = np.clip(self.stations - by[self.members], swell, np.maximum(lengths[self.members], swell))
        return replace(self, stations=np.where(self.stations <= swell, self.stations, moved))

    def restarted(self, starts: Floats) -> Tapers:
        """Return the tapers with other diameters at the starts (M,) mm, and at all places that were as thick as
        those."""
        whole = self.diameters == self.starts[self.members]
        return replace(self, diameters=np.where(whole, starts[self.members], self.diameters))

    def filled(self, lengths: Floats, members: Ints, stations: Floats, needed: Floats) -> Tapers:
        """Return the tapers so full that members (Q,) are `needed` (Q,) mm thick at stations (Q,) mm, as far as the
        place before allows; nothing gets thinner."""
        diameters, tips = self.diameters.copy(), self.tips.copy()
        piece = self.pieces(members, stations)
        counts = piece - self.offsets[members]
        for number in range(1, int(counts.max(initial=0)) + 1):
            more = np.flatnonzero(counts >= number)
            place = self.offsets[members[more]] + number
            np.maximum.at(diameters, place, np.minimum(needed[more], diameters[self.offsets[members[more]]]))
        start, stop = self.stations[piece], self.stops(lengths)[piece]
        share = np.clip((stations - start) / np.maximum(stop - start, 1e-9), 0.0, 1.0)
        before = diameters[piece]
        wanted = before - (before - np.minimum(needed, before)) / np.maximum(share, 1e-9)
        wanted = np.where(share > 1e-9, wanted, 0.0)
        last = piece == self.offsets[members + 1] - 1
        np.maximum.at(tips, members[last], wanted[last])
        np.maximum.at(diameters, piece[~last] + 1, wanted[~last])
        return replace(self, diameters=diameters, tips=np.minimum(tips, diameters[self.offsets[1:] - 1]))

    def unswollen(self) -> Tapers:
        """Return the tapers without the swellings: each bar as thick at its foot as behind it."""
        inside = self.stations < self.swells[self.members]
        return replace(
            self, diameters=np.where(inside, self.bars[self.members], self.diameters), swells=np.zeros(len(self))
        )

    def narrowed(self) -> Tapers:
        """Return the tapers with nothing thicker, behind the swelling, than what is before it."""
        diameters, counts = self.diameters.copy(), np.diff(self.offsets)
        for number in range(1, int(counts.max(initial=1))):
            place = self.offsets[:-1][counts > number] + number
            behind = self.stations[place] > self.swells[self.members[place]]
            diameters[place] = np.where(behind, np.minimum(diameters[place], diameters[place - 1]), diameters[place])
        return replace(self, diameters=diameters, tips=np.minimum(self.tips, diameters[self.offsets[1:] - 1]))


def cones(starts: ArrayLike, ends: ArrayLike, froms: ArrayLike | None = None) -> Tapers:
    """Return bars that hold their start diameters (M,) mm up to the stations `froms` (M,) mm, else none, and fall from
    there to their end diameters (M,) mm."""
    start, end = np.asarray(starts, dtype=np.float64), np.asarray(ends, dtype=np.float64)
    since = np.zeros(len(start)) if froms is None else np.asarray(froms, dtype=np.float64)
    counts = 1 + (since > 0.0)
    offsets = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
    stations = np.zeros(offsets[-1])
    stations[offsets[1:] - 1] = since
    return Tapers(offsets, stations, np.repeat(start, counts), end.copy(), np.zeros(len(start)))


def joined_tapers(parts: list[Tapers]) -> Tapers:
    """Return the tapers of all parts, one after the other."""
    counts = np.concatenate([np.diff(part.offsets) for part in parts])
    return Tapers(
        np.concatenate([[0], np.cumsum(counts)]).astype(np.int64),
        *(
            np.concatenate([getattr(part, name) for part in parts])
            for name in ("stations", "diameters", "tips", "swells")
        ),
    )


def frustums(wide: Floats, narrow: Floats, length: Floats) -> Floats:
    """Return the volume of each cone cut off square: (Q,) mm3, from its diameters and length (Q,) mm."""
    return np.asarray(np.pi / 12.0 * (wide * wide + wide * narrow + narrow * narrow) * length)


def squares(wide: Floats, narrow: Floats, length: Floats) -> Floats:
    """Return the integral of the square of a diameter that runs straight from `wide` to `narrow` (Q,) mm: (Q,) mm3."""
    return np.asarray(length * (wide**2 + wide * narrow + narrow**2) / 3.0)
