"""Forged-steel trees: grow, judge, check and build them from one commission file."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from armature.files import load as load

__version__ = "0.1.0"


def __getattr__(name: str) -> object:
    """Return a door that would make `import armature` slow, opened when it is asked for."""
    if name == "load":
        from armature.files import load

        return load
    raise AttributeError(f"module 'armature' has no attribute {name!r}")
