"""Names as a promise: wishes, the record of what happens to names, what was signed and what has changed since."""

import numpy as np
import pytest

from armature.edge import CommissionError
from armature.leaves.naming.assigning import PLAIN, Places, assign_names
from armature.leaves.naming.batches import dealt_batches, stations
from armature.leaves.naming.letters import Setting
from armature.leaves.naming.names import NameList
from armature.leaves.naming.record import Event, checked_name, recorded, struck_leaves, to_strike
from armature.leaves.naming.signing import Signed, changes_since
from armature.leaves.naming.stamp_areas import Panel
from armature.leaves.naming.stamping import Stamping
from armature.leaves.naming.wishes import Wish, companies, likings, met, read_wish

HEIGHTS = np.array([2.38, 3.175])


def listed(*texts: str) -> NameList:
    return NameList(texts, ("",) * len(texts), tuple(range(1, len(texts) + 1)), "utf-8", ",", ())


def round_tree(count: int = 16) -> Places:
    """Leaves around a ring at 1 to 4 m, each design the same, each a branch of its own."""
    turn = 2 * np.pi * np.arange(count) / count
    points = np.stack([1000 * np.sin(turn), 1000 * np.cos(turn), np.linspace(1000, 4000, count)], axis=1)
    tags = np.array([f"A{k:02d}-1-1" for k in range(count)])
    zeros = np.zeros(count, dtype=np.int64)
    return Places(tags, zeros, np.arange(count), points, np.full(count, 1.0), zeros + PLAIN)


@pytest.mark.parametrize(("side", "axis", "sign"), [(0, 1, 1), (2, 0, 1), (4, 1, -1), (6, 0, -1)])
def test_a_wish_for_a_side_is_met(side: int, axis: int, sign: int) -> None:
    here = round_tree()
    wish = Wish(side=side)
    liked = likings([wish], here.points, np.ones(16), 2400.0)
    row = int(assign_names(["ADA"], [""], here, np.array([[60.0, 20.0]]), HEIGHTS, 3, None, liked).leaves[0])
    assert here.points[row, axis] * sign > 900
    assert met(wish, here.points[row], here.points.mean(axis=0), 2400.0) == ()


def test_a_low_wish_takes_a_leaf_within_reach_and_others_stay_where_they_would() -> None:
    here = round_tree()
    liked = likings([Wish(), Wish(low=True)], here.points, np.ones(16), 1500.0)
    found = assign_names(["ADA", "EVE"], ["", ""], here, np.array([[60.0, 20.0]]), HEIGHTS, 3, None, liked)
    assert here.points[found.leaves[1], 2] <= 1500.0


def test_those_who_wish_for_company_become_one_family() -> None:
    wishes = [read_wish(w) for w in ("", "beside ada rao", "", "beside Ben Li")]
    assert companies(["Ada Rao", "Ben Li", "Cy", "Dee"], ["", "", "", ""], wishes) == ("+0", "+0", "", "+0")


def test_company_joins_families() -> None:
    wishes = [Wish(), Wish(), Wish(beside="Ada")]
    assert len(set(companies(["Ada", "Eve", "Cy"], ["Rao", "Rao", "Li"], wishes))) == 1


def test_late_withdrawn_and_respelled_names_change_the_list_and_nothing_else() -> None:
    events = [
        Event("late", "A01-1-1", "Dee"), Event("withdrawn", "A01-1-2", "Ben"),
        Event("respelled", "A01-1-3", "Cyd", was="Cy"),
        Event("struck", "A01-1-3", "Cyd"), Event("moved", "A01-1-4", "Ada", was="A01-1-5"),
    ]  # fmt: skip
    found = recorded(listed("Ada", "Ben", "Cy"), events)
    assert found is not None
    assert found.texts == ("Ada", "Cyd", "Dee")


def test_of_two_with_one_name_one_is_withdrawn() -> None:
    found = recorded(listed("Ada", "Ben", "Ada"), [Event("withdrawn", "A01-1-1", "Ada")])
    assert found is not None
    assert found.texts == ("Ada", "Ben")


def test_a_name_cannot_be_withdrawn_twice() -> None:
    twice = [Event("withdrawn", "A01-1-1", "Ben")] * 2
    with pytest.raises(CommissionError, match="not on the list"):
        recorded(listed("Ada", "Ben"), twice)


def test_only_what_changed_is_struck_again() -> None:
    events = [
        Event("struck", "A", "Ada"), Event("struck", "B", "Ben"), Event("mistake", "A", "Ada", was="1 best"),
        Event("late", "C", "Cy"), Event("late", "D", "Dee"), Event("struck", "D", "Dee"), Event("withdrawn", "C", "Cy"),
    ]  # fmt: skip
    assert to_strike(events) == ["A"]
    assert struck_leaves(events) == {"B": "Ben", "D": "Dee"}


def test_nothing_is_said_to_have_changed_where_nobody_has_signed() -> None:
    assert changes_since((), [("A", "Ada", ("ADA",))]) == []


def test_every_kind_of_change_since_signing_is_told() -> None:
    signed = tuple(Signed(leaf, name, (name.upper(),), "Office", "") for leaf, name in
                   (("A", "Ada"), ("B", "Ben"), ("C", "Cy"), ("D", "Dee")))  # fmt: skip
    now = [("A", "Ada", ("ADA",)), ("B", "Benn", ("BENN",)), ("E", "Cy", ("CY",)), ("F", "Flo", ("FLO",))]
    told = {(c.what, c.name) for c in changes_since(signed, now)}
    assert told == {("respelled", "Benn"), ("moved", "Cy"), ("unsigned", "Flo"), ("gone", "Dee")}


@pytest.mark.parametrize("text", ["", "  ", "A\x07da", "A\u202eda"])
def test_names_of_commands_are_checked_as_those_of_lists(text: str) -> None:
    with pytest.raises(CommissionError, match="without control characters"):
        checked_name(text, "name")


def test_batches_are_dealt_evenly_and_every_leaf_once() -> None:
    panel = Panel(0, 0, 60, 20, 0)
    settings = [Stamping(Setting(2.38 if k % 3 else 3.175, ("ADA LOVE",), "stamp"), panel) for k in range(100)]
    dealt = dealt_batches(settings, [f"A01-{k}-1" for k in range(100)], 3)
    assert sorted(row for batch in dealt for row in batch.rows) == list(range(100))
    hours = [sum(b.hours for b in dealt if b.person == p) for p in (1, 2, 3)]
    assert max(hours) - min(hours) <= max(b.hours for b in dealt)
    # By hand: 7 letters at 0.25 min and 2 min a leaf make 3.75 min, 100 of them 6.25 h.
    assert sum(hours) == pytest.approx(6.25)


def test_every_station_says_skill_tools_and_to_whom() -> None:
    assert all(s.skill and s.tools and s.hand_over for s in stations())
