"""`python -m armature` is the command line."""

from __future__ import annotations

from armature.cli import main

if __name__ == "__main__":
    main()
