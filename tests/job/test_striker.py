"""A second process does what it is asked, tells what goes wrong, and its loss costs nothing but time."""

import os
import signal
from pathlib import Path

import pytest

from armature.edge import CommissionError, FileError
from armature.job import Striker
from armature.job.striker import cores

pytestmark = pytest.mark.skipif(cores() < 2, reason="one core has no room for a second process")


def who() -> int:
    return os.getpid()


def refused(place: str) -> None:
    if place == "file":
        raise FileError(place, "is not there")
    raise CommissionError(place, "must be more", 3)


def ended() -> int:
    # Only a process of its own is ended: the one that is asked for the result answers.
    if os.environ.get("SMITH") != str(os.getpid()):
        os.kill(os.getpid(), signal.SIGTERM if os.name == "nt" else signal.SIGKILL)
    return os.getpid()


def test_work_is_done_in_another_process_and_what_goes_wrong_is_told_here() -> None:
    with Striker() as striker:
        number = striker.asked(who)
        faults = [striker.asked(refused, place) for place in ("canopy.height", "file")]
        assert number.result() != os.getpid()
        with pytest.raises(CommissionError, match=r"canopy\.height: must be more \(got 3\)") as told:
            faults[0].result()
        assert told.value.where == "canopy.height"
        with pytest.raises(FileError, match="file: is not there"):
            faults[1].result()


def test_work_is_done_here_where_no_second_process_is_wanted_or_it_is_lost(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SMITH", str(os.getpid()))
    with Striker(wanted=False) as alone:
        assert alone.asked(who).result() == os.getpid()
    with Striker() as striker:
        lost, after = striker.asked(ended), striker.asked(who)
        assert lost.result() == os.getpid()
        assert after.result() == os.getpid()


def told(number: int, other: int) -> tuple[int, int, int]:
    return number, other, os.getpid()


def test_a_piece_that_is_handed_on_stands_for_what_it_came_to_wherever_it_was_done(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("SMITH", str(os.getpid()))
    with Striker() as striker:
        first = striker.asked(who)
        other = first.result()
        handed_on = striker.asked(told, first, 7)
        while not (handed_on._future is None or handed_on._future.running() or handed_on._future.done()):
            pass
        assert handed_on.result() == (other, 7, other)
        assert other != os.getpid()
    with Striker() as striker:
        lost = striker.asked(ended)
        assert striker.asked(told, lost, 7).result() == (os.getpid(), 7, os.getpid())
    with Striker(wanted=False) as alone:
        assert alone.asked(told, alone.asked(who), 7).result() == (os.getpid(), 7, os.getpid())


def test_what_went_wrong_with_a_piece_is_told_by_those_made_from_it() -> None:
    with Striker() as striker:
        wrong = striker.asked(refused, "canopy.height")
        with pytest.raises(CommissionError, match=r"canopy\.height: must be more"):
            striker.asked(told, wrong, 7).result()


def slow(file: Path) -> None:
    file.with_suffix(".begun").touch()
    signal.pause()


def test_a_second_process_ends_with_the_block_whatever_it_is_doing(tmp_path: Path) -> None:
    with Striker() as striker:
        striker.asked(slow, tmp_path / "file")
        number = striker._process
        while not (tmp_path / "file.begun").exists():
            number = striker._process
    assert number is not None
    assert number.poll() is not None
