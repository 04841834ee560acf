import tomllib
from typing import Any

from armature.commission.lines import Key, key_lines, line_of
from tests.commission.commissions import FULL

TEXT = """\
# a comment = 1
title = "a = b [c]"

[canopy]
outline = [
  ["1 m", "2 m"],   # not = a key
  ["2 m", "3 m"],
]
height = "3 m"
'quoted key' = 1
about = '''
height = "not this"
[nor.this]
'''
[growth . twig]
sinuosity = 1.1
limb.bends = 3
[[canopy.keep_out]]
name = "a"
[[canopy.keep_out]]
name = "b"
"""


def test_every_key_is_found_on_its_line() -> None:
    lines = key_lines(TEXT)
    assert lines[("title",)] == 2
    assert lines[("canopy",)] == 4
    assert lines[("canopy", "outline")] == 5
    assert lines[("canopy", "height")] == 9
    assert lines[("canopy", "quoted key")] == 10
    assert lines[("growth", "twig", "sinuosity")] == 16
    assert lines[("growth", "twig", "limb", "bends")] == 17
    assert lines[("canopy", "keep_out", "0", "name")] == 19
    assert lines[("canopy", "keep_out", "1", "name")] == 21
    assert not any("nor" in key or "a comment" in key for key in lines)


def test_a_place_inside_a_value_is_on_the_line_of_its_key() -> None:
    lines = key_lines(TEXT)
    assert line_of(("canopy", "outline", "1", "0"), lines) == 5
    assert line_of(("canopy", "missing"), lines) == 4
    assert line_of(("shop", "kerf"), lines) is None


def test_every_key_that_the_toml_reader_sees_has_a_line_with_its_name() -> None:
    lines = key_lines(FULL)
    text = FULL.splitlines()
    keys = list(_leaves(tomllib.loads(FULL), ()))
    assert len(keys) > 20
    for key in keys:
        assert key[-1] in text[lines[key] - 1]


def _leaves(table: dict[str, Any], path: Key) -> list[Key]:
    found: list[Key] = []
    for name, value in table.items():
        found += _leaves(value, (*path, name)) if isinstance(value, dict) else [(*path, name)]
    return found
