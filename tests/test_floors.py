"""The house has floors: a module imports from floors below its own or from its own package, never round in a circle."""

import ast
import re
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path

import networkx as nx
import pytest

import armature

PACKAGE = Path(armature.__file__).parent

# Lowest first. Names on one line share a floor and do not import each other.
FLOORS = (
    ("edge", "progress", "seeds", "habits", "typefaces"),
    ("marks", "metals", "tree"),
    ("commission",),
    ("made",),
    ("grow",),
    ("answer",),
    ("look", "leaves", "strength", "shop"),
    ("files",),
    ("papers",),
    ("job", "server"),
    ("pictures",),
    ("make", "fit", "overlay"),
    ("front",),
    ("cli",),
    ("__main__",),
)
LEVEL = {name: level for level, names in enumerate(FLOORS) for name in names}
# What any floor may ask of the front door: facts about the package, not its contents.
FACTS = {"__version__", "__file__"}

Sources = Mapping[str, str]


def sources() -> dict[str, str]:
    """Return the text of every module by its dotted name; a package goes by its own name."""
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = ("armature", *path.relative_to(PACKAGE).with_suffix("").parts)
        name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
        found[name] = path.read_text(encoding="utf-8")
    return found


@cache
def statements(text: str) -> list[ast.Import | ast.ImportFrom]:
    """Return every import in a text, wherever it stands; a text is parsed once for all tests."""
    return [node for node in ast.walk(ast.parse(text)) if isinstance(node, ast.Import | ast.ImportFrom)]


def imports(module: str, text: str, known: set[str]) -> Iterator[str]:
    """Yield the modules of the house that a module imports, anywhere in its text; types alone count too."""
    for node in statements(text):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names if alias.name in known and alias.name != "armature")
        else:
            assert node.level == 0, f"{module}: a relative import hides the floor it comes from"
            for alias in node.names:
                whole = f"{node.module}.{alias.name}"
                target = whole if whole in known else node.module
                if target in known and not (target == "armature" and alias.name in FACTS):
                    yield str(target)


def floor_faults(texts: Sources) -> list[str]:
    faults = []
    for module, text in texts.items():
        own = module.split(".")[1] if "." in module else None
        if own is None:
            continue  # the front door stands above the roof
        if own not in LEVEL:
            faults.append(f"{module} has no floor: give it one in FLOORS")
            continue
        for target in imports(module, text, set(texts)):
            other = target.split(".")[1] if "." in target else "the front door"
            if other == own:
                continue
            if other not in LEVEL or LEVEL[other] > LEVEL[own]:
                faults.append(f"{module} imports upward from {target}")
            elif LEVEL[other] == LEVEL[own]:
                faults.append(f"{module} imports sideways from {target}")
    return faults


def circles(texts: Sources) -> list[list[str]]:
    graph: nx.DiGraph[str] = nx.DiGraph()
    for module, text in texts.items():
        graph.add_edges_from((module, target) for target in imports(module, text, set(texts)))
    return [sorted(group) for group in nx.strongly_connected_components(graph) if len(group) > 1]


def rooms(texts: Sources) -> set[str]:
    """Return the packages below the front door: a module whose name others begin with."""
    return {name for name in texts if any(other.startswith(f"{name}.") for other in texts)} - {"armature"}


def room_of(module: str, packages: set[str]) -> str | None:
    """Return the innermost package that a module stands in, itself if it is one."""
    while module not in packages:
        if "." not in module:
            return None
        module = module.rsplit(".", 1)[0]
    return module


def passed_doors(texts: Sources) -> list[str]:
    """Return every import that reaches into a package past its door."""
    packages = rooms(texts)
    faults = []
    for module, text in texts.items():
        for node in statements(text):
            if not isinstance(node, ast.ImportFrom) or node.module not in texts:
                continue
            into = room_of(str(node.module), packages)
            inside = into is not None and (module == into or module.startswith(f"{into}."))
            if into is not None and node.module != into and not inside:
                faults.append(f"{module} goes past the door of {into}, into {node.module}")
    return faults


def unlisted(texts: Sources) -> list[str]:
    """Return every name taken through a package's door that its `__all__` does not list."""
    packages = rooms(texts)
    listed = {name: set(doors(texts[name])) for name in packages}
    faults = []
    for module, text in texts.items():
        for node in statements(text):
            if (
                isinstance(node, ast.ImportFrom)
                and node.module in packages
                and room_of(module, packages) != node.module
            ):
                names = {alias.name for alias in node.names} - listed[str(node.module)]
                faults += [f"{module} takes {name}, which {node.module} does not list" for name in sorted(names)]
    return faults


