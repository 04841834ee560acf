"""How much the easel shows, keeps and does at once: each bound with a case on either side."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from armature.commission import Commission
from armature.edge import CommissionError
from armature.look import judged
from armature.pictures.easel import Works
from armature.pictures.easel.session import Session
from armature.pictures.easel.studio import Studio
from armature.tree import Tree
from tests.crew import CREW
from tests.pictures.scenes import SMALL, small


def _grown(_commission: Commission) -> Tree:
    """What a commission grows to is of no matter here."""
    return small()[1]


def _nothing(*_given: Any) -> Any:
    return []


@pytest.fixture
def session(tmp_path: Path) -> Session:
    return Studio(small()[0], Works(_grown, judged, _nothing, _nothing, _nothing), tmp_path, CREW).new()


def text(twigs: int, leaves: int = 0, branchlets: int = 0) -> str:
    counts = f"growth = {{limbs = 3, branches = 7, branchlets = {branchlets}, twigs = {twigs}}}"
    return f'title = "Bound"\ncanopy = {{height = "9 m"}}\n{counts}\nleaves = {{count = {leaves}}}\n'


@pytest.mark.parametrize(("fits", "over"), [
    (text(19_990), text(19_991)),
    (text(19_890, branchlets=100), text(19_891, branchlets=100)),
    (text(50, leaves=60_000), text(50, leaves=60_001)),
])  # fmt: skip
def test_twenty_thousand_members_and_sixty_thousand_leaves_are_the_most(session: Session, fits: str, over: str) -> None:
    session.opened(fits, {})
    with pytest.raises(CommissionError, match="the easel shows at most"):
        session.opened(over, {})


def test_the_shelf_holds_twenty_four_trees(session: Session) -> None:
    for _ in range(24):
        session.aside[len(session.aside) + 100] = session.present()
    with pytest.raises(CommissionError, match="holds 24 trees"):
        session.set_aside()
    session.aside.popitem()
    assert session.set_aside() is session.present()


def test_a_page_asks_for_eight_things_at_once(session: Session) -> None:
    held = [session.turn() for _ in range(9)]
    for each in held[:8]:
        each.__enter__()
    with pytest.raises(CommissionError, match="more than 8 things at once"), held[8]:
        pass
    for each in held[:8]:
        each.__exit__(None, None, None)
    with session.turn():
        pass


def test_the_last_four_trees_may_still_be_asked_about(session: Session) -> None:
    shown = [session.opened(SMALL.replace("seed = 7", f"seed = {seed}"), {}).number for seed in range(20, 26)]
    assert sorted(session.recent) == shown[-4:]
    with pytest.raises(CommissionError, match="no such tree"):
        session.on_shelf(shown[-5])


def test_one_step_back_and_one_forward_and_none_beyond(session: Session) -> None:
    session.opened(SMALL.replace("seed = 7", "seed = 20"), {})
    assert session.stepped(-1).commission.seed == 7
    assert session.stepped(1).commission.seed == 20
    with pytest.raises(CommissionError, match="there is no further step"):
        session.stepped(1)
    session.stepped(-1)
    with pytest.raises(CommissionError, match="there is no further step"):
        session.stepped(-1)
