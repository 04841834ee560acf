"""Papers about steel that exists: what to do about it, which cards changed, seats of twigs forged by feel."""

from __future__ import annotations

from armature.papers.made.report import changed_words, counted_words, made_steel_md
from armature.papers.made.seats import seat_lines, seats_pdf

__all__ = ["changed_words", "counted_words", "made_steel_md", "seat_lines", "seats_pdf"]
