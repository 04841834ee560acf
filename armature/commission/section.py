"""A table of the commission file as a record."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pydantic import BaseModel, ConfigDict, ValidationError

from armature.commission.complaints import complaint


class Section(BaseModel):
    """A table of the commission file: frozen, and every key known.

    Made in Python, it raises CommissionError in one line, as for a file.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    if not TYPE_CHECKING:

        def __init__(self, /, **given: Any) -> None:
            try:
                super().__init__(**given)
            except ValidationError as error:
                raise complaint(error, type(self), type(self).__name__.lower(), {}) from None

        # Tables inside a table are made without it, so that faults of all of them come in one list.
        __init__.__pydantic_base_init__ = True
