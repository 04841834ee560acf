"""Papers about steel that exists: what to do about it, in order of trouble, and which cards changed."""

from __future__ import annotations

from armature.papers.made.report import changed_words, counted_words, made_steel_md

__all__ = ["changed_words", "counted_words", "made_steel_md"]
