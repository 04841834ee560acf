"""Spellings of one name that a list may hold."""

from __future__ import annotations

import unicodedata


def folded(text: str) -> str:
    """Return what two spellings of the same name have in common but for accents: capitals, widths and spaces folded."""
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())
