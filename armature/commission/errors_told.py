"""Errors that begin with a key of the commission, told with the file that the commission was read from."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager

from armature.commission.model import Commission
from armature.edge import ArmatureError, FileError

# What errors call a commission that no file holds.
_TEXT = "commission"


@contextmanager
def telling_of(commission: Commission) -> Iterator[None]:
    """Put the commission's file before an error, raised in the block, that begins with a key of the commission."""
    try:
        yield
    except ArmatureError as error:
        key = re.match(r"([a-z_]+)[.:\[]", str(error))
        is_key = key is not None and key[1] in type(commission).model_fields and not isinstance(error, FileError)
        if is_key and commission.source != _TEXT:
            error.args = (f"{commission.source}: {error}",)
        raise
