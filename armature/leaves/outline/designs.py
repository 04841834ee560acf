"""The designs of a commission: the artist's own outlines first, then drawn forms, each design unlike the others."""

from __future__ import annotations

from armature.commission import Commission
from armature.leaves.outline.artist import artist_design
from armature.leaves.outline.forms import DEFAULT_FORMS, drawn_form
from armature.leaves.outline.outlines import Design, designed


def draw_designs(commission: Commission) -> tuple[Design, ...]:
    """Return the designs of a commission, numbered from 1 as in the hang list.

    Outline files come first; what is left of `leaves.designs` is drawn from the forms in turn, by the commission's
    seed. Raises CommissionError for an outline that cannot be cut, FileError for a file that cannot be read.
    """
    leaves = commission.leaves
    given = [commission.file(name) for name in leaves.outline.files]
    # Thinner than this, a neck bends under the leaf's own swing: common practice, no source.
    least = max(2.0 * leaves.thickness, 1.0)
    error, hole, units = leaves.outline.chord_error, leaves.least_eye, leaves.outline.dxf_units or ""
    designs = [
        artist_design(file, number, leaves.eye, leaves.hang.edge, least, error, hole, leaves.outline.gap, units)
        for number, file in enumerate(given, 1)
    ]
    forms = leaves.outline.forms or DEFAULT_FORMS
    for number in range(len(designs) + 1, leaves.designs + 1):
        name = forms[(number - len(given) - 1) % len(forms)]
        form = drawn_form(name, leaves.length, commission.seed, number, leaves.outline.spread)
        designs.append(designed(form, number, leaves.eye, leaves.hang.edge, error))
    return tuple(designs)
