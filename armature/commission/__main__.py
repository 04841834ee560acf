"""`python -m armature.commission` prints the reference of the commission file."""

from __future__ import annotations

import sys

from armature.commission.reference import reference

if __name__ == "__main__":
    sys.stdout.reconfigure(encoding="utf-8")  # type: ignore[union-attr]
    print(reference(), end="")
