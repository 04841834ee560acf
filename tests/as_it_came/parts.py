"""What parts of the house come to that no small commission reaches: invented input, and all that comes back."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
from ezdxf import units
from ezdxf.filemanagement import new

from armature.commission import read
from armature.grow import grow
from armature.leaves.nesting.filling import filled
from armature.leaves.nesting.kinds import fewest_kinds
from armature.leaves.nesting.plates import Plate, Rules
from armature.leaves.nesting.settling import settled
from armature.leaves.nesting.softness import Heap, bodies
from armature.leaves.outline.artist import artist_design
from armature.leaves.outline.forms import drawn_form, form_names
from armature.leaves.outline.outlines import designed
from armature.leaves.outline.svg_place import transform, view
from armature.look import judged
from armature.look.axes import skeleton_of_nodes
from armature.look.measured import read_nodes
from armature.look.proposals import Luck, candidates, tried
from armature.look.survey import drawn, one_grown
from armature.papers.leaves import write_marked_sheet
from armature.pictures.cameras import Camera
from armature.pictures.easel.controls import CONTROLS, HABITS, commission_values, shown_values, usual_spread
from armature.pictures.fine import FineStage
from armature.pictures.scene import staged
from armature.pictures.shade import backdrop, untoned
from armature.pictures.solar import sky_at, sun_direction
from armature.pictures.turntable import cameras
from armature.shop.cutting_plan import packed
from armature.strength import assessed
from tests.as_it_came.figures import figures_of_folder
from tests.leaves.designs import family, square
from tests.look.naturals import natural
from tests.strength.made import commission as windy
from tests.trees import random_tree

SMALL = """title = "Ford alder"
seed = 11
canopy.height = "2.2 m"
growth.limbs = 2
growth.branches = 6
growth.twigs = 18
leaves.count = 20
"""
_LEAF = "M50 5 C90 30 80 70 50 95 C20 70 10 30 50 5 Z"
_SVG = f"""<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="100mm" viewBox="-10 0 120 100">
<style>.vein {{fill: none; stroke: #000}}</style>
<g transform="translate(4 2) rotate(6 50 50) scale(0.9)"><path d="{_LEAF}"/><circle cx="50" cy="22" r="2"/>
<g id="veins" class="vein"><path d="M50 30 L50 34 Q52 40 50 46 T50 60"/><polyline points="50,66 56,74 58,76"/>
<ellipse cx="50" cy="60" rx="6" ry="4"/><rect x="42" y="36" width="16" height="8" rx="2"/></g></g>
</svg>"""
UP = np.array([0.0, 0.0, 1.0])
# Corners of a leaf, and how far each side bulges.
_BLADE = [(0.0, 0.0, 0.2), (30.0, 12.0, -0.1), (52.0, 40.0, 0.3), (20.0, 66.0, 0.0), (-8.0, 40.0, 0.15)]


def given_skeletons(folder: Path) -> object:
    """Return a measured tree as it is taken in, its faults mended, and what is thought of it."""
    nodes = natural(3, "orchard", scan=True)
    table = np.column_stack([np.arange(len(nodes.parents)), nodes.parents, nodes.points / 1e3, nodes.radii / 1e3])
    rows = "\n".join(",".join(f"{each:.7g}" for each in row) for row in table)
    (folder / "tree.csv").write_text(f"id,parent,x,y,z,radius\n{rows}\n", "utf-8")
    (folder / "two.swc").write_text("1 1 0 0 0 .1 -1\n2 1 0 0 1 .2 1\n3 1 1 0 1 0 2\n4 1 3 0 0 .1 -1\n5 1 3 0 1 .1 4\n")
    skeleton = skeleton_of_nodes(read_nodes(folder / "tree.csv"))
    return [skeleton, judged(skeleton), read_nodes(folder / "two.swc")]


def drawn_leaves(folder: Path) -> object:
    """Return leaves as an artist drew them: curves, groups and veins of one drawing program, arcs of another."""
    (folder / "leaf.svg").write_text(_SVG, "utf-8")
    document = new("R2010", units=units.CM)
    document.modelspace().add_lwpolyline([(x / 10, y / 10, bulge) for x, y, bulge in _BLADE], "xyb", close=True)
    document.saveas(folder / "leaf.dxf")
    return [
        artist_design(folder / "leaf.svg", 1, 4.0, 2.0, 1.0),
        artist_design(folder / "leaf.dxf", 2, 3.0, 1.6, 1.0, chord_error=0.2, hole=3.0),
    ]


def crowded_plates(_folder: Path) -> object:
    """Return plates whose leaves lay too close and were pressed apart, what presses them, and fewer kinds of plate."""
    designs, rules = [*family(2), square(50.0, 3)], Rules(web=3.0, margin=5.0, seconds=0.0)
    places = np.array([[80.0, 100.0], [128.0, 108.0], [186.0, 120.0], [60.0, 152.0], [140.0, 165.0]])
    close = Plate(240.0, 200.0, np.array([1, 2, 3, 2, 1]), np.array([0.0, 20.0, 100.0, 250.0, 45.0]), places)
    soft = bodies(designs, close.designs, 3.25, 3.0)
    turns = np.radians(close.turns)
    heap = Heap(close.shifts[:, 0].copy(), close.shifts[:, 1].copy(), np.cos(turns), np.sin(turns))
    full, _ = filled(family(3), np.array([9, 7, 8]), [(220.0, 200.0), (300.0, 200.0)], [], rules)
    kinds = fewest_kinds(full, family(3), np.array([9, 7, 8]), 0, lambda _wanted, _long, _high: full[0])
    return [settled(close, designs, rules), soft, soft.near(heap, 2.0), full, kinds]


def sawn_bars(_folder: Path) -> object:
    """Return plans for bars where quick fillings do not meet the bound."""
    rng = np.random.default_rng(5)
    lists = [np.array([14, 14, 14, 13, 13, 13, 3, 3, 3]), *(rng.integers(20, 60, 16) for _ in range(4))]
    return [packed(each, 30 if number == 0 else 100) for number, each in enumerate(lists)]


def tied_limbs(_folder: Path) -> object:
    """Return what is found of a tree with two limbs tied together and one held by a guy."""
    tie = 'bar = "20 mm"}'
    site = (
        '[site]\nwind_speed = "115 mph"\nexposure = "C"\nties = ['
        f'{{member = "A", at = "1 m", to_member = "B", to_at = "1 m", {tie}, '
        f'{{member = "T", at = "900 mm", to_point = ["2 m", "500 mm", "0 m"], {tie}]\n'
    )
    return assessed(random_tree(12, 4), windy(site))


def habits_and_stems(_folder: Path) -> object:
    """Return a tree of every habit, and of stems, forks and pipes that small commissions lack, as first grown."""
    few = "growth.branches = 4\ngrowth.twigs = 10\n"
    told: dict[str, object] = {habit: grow(read(_with(f'{few}canopy.habit = "{habit}"'))) for habit in HABITS}
    others = {
        "outlined": 'canopy.habit = "outline"\ncanopy.outline = [["700 mm", "200 mm"], ["1.5 m", "700 mm"], '
        '["2.2 m", "100 mm"]]',
        "led": 'growth.stem = "leader"\ngrowth.roots = 4\ngrowth.swelling = 0.4\ngrowth.twig.forks = 3',
        "finer": "growth.branchlets = 9\ngrowth.pipe_exponent = 1.8\nseed = 19",
        "piped": 'steel.trunk = "pipe"\nsteel.limbs = "pipe"\nsteel.pipes = [{outside = "48.3 mm", wall = "5 mm"}, '
        '{outside = "76.1 mm", wall = "6.3 mm"}, {outside = "101.6 mm", wall = "8 mm"}]',
        "kept out": 'canopy.keep_out = [{name = "lamp", min = ["300 mm", "-1 m", "0 m"], max = ["1 m", "1 m", "9 m"]}]',
    }
    return told | {name: grow(read(_with(more))) for name, more in others.items()}


def _with(more: str) -> str:
    """Return the small commission with other lines in place of those that name the same key."""
    names = [line.split(" = ")[0] for line in more.splitlines()]
    return "\n".join([*(line for line in SMALL.splitlines() if line.split(" = ")[0] not in names), more, ""])


def other_sites(_folder: Path) -> object:
    """Return what is found of one tree on sites unlike those of the small commissions."""
    sites = (
        'wind_speed = "130 mph"', 'exposure = "B"', 'corrosivity = "C5"', 'coat = "galvanised"',
        'risk_category = "III"', "climbers = 2", "wind_for_years = true", "years = 80", 'ice = "12 mm"',
        'ice_wind = "30 mph"', 'ground = "paving"',
    ), (
        'wind_speed = "130 mph"', 'exposure = "D"', 'corrosivity = "C1"', 'risk_category = "IV"', "topography = 1.3",
        'damping = "1 %"', 'snow = "2 kPa"', "quake = {short = 1.0, second = 0.4}",
    ), (
        'standard = "EN 1991-1-4"', 'wind_speed = "27 m/s"', 'exposure = "0"', 'corrosivity = "CX"', 'coat = "painted"',
        "renew_every = 12", 'allowance = "1 mm"',
    ), (
        'standard = "EN 1991-1-4"', 'wind_speed = "27 m/s"', 'exposure = "IV"', 'corrosivity = "C2"',
        'foot_depth = "800 mm"', 'frost_depth = "700 mm"', 'concrete = "30 MPa"', "friction = 0.5",
        'soil_bearing = "150 kPa"', 'reach = "2 m"', 'pull = "800 N"', 'ground = "remains"',
        "quake = {short = 0.6, second = 0.3, response = 1.5}",
    )  # fmt: skip
    tree = random_tree(10, 3, leaves_a_twig=2)
    return [assessed(tree, windy("\n".join(["[site]", *lines, ""]))) for lines in sites]


def surveyed_seeds(_folder: Path) -> object:
    """Return what a survey draws for its seeds, and two of its trees."""
    vary = {"growth.twigs": "14 .. 22", "canopy.height": "2.0 .. 2.6 m", "growth.twig.sinuosity": "1.05, 1.2"}
    values = [drawn(vary, seed) for seed in range(6)]
    trees = [one_grown(read(SMALL), str(seed), seed, values[seed]) for seed in (1, 2)]
    return [values, *trees]


def easel_controls(_folder: Path) -> object:
    """Return what the easel's sliders are, show and write."""
    told = []
    for text in (SMALL, 'units = "inch"\n' + SMALL):
        commission = read(text)
        moved: dict[str, object] = {each.key: each.low + 0.37 * (each.high - each.low) for each in CONTROLS}
        values = commission_values(commission, {**moved, "seed": 5, "canopy.habit": "columnar"})
        told.append([shown_values(commission), usual_spread(commission), list(values.values())])
    return [CONTROLS, told]


def fine_light(_folder: Path) -> object:
    """Return a small picture with light found for every pixel, from near a tree in the ground's light."""
    stage = FineStage(staged(grow(read(SMALL)), rays=4, fine=0.4), (40, 50))
    picture = stage.draw(Camera(np.array([900.0, -3800.0, 1500.0]), np.array([0.0, 0.0, 1200.0]), UP, 34.0))
    stage.close()
    return picture


def leaf_forms(_folder: Path) -> object:
    """Return a leaf of every form, drawn, with its veins."""
    forms = [drawn_form(name, 80.0, 7, number) for number, name in enumerate(form_names(), 1)]
    return [designed(form, number, 3.0, 2.0) for number, form in enumerate(forms, 1)]


def placed_drawings(_folder: Path) -> object:
    """Return where an SVG's transforms and view boxes put things."""
    lists = (
        "matrix(1.2 .1 -.3 .9 4 -7)",
        "translate(5) scale(2 3)",
        "rotate(-15) skewX(12)",
        "rotate(30 4 9) skewY(8)",
    )
    fits = ("", "none", "xMinYMin slice", "xMaxYMax meet")
    return [*map(transform, lists), *(view([3.0, -2.0, 40.0, 25.0], 90.0, 130.0, fit) for fit in fits)]


def marked_sheets(folder: Path) -> object:
    """Return the sheet with markers to photograph leaves on, on both papers."""
    told = []
    for name in ("A4", "Letter"):
        write_marked_sheet(folder / f"{name}.pdf", name)
        told.append(list(figures_of_folder(folder).values()))
    return told


def shaping_moves(_folder: Path) -> object:
    """Return which members a shaping hand would try against each finding, and where each move leaves them.

    A finding is tried as it is, and as if its value lay on the other side of the natural range.
    """
    tree = grow(read(SMALL))
    free = np.flatnonzero(tree.ranks >= 2)
    told: dict[str, list[object]] = {}
    for finding in judged(tree).findings:
        for value in (finding.low - 1.0, finding.high + 1.0):
            asked = replace(finding, value=value, rows=free, places=tree.tips[free[-2:]] + 150.0)
            luck = Luck(5, tree, asked.name)
            rows = candidates(tree, asked, free, luck, 2)
            moved = [(row, tried(tree, asked, row, luck, 12.0)) for row in rows.tolist()]
            name = re.sub(r"\d", "x", asked.name)
            told.setdefault(name, []).append(rows)
            told[name] += [[each.tips[row], each.stations[row], each.lengths[row]] for row, each in moved if each]
    return told


def small_scenes(_folder: Path) -> object:
    """Return what stands in the picture of a tree too small for a person beside it, old and low in the sun."""
    sky = sky_at(date(2025, 10, 3), 17.2, 51.0)
    scene = staged(grow(read(SMALL)), age="green", sky=sky, rays=4, fine=0.4, metal="brass")
    return {"sky": sky} | {part.name: part for part in scene.parts} | {"turned": cameras(scene, 90, 5)}


def skies(_folder: Path) -> object:
    """Return the sun and the sky through a year and a day, north and south, and what they make of a sheet of metal."""
    hours = [(date(2025, 1 + 3 * n, 5 + 4 * n), 10.0 + 1.5 * n, 48.0 - 28.0 * n) for n in range(4)]
    found = [sky_at(*each) for each in hours]
    rise = np.linspace(-1.0, 1.0, 9)
    shades = [[backdrop(sky, rise), untoned(sky, np.array([0.2, 0.5, 0.7]))] for sky in found]
    return [found, [sun_direction(*each) for each in hours], shades]


PARTS: dict[str, Callable[[Path], object]] = {
    each.__name__: each
    for each in (
        given_skeletons, drawn_leaves, crowded_plates, sawn_bars, tied_limbs, habits_and_stems, other_sites,
        surveyed_seeds, easel_controls, fine_light, leaf_forms, placed_drawings, marked_sheets,
        shaping_moves, small_scenes, skies,
    )
}  # fmt: skip
