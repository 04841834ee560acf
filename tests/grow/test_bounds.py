"""What no crown can hold is refused before one is grown."""

from importlib import import_module

import pytest

from armature.commission import read
from armature.edge import GrowthError
from armature.grow import grow

HEAD = 'title = "x"\ncanopy = {height = "1 m", spread = ["0.5 m", "0.5 m"]}\nunits = "mm"\n'
# A box of 0.57 x 0.57 x 1.14 m, and bars from 6 mm on: tips of 3 mm.
CASES = {
    # A ball of 103 mm has 572,151 mm3; (570 + 103)^2 x (1140 + 103) mm3 hold 984 of them.
    "growth.twigs: a crown of this size holds at most 984 tips 103 mm apart, 2000 asked": (
        'growth = {limbs = 3, branches = 9, twigs = 2000, clearance = "100 mm"}\nsteel.bars = ["6 mm", "60 mm"]\n'
    ),
    # 2 x 0.65 x sqrt(570^2 + 570^2 + 1140^2) / 20 = 90.8 leaves on each of 30 twigs.
    "leaves.count: 30 twigs in a crown of this size hold at most 2730 leaves 20 mm apart, 9000 asked": (
        'growth = {limbs = 3, branches = 9, twigs = 30}\nleaves = {count = 9000, spacing = "20 mm"}\n'
        'steel.bars = ["6 mm", "60 mm"]\n'
    ),
    # 6 mm x 900^(1/1.5) = 559 mm.
    "the trunk that carries 900 twigs is 559 mm thick": (
        'growth = {limbs = 3, branches = 9, twigs = 900, pipe_exponent = 1.5, clearance = "1 mm"}\n'
        'steel.bars = ["6 mm", "600 mm"]\n'
    ),
}


@pytest.mark.parametrize("rule", CASES)
def test_what_no_crown_can_hold_is_refused_before_growing(rule: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(import_module("armature.grow.growing"), "_grown", lambda *_: pytest.fail("was grown"))
    with pytest.raises(GrowthError) as told:
        grow(read(HEAD + CASES[rule]))
    assert rule in str(told.value)
    assert len(str(told.value)) < 300
