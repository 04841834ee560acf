"""Names of files that a page gives: those that every system can keep, and that show as what they are."""

from __future__ import annotations

import re

_PLAIN = re.compile(r"[^/\\:<>\"|?*\x00-\x1f]{1,120}")
# Names of devices where the folder may be opened on Windows, whatever follows their first dot: from memory.
_DEVICES = re.compile(r"(con|prn|aux|nul|com[0-9¹²³]|lpt[0-9¹²³]|conin\$|conout\$) *(\..*)?", re.IGNORECASE)

# Bytes: the name under which a file is written aside, or kept, is longer, and common file systems hold 255.
_LONGEST = 200


def is_plain(name: str) -> bool:
    """Return whether a text is a plain name of a file: no path, device, mark-up, unseen sign, hidden file, nor a blank
    at an end or a dot at the last.

    >>> [is_plain(name) for name in ("alder.toml", "CON.toml", "<b>", "alder.", "../alder")]
    [True, False, False, False, False]
    """
    return (
        _PLAIN.fullmatch(name) is not None
        and name.isprintable()
        and name == name.strip()
        and not name.startswith(".")
        and not name.endswith(".")
        and len(name.encode()) <= _LONGEST
        and _DEVICES.fullmatch(name) is None
    )
