"""Pages of one file that open offline: style, script and data inside, and a policy under which nothing else
may load."""

from __future__ import annotations

import base64
import hashlib
import html
import json
from importlib.resources import files
from typing import Any

_ESCAPES = {"<": "\\u003c", ">": "\\u003e", "&": "\\u0026", "\u2028": "\\u2028", "\u2029": "\\u2029"}


def one_page(title: str, body: str, style: str, script: str, data: Any) -> str:
    """Return a page of one file.

    body: markup. style, script: names of files beside this module. data: goes in as JSON under the id `data`. The page
    runs no script but its own, whose hash its policy names (CSP Level 3, section 2.3.1).
    """
    css, code = asset(style), asset(script)
    closed = "base-uri 'none'; form-action 'none'"
    policy = f"default-src 'none'; script-src '{digest(code)}'; style-src '{digest(css)}'; {closed}"
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f'<meta name="referrer" content="no-referrer">\n<title>{html.escape(title)}</title>\n<style>{css}</style>\n'
        f'</head>\n<body>\n{body}\n<script type="application/json" id="data">{escaped_json(data)}</script>\n'
        f"<script>{code}</script>\n</body>\n</html>\n"
    )


def escaped_json(data: Any) -> str:
    """Return JSON that can stand inside a script element: no sign in it can end the element or begin markup.

    >>> escaped_json(["</script>"])
    '["\\\\u003c/script\\\\u003e"]'
    """
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"))
    for sign, safe in _ESCAPES.items():
        text = text.replace(sign, safe)
    return text


def asset(name: str) -> str:
    """Return the text of a file beside this module."""
    return files("armature.papers.leaves").joinpath(name).read_text(encoding="utf-8")


def digest(text: str) -> str:
    """Return the hash of an inline script or style as a policy names it."""
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")
