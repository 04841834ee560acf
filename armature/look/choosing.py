"""Which trees of a survey to look at: in what order, and which few that differ.

Where trees read as grown alike, no figure ranks them: what is left is their character, and the artist's eye.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from armature.edge import CommissionError
from armature.look.character import TRAITS, Character, unlikeness
from armature.look.survey import Grown
from armature.tree import Floats, row_norms

# From here up a tree reads as grown.
READS = 70.0
# Two crowns closer than this, as unit vectors, are as good as one: grown again with another seed they are about 1.2
# apart.
_ALIKE = 0.35
# What being as unlike all those kept as trees of the survey get is worth, in points of the look.
_WORTH = 25.0


def _word_traits() -> dict[str, tuple[int, float]]:
    """Return, by word, the trait's column and which end of it comes first."""
    traits = {}
    for column, trait in enumerate(TRAITS.values()):
        traits[trait.low], traits[trait.high] = (column, 1.0), (column, -1.0)
    return traits


WORDS = _word_traits()


def ordered(crowns: Sequence[Grown], by: str = "") -> list[Grown]:
    """Return the results best first: by whole points of the look, and among equals by how near the middle of the
    natural ranges they lie; or, of those that read as grown, by a word of character. Trees that failed come last.

    Raises CommissionError for a word that is none.
    """
    if not by:
        return sorted(
            crowns, key=lambda each: (bool(each.failed), -round(each.overall), -each.typical, each.seed, each.key)
        )
    if by not in WORDS:
        raise CommissionError("by", f"must be one of {', '.join(WORDS)}", by)
    column, sign = WORDS[by]

    def place(each: Grown) -> tuple[bool, bool, float, int, str]:
        trait = list(TRAITS)[column]
        value = getattr(each.character, trait) if each.character is not None else 0.0
        return bool(each.failed), each.overall < READS, sign * value, each.seed, each.key

    return sorted(crowns, key=place)


def best_unlike(surveyed: Sequence[Grown], count: int, by: str = "") -> list[Grown]:
    """Return at most `count` results to show: the first in order, and then each time the one that is best by its look
    and by how unlike it is to all those kept, in character and in where its crown has its wood; by a word, simply the
    next. Crowns that are as good as one are shown once.
    """
    left = [grown for grown in ordered(surveyed, by) if not grown.failed]
    if not left:
        return []
    sketches = np.array([grown.sketch for grown in left]).reshape(len(left), -1)
    traits = unlikeness([_character(grown) for grown in left])
    worth = -1e3 * np.arange(len(left)) if by else np.array([grown.overall for grown in left])
    kept, apart, crowns = [0], np.full(len(left), np.inf), np.full(len(left), np.inf)
    while len(kept) < min(count, len(left)):
        apart = np.minimum(apart, _apart(traits, sketches, kept[-1]))
        crowns = np.minimum(crowns, row_norms(sketches - sketches[kept[-1]]))
        open_to = crowns >= _ALIKE
        if not open_to.any():
            break
        kept.append(int(np.argmax(np.where(open_to, worth + _WORTH * apart, -np.inf))))
    return [left[row] for row in kept]


def tied(best: Sequence[Grown]) -> str:
    """Return what to say where the figures do not rank the trees shown, else nothing."""
    if len(best) < 2 or min(each.overall for each in best) < READS:
        return ""
    return "all read as grown: the figures do not rank them, choose by eye"


def _character(grown: Grown) -> Character:
    assert grown.character is not None
    return grown.character


def _apart(traits: Floats, sketches: Floats, row: int) -> Floats:
    """Return how unlike each tree is to one of them, 0 to about 1: half by traits, half by the crown's wood."""
    by_trait = np.sqrt(((traits - traits[row]) ** 2).mean(axis=1))
    # Sketches of chance crowns stand at about a right angle: 1.41 apart.
    return np.asarray(0.5 * by_trait + 0.5 * row_norms(sketches - sketches[row]) / np.sqrt(2.0))
