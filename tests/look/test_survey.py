import csv
import io
import os
import signal
import typing
from collections.abc import Callable
from dataclasses import replace
from itertools import combinations, pairwise
from pathlib import Path

import numpy as np
import pytest

from armature.cli import look as cli_look
from armature.commission import Commission, read
from armature.edge import CommissionError
from armature.job.survey_file import RESULTS, add_to_survey, read_survey
from armature.look import surveyed
from armature.look.character import TRAITS, alike, in_words, unlikeness
from armature.look.choosing import WORDS, best_unlike, ordered, tied
from armature.look.survey import Grown, drawn, key_of
from armature.papers.look.survey_sheet import survey_csv, survey_files

SMALL = 'title = "Alder"\nseed = 3\ncanopy.height = "3 m"\ngrowth = {limbs = 3, branches = 9, twigs = 50}'


@pytest.fixture(scope="module")
def commission() -> Commission:
    return read(SMALL)


@pytest.fixture(scope="module")
def twelve(commission: Commission) -> list[Grown]:
    return surveyed(commission, range(12), jobs=1)


def surveyed_into(
    folder: Path,
    commission: Commission,
    seeds: range,
    vary: dict[str, str] | None = None,
    told: Callable[[int, int], None] = lambda _done, _all: None,
) -> list[Grown]:
    """Survey in this process, kept in a folder and going on from what it holds."""
    known = read_survey(folder)
    return surveyed(commission, seeds, vary, known, 1, told=told, kept=lambda grown: add_to_survey(folder, grown))


def test_a_survey_comes_by_seed_and_the_same_again(commission: Commission, twelve: list[Grown]) -> None:
    found = surveyed(commission, range(4), jobs=1)
    assert [g.seed for g in found] == [0, 1, 2, 3]
    assert found == twelve[:4]


def test_an_interrupted_survey_goes_on_from_what_it_has(
    commission: Commission, twelve: list[Grown], tmp_path: Path
) -> None:
    whole = surveyed_into(tmp_path, commission, range(4))
    assert whole == twelve[:4]
    lines = (tmp_path / RESULTS).read_text().splitlines()
    # Two results and a third cut short, as a killed run leaves them.
    (tmp_path / RESULTS).write_text("\n".join(lines[:2]) + "\n" + lines[2][:40] + "\n")
    told: list[tuple[int, int]] = []
    again = surveyed_into(tmp_path, commission, range(4), told=lambda done, of: told.append((done, of)))
    assert again == whole
    assert told[0] == (2, 4)
    assert len(told) == 3


def test_another_commission_is_not_taken_for_the_same(commission: Commission) -> None:
    assert key_of(commission, 1, {}) != key_of(commission, 2, {})
    assert key_of(commission, 1, {}) != key_of(commission, 1, {"growth.twigs": 51})


def test_ranges_and_choices_are_drawn_by_seed_and_kept_to() -> None:
    ways = {"growth.twigs": "40 .. 60", "canopy.height": "2.5 .. 3.5 m", "canopy.habit": "rounded, spreading"}
    found = [drawn(ways, seed) for seed in range(200)]
    assert {row["growth.twigs"] for row in found} == set(range(40, 61))
    heights = [float(row["canopy.height"].split()[0]) for row in found]
    assert 2.5 <= min(heights) < 2.6
    assert 3.4 < max(heights) <= 3.5
    assert all(row["canopy.height"].endswith(" m") for row in found)
    assert {row["canopy.habit"] for row in found} == {"rounded", "spreading"}
    with pytest.raises(CommissionError, match=r"low \.\. high"):
        drawn({"growth.twigs": "few .. many"}, 1)


@pytest.mark.parametrize(
    ("key", "text", "says"),
    [("seed", "7, 8", "seed: is not varied"), ("canopy.height", "30 .. 20 m", "canopy.height: .* low end first")],
)
def test_ways_that_would_be_ignored_or_turned_round_are_refused(key: str, text: str, says: str) -> None:
    with pytest.raises(CommissionError, match=says):
        drawn({key: text}, 1)


