"""The shop: bends, joints, bars, sections, hours and cost."""

from __future__ import annotations
