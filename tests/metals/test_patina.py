"""One table of how sheet metals look: every metal that can be cut has an entry, in range, at every age."""

from __future__ import annotations

import re

import pytest

from armature.metals import AGES, mirror, patina, sheet

METALS = ("copper", "brass", "bronze", "steel", "weathering steel", "stainless steel")


@pytest.mark.parametrize("metal", METALS)
@pytest.mark.parametrize("age", AGES)
def test_every_metal_in_the_rack_has_its_look_at_every_age(metal: str, age: str) -> None:
    assert sheet(metal, "1 mm").metal == metal
    found = patina(metal, age)
    assert all(re.fullmatch("[0-9a-f]{6}", tone) for tone in found.tones)
    assert 0.0 < found.roughness <= 1.0
    assert 0.0 <= found.metal <= 1.0
    assert all(0.0 < share < 1.0 for share in mirror(metal))


def test_metals_are_told_apart_when_new() -> None:
    assert len({patina(metal, "new").tones[0] for metal in METALS}) == len(METALS)