def test_a_draw_that_contradicts_the_commission_did_not_fit(commission: Commission, tmp_path: Path) -> None:
    """Nine branches carry nine twigs at least: fewer are told as what they are, and the others are grown."""
    found = surveyed_into(tmp_path, commission, range(8), {"growth.twigs": "2 .. 16"})
    assert [each.seed for each in found] == list(range(8))
    twigs = np.array([each.values["growth.twigs"] for each in found])
    wrong = np.array(["no fewer than branches" in each.failed for each in found])
    assert any(not each.failed for each in found)
    assert wrong.any()
    np.testing.assert_array_equal(wrong, twigs < 9)
    assert len((tmp_path / RESULTS).read_text().splitlines()) == 8 - wrong.sum()


def test_a_choice_that_never_fits_is_refused_before_work(commission: Commission, tmp_path: Path) -> None:
    for text in ("rounded, sprawling", "sprawling"):
        with pytest.raises(CommissionError, match="sprawling"):
            surveyed_into(tmp_path / "out", commission, range(6), {"canopy.habit": text})
    assert not (tmp_path / "out").exists()


def test_a_line_cut_short_swallows_no_other(commission: Commission, tmp_path: Path) -> None:
    surveyed_into(tmp_path, commission, range(2))
    whole = (tmp_path / RESULTS).read_text()
    (tmp_path / RESULTS).write_text(whole[:-40])
    surveyed_into(tmp_path, commission, range(3))
    told: list[tuple[int, int]] = []
    surveyed_into(tmp_path, commission, range(3), told=lambda done, of: told.append((done, of)))
    assert told == [(3, 3)]


def test_a_varied_value_that_breaks_a_rule_is_refused_before_work(commission: Commission) -> None:
    with pytest.raises(CommissionError):
        surveyed(commission, range(3), {"growth.pipe_exponent": "9"}, jobs=1)


def test_the_best_that_differ_leave_out_a_double(twelve: list[Grown]) -> None:
    found = ordered(twelve[:5])
    double = replace(found[0], key="double", seed=99, overall=found[0].overall - 0.1)
    best = best_unlike([*found, double], 6)
    assert best[0] == found[0]
    assert double not in best
    assert len(best) >= 3


def test_the_order_is_by_whole_points_and_then_by_the_middle_of_what_is_natural(twelve: list[Grown]) -> None:
    found = ordered(twelve)
    assert [round(each.overall) for each in found] == sorted((round(each.overall) for each in found), reverse=True)
    ties = [(one, other) for one, other in pairwise(found) if round(one.overall) == round(other.overall)]
    assert ties
    assert all(one.typical >= other.typical for one, other in ties)
    # Where the points tell none apart it does.
    alike = ordered([replace(each, overall=80.0) for each in twelve])
    assert [each.typical for each in alike] == sorted((each.typical for each in twelve), reverse=True)


@pytest.mark.parametrize(
    ("word", "trait", "sign"), [("airy", "openness", -1), ("dense", "openness", 1), ("wide", "spread", -1)]
)
def test_a_word_of_character_orders_what_reads_as_grown(twelve: list[Grown], word: str, trait: str, sign: int) -> None:
    poor = replace(twelve[0], key="poor", overall=40.0)
    found = ordered([poor, *twelve], word)
    values = [sign * getattr(each.character, trait) for each in found if each.overall >= 70.0]
    assert values == sorted(values)
    assert found.index(poor) >= len(values)
    assert best_unlike(twelve, 3, word)[0] == found[0]
    with pytest.raises(CommissionError, match="by: must be one of leaning, centred"):
        ordered(twelve, "pretty")


