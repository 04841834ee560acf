"""Steel that exists before anything is planned."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from armature.commission.section import Section

FileName = Annotated[str, Field(strict=True, min_length=1, max_length=200)]


class Given(Section):
    """Steel that exists before anything is planned: the tree is grown around it."""

    steel: FileName | None = Field(
        None,
        description="table of members that exist: tag, x, y, z and diameter at points along each, START to tip",
        json_schema_extra={"usual": "none"},
    )