def missing(texts: Sources, known: set[str]) -> list[str]:
    """Return every import from a module of the house that is not there; `known` holds the names of all that are."""
    faults = []
    for module, text in texts.items():
        for node in statements(text):
            wanted = [str(node.module)] if isinstance(node, ast.ImportFrom) else [alias.name for alias in node.names]
            faults += [
                f"{module} imports {name}, which is not there"
                for name in wanted
                if name.split(".")[0] == "armature" and name not in known
            ]
    return faults


def doors(text: str) -> list[str]:
    """Return the names in a package's `__all__`."""
    for node in ast.parse(text).body:
        if isinstance(node, ast.Assign) and any(isinstance(to, ast.Name) and to.id == "__all__" for to in node.targets):
            return list(ast.literal_eval(node.value))
    return []


def test_no_module_imports_from_a_floor_above_or_beside_its_own() -> None:
    assert floor_faults(sources()) == []


def test_the_developers_map_lists_the_floors_in_their_order() -> None:
    text = (PACKAGE.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = [line.split("|")[1] for line in text.splitlines() if line.startswith("| `")]
    listed = [name for row in rows for name in re.findall(r"`(\w+?)(?:/|\.py)`", row) if name != "data"]
    assert {"server", "pictures", "cli", "edge"} <= set(listed)
    levels = [LEVEL[name] for name in listed]
    assert levels == sorted(levels)


def test_no_imports_run_in_a_circle() -> None:
    assert circles(sources()) == []


def test_no_import_goes_past_a_package_s_door() -> None:
    assert "armature.commission" in rooms(sources())
    assert passed_doors(sources()) == []


def test_what_is_taken_through_a_door_is_listed_there() -> None:
    assert unlisted(sources()) == []


def test_whatever_is_imported_is_there() -> None:
    """An import within a function fails only when it runs, and a test's only when that test does."""
    tests = {path.as_posix(): path.read_text(encoding="utf-8") for path in sorted(Path(__file__).parent.rglob("*.py"))}
    assert missing(sources() | tests, set(sources())) == []
    moved = {"armature.look": "def f():\n    from armature.attic import box"}
    assert missing(moved, set(moved)) == ["armature.look imports armature.attic, which is not there"]


@pytest.mark.parametrize(
    ("module", "text", "says"),
    [
        ("armature.seeds", "from armature.tree import Tree", "imports upward from armature.tree"),
        ("armature.seeds", "def f():\n    import armature.tree", "imports upward from armature.tree"),
        ("armature.look.gaps", "from armature.shop import bars", "imports sideways from armature.shop"),
        ("armature.edge", "from armature.seeds import keys", "imports sideways from armature.seeds"),
        ("armature.seeds", "from armature import load", "imports upward from armature"),
        ("armature.attic", "", "has no floor"),
    ],
)
def test_a_wrong_import_is_found(module: str, text: str, says: str) -> None:
    house = dict.fromkeys(("armature", "armature.tree", "armature.seeds", "armature.shop", "armature.edge"), "")
    faults = floor_faults(house | {module: text})
    assert len(faults) == 1
    assert says in faults[0]


def test_right_imports_pass() -> None:
    house = {
        "armature": "from armature.cli import main",
        "armature.edge": "",
        "armature.cli": "from armature import __version__\nfrom armature.edge import ArmatureError",
        "armature.look": "from armature.look.gaps import sky",
        "armature.look.gaps": "import numpy as np\nfrom armature.edge import ArmatureError",
    }
    assert floor_faults(house) == []
    assert circles(house) == []


def test_a_circle_is_found() -> None:
    house = {
        "armature.look": "from armature.look.gaps import sky",
        "armature.look.gaps": "def f():\n    from armature.look import other",
    }
    assert circles(house) == [["armature.look", "armature.look.gaps"]]


def test_an_import_past_a_door_is_found() -> None:
    house = {
        "armature.look": "from armature.look.gaps import sky\n__all__ = ['sky']",
        "armature.look.gaps": "from armature.look.side_pictures import side",
        "armature.look.side_pictures": "",
        "armature.make": "from armature.look.gaps import sky",
    }
    assert passed_doors(house) == ["armature.make goes past the door of armature.look, into armature.look.gaps"]
    assert unlisted(house | {"armature.make": "from armature.look import sky, hole"}) == [
        "armature.make takes hole, which armature.look does not list"
    ]
