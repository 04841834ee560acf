"""The name finder: one page that opens offline, in which a visitor types a name and sees its leaf on the tree.

Names are data: they travel as JSON whose markup signs are escaped, and reach the page as text alone. The page may load
nothing and run no script but its own, whose hashes its content security policy names (CSP Level 3, section 2.3.1).
"""

from __future__ import annotations

import html
import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from armature.commission import Commission
from armature.leaves import LeafPlan
from armature.leaves.naming import script_table
from armature.papers.leaves.places import limb_sides, named_places
from armature.papers.leaves.shell import asset, digest, escaped_json
from armature.tree import TWIG, Tree, sampled

_CHORD = 8.0


def finder_page(plan: LeafPlan, commission: Commission) -> str:
    """Return finder.html: the tree seen from the ground, and every name with its leaf."""
    style, script = asset("finder.css"), asset("finder_search.js") + "\n" + asset("finder.js")
    policy = (
        f"default-src 'none'; script-src '{digest(script)}'; style-src '{digest(style)}'; "
        "base-uri 'none'; form-action 'none'"
    )
    return _PAGE.format(
        policy=html.escape(policy, quote=True).replace("&#x27;", "'"),
        title=html.escape(commission.title),
        style=style,
        script=script,
        data=escaped_json(finder_data(plan, commission)),
    )


def finder_data(plan: LeafPlan, commission: Commission) -> dict[str, Any]:
    """Return what the page shows: members as polylines, leaves, and the names in order, all lengths whole mm.

    A name is [name, leaf's tag, leaf's row, what a search looks through, side, limb, out]. letters: how other scripts
    are spelled in Latin letters. words: what the page says, by language.
    """
    tree = plan.tree
    places = named_places(plan, commission.units)
    return {
        "title": commission.title,
        "members": _members(tree),
        "parents": tree.parents.tolist(),
        "leaves": np.round(plan.hung.eyes).astype(int).ravel().tolist(),
        "twigs": tree.leaves.twigs.tolist(),
        "names": [[p.name, p.tag, p.row, p.key, p.side, p.limb, p.out] for p in places],
        "limbs": limb_sides(plan) if len(tree.leaves) else {},
        "letters": script_table(),
        "words": finder_words(),
        "units": commission.units,
        "reach": round(commission.leaves.lettering.reach),
        "leaf": round(commission.leaves.length),
        "height": int(np.ceil(max(float(tree.chains.vertices[:, 2].max()), 1000.0))),
    }


@cache
def finder_words() -> dict[str, dict[str, Any]]:
    """Return what the page says by language, English first, then by code: a file a language in `data/finder`."""
    folder = files("armature.data").joinpath("finder")
    words = {
        file.name.removesuffix(".toml"): tomllib.loads(file.read_text(encoding="utf-8"))
        for file in folder.iterdir()
        if file.name.endswith(".toml")
    }
    return dict(sorted(words.items(), key=lambda item: (item[0] != "en", item[0])))


def _members(tree: Tree) -> list[list[int]]:
    """Each member as [rank, start diameter, end diameter, x, y, z, ...], whole mm; twigs coarser than the rest."""
    drawn = sampled(tree.chains, _CHORD)
    points = np.round(drawn.points).astype(int)
    members = []
    for row in range(len(tree)):
        part = points[drawn.offsets[row] : drawn.offsets[row + 1]]
        part = part[[0, len(part) // 2, -1]] if tree.ranks[row] == TWIG and len(part) > 3 else part
        ends = [round(float(d)) for d in (tree.start_diameters[row], tree.end_diameters[row])]
        members.append([int(tree.ranks[row]), *ends, *part.ravel().tolist()])
    return members


_PAGE = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<title>{title}: find a name</title>
<style>{style}</style>
</head>
<body>
<main>
<section class="search">
<h1></h1>
<label for="query" data-say="ask">Whose leaf are you looking for?</label>
<input id="query" type="search" dir="auto" placeholder="Name"
 autocomplete="off" autocapitalize="off" spellcheck="false" autofocus>
<p id="count" role="status"></p>
<div class="lists">
<ul id="found"></ul>
<h2 class="near"></h2>
<ul id="close"></ul>
</div>
<select id="tongue" aria-label="Language"></select>
</section>
<section class="answer">
<section class="told" id="told" role="status" tabindex="-1"></section>
<div class="plan"><canvas id="plan" role="img" aria-label="Plan of the crown"></canvas>
<button id="compass" type="button" data-say="compass" hidden></button></div>
</section>
<figure>
<canvas id="view" role="img" aria-label="The tree seen from the ground"></canvas>
<figcaption><label for="turn" data-say="walk">Walk around the tree</label>
<input id="turn" type="range" min="0" max="359" step="1" value="270">
<output id="stand" for="turn"></output></figcaption>
</figure>
</main>
<script type="application/json" id="data">{data}</script>
<script>{script}</script>
</body>
</html>
"""
