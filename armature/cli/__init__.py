"""The command line: a module for each part that its commands serve."""

from __future__ import annotations

from armature.cli.app import main

__all__ = ["main"]
