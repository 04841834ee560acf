"""Pictures: the size of stills."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from armature.commission.quantities import Section

Pixels = Annotated[int, Field(strict=True, ge=64, le=8192)]


class Pictures(Section):
    """How the tree is shown."""

    width: Pixels = Field(1200, description="width of a still in pixels")
    height: Pixels = Field(1500, description="height of a still in pixels")
