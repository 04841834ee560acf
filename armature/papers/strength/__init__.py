"""The strength report to read, and the calculation to follow."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from armature.papers.strength.report import page

if TYPE_CHECKING:
    from armature.papers.strength.calculation import calculation_pdf

__all__ = ["calculation_pdf", "page"]


def __getattr__(name: str) -> Any:
    """Return the calculation: the library under it takes a third of a second to load."""
    if name != "calculation_pdf":
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from armature.papers.strength.calculation import calculation_pdf

    return calculation_pdf
