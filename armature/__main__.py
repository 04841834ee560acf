"""`python -m armature`, or `armature` where it is installed, is the command line."""

from __future__ import annotations

import sys


def main() -> None:
    """Run the command line; stopped by hand while it is still being loaded, it says so in one line."""
    try:
        from armature.cli import main as run
    except KeyboardInterrupt:
        print("armature: stopped", file=sys.stderr)
        raise SystemExit(1) from None
    run()


if __name__ == "__main__":
    main()