def test_words_follow_the_thirds_and_are_silent_where_no_eye_can_tell(twelve: list[Grown]) -> None:
    characters = [each.character for each in twelve if each.character is not None]
    said = in_words(characters)
    widest = max(range(12), key=lambda row: characters[row].spread)
    assert "wide" in said[widest] or "spread reached" in alike(characters)
    assert {len(words) for words in said} == {5 - len(alike(characters))}
    assert len(alike([characters[0]] * 3)) == len(TRAITS)
    assert in_words([characters[0]] * 3) == [()] * 3


def test_those_kept_differ_more_than_the_first_in_order(twelve: list[Grown]) -> None:
    def apart(some: list[Grown]) -> float:
        rows = unlikeness([each.character for each in twelve if each.character is not None])
        own = rows[[[other.seed for other in twelve].index(each.seed) for each in some]]
        return float(np.mean([np.abs(one - other).mean() for one, other in combinations(own, 2)]))

    natural = [replace(each, overall=80.0) for each in twelve]
    assert apart(best_unlike(natural, 4)) > apart(ordered(natural)[:4])


def test_a_tie_is_said_and_only_where_all_read_as_grown(twelve: list[Grown]) -> None:
    grown = [each for each in twelve if each.overall >= 70.0][:3]
    assert "choose by eye" in tied(grown)
    assert tied([*grown, replace(grown[0], overall=60.0)]) == ""
    assert tied(grown[:1]) == ""


def test_table_and_sheet_hold_what_was_found(commission: Commission) -> None:
    found = surveyed(commission, range(3), {"growth.twigs": "45, 50"}, jobs=1)
    best = best_unlike(found, 2)
    files = survey_files(commission, found, best)
    rows = list(csv.DictReader(io.StringIO(files["survey.csv"].decode())))
    assert [int(row["kept"]) for row in rows].count(1) == len(best)
    assert {row["growth.twigs"] for row in rows} <= {"45", "50"}
    assert files["survey.csv"].decode() == survey_csv(found, best)
    from PIL import Image

    with Image.open(io.BytesIO(files["sheet.png"])) as picture:
        assert picture.size[0] > 1000
        colours = picture.getcolors(1 << 22)
        assert colours is not None
        assert len(colours) > 50


@pytest.mark.filterwarnings("ignore")
def test_a_killed_worker_of_a_cluster_loses_nothing(commission: Commission, twelve: list[Grown]) -> None:
    distributed = pytest.importorskip("distributed")
    cluster = distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, host="127.0.0.1"
    )
    with cluster:
        killed: list[int] = []

        def kill_one(done: int, of: int) -> None:
            if done == 2 and not killed:
                victim = next(iter(cluster.workers.values())).process.process.pid
                os.kill(victim, signal.SIGKILL)
                killed.append(victim)

        found = surveyed(commission, range(6), scheduler=cluster.scheduler_address, told=kill_one)
    assert killed
    assert found == twelve[:6]


@pytest.mark.parametrize("jobs", [0, -2])
def test_no_process_at_all_is_refused(commission: Commission, jobs: int) -> None:
    with pytest.raises(CommissionError, match="jobs: must be 1 or more"):
        surveyed(commission, range(2), jobs=jobs)


def test_a_scheduler_that_does_not_answer_is_said(commission: Commission, monkeypatch: pytest.MonkeyPatch) -> None:
    import distributed

    def silent(*_args: object, **_more: object) -> None:
        raise OSError("timed out")

    monkeypatch.setattr(distributed, "Client", silent)
    with pytest.raises(CommissionError, match="no dask scheduler answers"):
        surveyed(commission, range(3), scheduler="tcp://127.0.0.1:1")


def test_the_help_names_every_word_to_order_by() -> None:
    words = typing.get_type_hints(cli_look.survey, include_extras=True)["by"].__metadata__[0].help
    assert all(word in words for word in WORDS)
    assert len(WORDS) == 2 * len(TRAITS)
