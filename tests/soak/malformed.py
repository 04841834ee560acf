"""Inputs of every kind, broken at random: each must be read or refused in one short line, exit 2, nothing written."""

from __future__ import annotations

import random
from pathlib import Path

SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" viewBox="0 0 60 90">'
SVG += '<path d="M30 2 C60 30 50 70 30 88 Z"/></svg>'
TOML = 'title = "x"\ncanopy.height = "1 m"\ngrowth = {limbs = 2, branches = 4, twigs = 8}\nleaves.count = 9\n'
KINDS = ("toml", "names", "svg", "dxf", "stl", "rates", "design", "swc", "csv", "grades")


def malformed(number: int, folder: Path) -> list[str]:
    """Write one broken input into a folder; return the command line that reads it."""
    draw, kind = random.Random(number), KINDS[number % len(KINDS)]
    content = _broken(draw, kind)
    if kind == "toml":
        (folder / "tree.toml").write_bytes(content)
        return ["grow", str(folder / "tree.toml"), "--out", str(folder / "out")]
    if kind in ("design", "swc", "csv"):
        file = folder / f"tree.{'json' if kind == 'design' else kind}"
        file.write_bytes(content)
        return ["judge", str(file), "--out", str(folder / "out"), "--no-pictures"]
    name = f"file.{kind if kind in ('svg', 'dxf', 'stl') else 'csv'}"
    (folder / name).write_bytes(content)
    keys = {"svg": f'leaves.outline.files = ["{name}"]', "dxf": f'leaves.outline.files = ["{name}"]'}
    keys |= {"stl": f'canopy.habit = "outline"\ncanopy.outline = "{name}"', "names": f'leaves.names = "{name}"'}
    keys |= {"rates": f'shop.crew.rates = "{name}"', "grades": f'leaves.lettering.grades = "{name}"'}
    (folder / "tree.toml").write_text(TOML + keys[kind] + "\n")
    skip = [f"--skip={part}" for part in ("mending", "plates", "strength", "papers", "mesh", "pictures")]
    return ["make", str(folder / "tree.toml"), "--out", str(folder / "out"), *skip]


def _broken(draw: random.Random, kind: str) -> bytes:
    whole = {"toml": TOML, "svg": SVG, "names": "name,family\nAda,1\n", "rates": "[cut]\neach = 1\n"}.get(kind, "")
    whole = whole or {"swc": "1 5 0 0 0 1 -1\n" * 6, "csv": "id,parent,x,y,z,radius\n1,-1,0,0,0,1\n" * 3}.get(
        kind, "{}"
    )
    content = bytearray(whole.encode() * draw.choice((1, 1, 3)))
    for _ in range(draw.randint(1, 8)):
        at = draw.randrange(len(content) + 1)
        way = draw.randrange(5)
        if way == 0:
            del content[at : at + draw.randint(1, 30)]
        elif way == 1:
            content[at:at] = bytes(draw.randrange(256) for _ in range(draw.randint(1, 40)))
        elif way == 2:
            content[at:at] = draw.choice(
                (b"[", b'"', b"{", b"<", b"1e999", b"nan", b"\x00", b",", b"=")
            ) * draw.randint(1, 3000)
        elif way == 3:
            content[at:at] = "‮\u0000🙂éa\r\n\t".encode() * draw.randint(1, 20)
        else:
            content = content[:at]
    return bytes(content)
