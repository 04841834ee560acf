"""A seat for every twig forged by feel."""

from __future__ import annotations

from itertools import permutations
from pathlib import Path

import numpy as np
import pytest

from armature.answer import free_seats, seat_costs
from armature.cli.app import run
from armature.commission import Anvil
from armature.files import design_json
from armature.grow import grow, meetings_of
from armature.job import plan_of, seating_of, steel_of
from armature.made import Felt, felt_bars
from armature.tree import TWIG, Tree, joints
from tests.grow.commissions import commission
from tests.made.bars import offset_rows
from tests.papers.printed import texts

ASKED = commission("rounded", limbs=3, branches=8, twigs=30)


@pytest.fixture(scope="module")
def plan() -> Tree:
    return grow(ASKED)


def table_of(tree: Tree, rows: list[int], names: list[str]) -> str:
    tags = [""] * len(tree)
    for row, name in zip(rows, names, strict=True):
        tags[row] = name
    return offset_rows(tags, tree.chains, rows, 0.5, 10)


@pytest.fixture(scope="module")
def job(plan: Tree, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A job, and in `twigs.csv` beside it twigs of another tree under the numbers of chips: forged by feel."""
    folder = tmp_path_factory.mktemp("seats") / "job"
    folder.mkdir()
    (folder / "design.json").write_text(design_json(plan, ASKED), encoding="utf-8")
    other = grow(commission("rounded", seed=9, limbs=3, branches=8, twigs=30))
    rows = other.of_rank(TWIG)[::2].tolist()
    names = [f"N{number}" for number in range(1, len(rows) + 1)]
    (folder.parent / "twigs.csv").write_text(table_of(other, rows, names), encoding="utf-8")
    return folder


def test_the_cheapest_seats_are_those_that_trying_all_orders_finds(plan: Tree, tmp_path: Path) -> None:
    from scipy.optimize import linear_sum_assignment

    rows = plan.of_rank(TWIG)[[3, 8, 12, 17, 21, 26]].tolist()
    (tmp_path / "t.csv").write_text(table_of(plan, rows, list("FEDCBA")), encoding="utf-8")
    felt = felt_bars(tmp_path / "t.csv", Anvil())
    costs = seat_costs(plan, np.array(rows[::-1]), felt)
    bars, seats = linear_sum_assignment(costs)
    brute = min(permutations(range(6)), key=lambda order: sum(costs[n, seat] for n, seat in enumerate(order)))
    assert seats.tolist() == list(brute)
    # Each of these twigs was forged for one of the seats: that is where it goes.
    assert [rows[::-1][seat] for seat in seats.tolist()] == rows
    assert costs[bars, seats].max() < 12.0


def test_a_bar_s_cost_does_not_depend_on_how_it_was_rolled_when_it_was_read(plan: Tree, tmp_path: Path) -> None:
    rows = plan.of_rank(TWIG)[:4].tolist()
    (tmp_path / "t.csv").write_text(table_of(plan, rows, list("ABCD")), encoding="utf-8")
    felt = felt_bars(tmp_path / "t.csv", Anvil())
    cosine, sine = np.cos(2.0), np.sin(2.0)
    roll = np.array([[1.0, 0.0, 0.0], [0.0, cosine, -sine], [0.0, sine, cosine]])
    turned = tuple(type(each)(each.offsets, each.vertices @ roll.T, each.radii) for each in felt.chains)
    seats = free_seats(plan, np.zeros(len(plan), dtype=bool))
    one, two = seat_costs(plan, seats, felt), seat_costs(plan, seats, Felt(felt.names, felt.read, turned, felt.thick))
    np.testing.assert_allclose(one, two, atol=1e-6)


def test_twigs_forged_by_feel_get_seats_clear_of_all_and_the_tree_is_then_theirs(plan: Tree, job: Path) -> None:
    tree, asked = plan_of(job)
    felt, seating = seating_of(tree, asked, job, job.parent / "twigs.csv")
    assert sorted(seating.bars.tolist()) == list(range(len(felt.names)))
    assert len(set(seating.seats.tolist())) == len(felt.names)
    seated = seating.answer.tree
    assert meetings_of(seated, asked.growth.clearance) == []
    leans = joints(seated).leans[seating.seats]
    assert leans.min() >= 20.0 - 1e-6
    for bar, row in zip(seating.bars.tolist(), seating.seats.tolist(), strict=True):
        assert float(seated.lengths[row]) == pytest.approx(float(felt.chains[bar].lengths[0]), abs=0.5)
    assert len(seated) == len(plan)


def test_the_command_keeps_seats_as_measures_and_says_what_is_still_to_forge(
    job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = job.parent / "seats.pdf"
    assert run(["seat", str(job), str(job.parent / "twigs.csv"), "--out", str(sheet)]) == 0
    said = capsys.readouterr().out
    assert "- N1 is " in said
    assert "still to forge: 15: " in said
    assert "Seats of twigs" in texts(sheet.read_bytes())[0]
    assert (job / "measured" / "twigs.csv").is_file()
    tree, asked = plan_of(job)
    assert int(steel_of(tree, asked, job).measured.sum()) == 15
    # Those are seated now: as many again find the other seats.
    assert run(["seat", str(job), str(job.parent / "twigs.csv")]) == 0
    assert "every twig has its seat" in capsys.readouterr().out
    assert run(["seat", str(job), str(job.parent / "twigs.csv")]) == 2
    assert "there is no seat" in capsys.readouterr().err
