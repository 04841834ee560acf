"""The files that a commission names: each must be there and open before anything is grown."""

from __future__ import annotations

from armature.commission.lines import key_lines, line_of
from armature.commission.model import Commission
from armature.edge import CommissionError


def named_files(commission: Commission) -> dict[str, str]:
    """Return the files that a commission names, as written there, by key; lists are counted from 0."""
    leaves, outline = commission.leaves, commission.canopy.outline
    single = {
        "canopy.outline": outline if isinstance(outline, str) else None,
        "given.steel": commission.given.steel,
        "leaves.names": leaves.names,
        "leaves.lettering.grades": leaves.lettering.grades,
        "leaves.lettering.stamped": leaves.lettering.stamped,
        "shop.crew.rates": commission.shop.crew.rates,
    }
    several = {f"leaves.outline.files[{k}]": name for k, name in enumerate(leaves.outline.files)}
    return {key: name for key, name in {**single, **several}.items() if name is not None}


def check_files(commission: Commission, file: str, text: str) -> None:
    """Raise CommissionError for the first named file that is missing, a folder, not below the commission's folder, or
    may not be read; text: of the commission, for the line."""
    for key, name in named_files(commission).items():
        rule = _fault(commission, name)
        if rule:
            path = tuple(key.partition("[")[0].split("."))
            line = line_of(path, key_lines(text))
            raise CommissionError(f"{file}{f': line {line}' if line else ''}: {key}", rule, name)


def _fault(commission: Commission, name: str) -> str:
    """What is wrong with a named file, nothing where it opens."""
    try:
        path = commission.folder / name
        if rule := commission.outside(name):
            return rule
        if path.is_dir():
            return "is a folder where a file is wanted"
        if not path.is_file():
            return "no such file beside the commission"
        with path.open("rb"):
            return ""
    except (OSError, ValueError) as error:
        return f"cannot be read: {(getattr(error, 'strerror', None) or str(error)).lower()}"
