"""Forged-steel trees: grow, judge, check and build them from one commission file."""

from __future__ import annotations

__version__ = "0.1.0"
