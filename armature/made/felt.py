"""Bars forged by feel, without a card: their lines from offsets alone."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from armature.made.given import bar_through
from armature.made.measures import Offsets, offsets_in
from armature.tree import Chains, Floats

if TYPE_CHECKING:
    from armature.commission import Anvil


@dataclass(frozen=True, eq=False)
class Felt:
    """N bars forged by feel: names, what was read of each, chains as fitted, thick (N,) mm where they are thickest, NaN
    where it was not read."""

    names: tuple[str, ...]
    read: tuple[Offsets, ...]
    chains: tuple[Chains, ...]
    thick: Floats


def felt_bars(path: Path, anvil: Anvil) -> Felt:
    """Return the bars of a table of offsets whose tags are any names: a chip laid beside each, say.

    Raises FileError for a file that is no table, CommissionError naming the line for what cannot be so.
    """
    read = tuple(offsets_in(path))
    chains = tuple(bar_through(points_of(own), anvil) for own in read)
    thick = np.array([np.nanmax(own.diameters) if np.isfinite(own.diameters).any() else np.nan for own in read])
    return Felt(tuple(own.tag for own in read), read, chains, thick)


def points_of(offsets: Offsets) -> Floats:
    """Return the places that were read on a bar as it lies, START first: (K + 1, 3) mm along, rise and lift."""
    places = np.stack([offsets.alongs, offsets.rises, offsets.lifts], axis=1)
    return np.concatenate([np.zeros((1, 3)), places])
