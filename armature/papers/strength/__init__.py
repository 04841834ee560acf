"""The strength report to read, and the calculation to follow."""

from __future__ import annotations

from armature.papers.strength.calculation import calculation_pdf
from armature.papers.strength.report import page

__all__ = ["calculation_pdf", "page"]
