"""Panels for names kept as text beside the outlines, so that the bench's commands need not search them anew."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import astuple
from hashlib import sha256

from armature.commission import Commission
from armature.leaves.naming import Panel
from armature.leaves.outline import Design, designs_text
from armature.leaves.plan import name_panels

_FORMAT, _VERSION = "armature.panels", 1


def panels_text(panels: Sequence[Sequence[Panel]], designs: Sequence[Design], commission: Commission) -> str:
    """Return panels as JSON text, a row a design in the order of the designs, under what they answer."""
    rows = [[list(astuple(panel)) for panel in own] for own in panels]
    whole = {"format": _FORMAT, "version": _VERSION, "answers": _answers(rows, designs, commission), "panels": rows}
    return json.dumps(whole, separators=(",", ":")) + "\n"


def stored_panels(text: str, designs: Sequence[Design], commission: Commission) -> tuple[tuple[Panel, ...], ...]:
    """Return the panels of each design: as kept where the text answers these outlines and letters, else found anew."""
    try:
        said = json.loads(text)
        rows = said["panels"]
        if said["answers"] == _answers(rows, designs, commission):
            return tuple(tuple(Panel(*map(float, row)) for row in own) for own in rows)
    except (ValueError, KeyError, TypeError, RecursionError):
        pass
    return tuple(name_panels(commission, design) for design in designs)


def _answers(rows: object, designs: Sequence[Design], commission: Commission) -> str:
    """Return the digest of panels, outlines and the letters that they are for: a file that was touched answers none."""
    lettering = commission.leaves.lettering
    letters = repr((lettering.least, lettering.most, lettering.stamps, lettering.lines))
    return sha256(f"{json.dumps(rows)}|{letters}|{designs_text(designs)}".encode()).hexdigest()
