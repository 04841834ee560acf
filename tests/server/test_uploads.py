"""What a page hands over or asks the house to work at: files, names, numbers, labour without end."""

from __future__ import annotations

import base64
import json
import threading
from pathlib import Path
from typing import Any

import pytest

from armature.edge import ArmatureError, CommissionError
from armature.pictures.easel.server import Easel
from armature.pictures.easel.studio import MOST_WORKS, Studio
from armature.server import Asked, Hands, MalformedError, whole_number
from tests.crew import CREW
from tests.pictures.scenes import SMALL, small
from tests.server.asking import ask, begun, works
from tests.server.labours import hoard, sleep, spin

NAMES = "[leaves]\ncount = 12\nnames = '{}'\n"


@pytest.mark.parametrize("given", ["1_0", "٣", "+1", " 1", "1 ", "", "1.0", "-", "9" * 5000, True, None, 1.0, 1.5, [1]])
def test_only_plain_digits_are_a_whole_number(given: Any) -> None:
    with pytest.raises(MalformedError, match=r"^request: must be a whole number"):
        whole_number(given)


def test_plain_digits_are_a_whole_number() -> None:
    assert [whole_number(given) for given in ("0", "17", "-1", 17)] == [0, 17, -1, 17]


def test_a_giant_number_is_refused_in_the_house_s_words() -> None:
    for digits in (21, 5000, 100_000):
        with pytest.raises(MalformedError) as told:
            Asked("POST", "/", {}, b'{"seed": ' + b"9" * digits + b"}").values()
        assert str(told.value) == "request: holds a number of more than 20 digits"
    assert Asked("POST", "/", {}, b'{"seed": 9223372036854775807}').values() == {"seed": 2**63 - 1}


def test_work_that_takes_too_long_is_ended_and_others_work_on() -> None:
    own = Hands(count=2, seconds=3.0)
    own.work(sleep, 0.0)
    said: list[str] = []

    def overlong() -> None:
        try:
            own.work(spin, 60.0)
        except CommissionError as error:
            said.append(str(error))

    stuck = threading.Thread(target=overlong)
    stuck.start()
    assert own.work(sleep, 0.0) == "woken"
    assert stuck.is_alive()
    stuck.join(120.0)
    assert said == ["this: takes more than 3 s: ask for less"]
    assert own.work(sleep, 0.0) == "woken"
    own.put_away()


def test_work_that_takes_too_much_memory_is_refused_and_the_next_is_done() -> None:
    hands = Hands(count=1, gigabytes=2.0)
    with pytest.raises(ArmatureError, match=r"^this: needs more memory|^this: needs more than"):
        hands.work(hoard, 6.0)
    assert hands.work(hoard, 0.1) == 100_000_000
    hands.put_away()


@pytest.mark.parametrize("where", ["absolute", "up", "link", "names.csv", "", ".", "..", "c:names.csv", "~/names.csv"])
def test_no_file_is_opened_that_only_a_page_has_named(easel: Easel, tmp_path: Path, where: str) -> None:
    """A private list of another user: as the names of a commission that is handed over, in every spelling."""
    secret = tmp_path / "secret.csv"
    secret.write_text("name\nPin 4711\n")
    work = begun(easel)
    own = easel.studio.session(work).handed_over
    name = {"absolute": str(secret), "up": f"../../../{secret.name}", "link": "link.csv"}.get(where, where)
    status, said, _ = ask(easel.server, f"/api/{work}/open", json.dumps({"commission": SMALL + NAMES.format(name)}))
    assert status == 422
    assert b"4711" not in said
    assert len(said) < 300
    handed = {"commission": SMALL + NAMES.format("a.csv"), "files": {name: base64.b64encode(b"name\nIda\n").decode()}}
    if where not in ("link", "names.csv"):
        assert ask(easel.server, f"/api/{work}/open", json.dumps(handed))[0] in (400, 422)
    assert not own.exists() or {path.name for path in own.iterdir()} <= {"link.csv", "names.csv"}
    tree = json.loads(ask(easel.server, f"/api/{work}/state")[1])["tree"]
    told = ask(easel.server, f"/api/{work}/member?tree={tree}&part=leaves&row=0")[1]
    assert b"4711" not in told


def test_a_file_that_the_browser_hands_over_is_read(easel: Easel) -> None:
    work = begun(easel)
    names = base64.b64encode(b"name\nIda Rowan\n").decode()
    asked = json.dumps({"commission": SMALL + NAMES.format("n.csv"), "files": {"n.csv": names}})
    status, said, _ = ask(easel.server, f"/api/{work}/open", asked)
    assert status == 200, said
    tree, rows = json.loads(said)["tree"], range(12)
    told = [ask(easel.server, f"/api/{work}/member?tree={tree}&part=leaves&row={row}")[1] for row in rows]
    assert sum(b"Ida Rowan" in each for each in told) == 1
    back = json.loads(ask(easel.server, f"/api/{work}/undo", "{}")[1])
    assert back["tree"] != tree


@pytest.mark.parametrize(
    "files",
    [
        {"a": 3},
        {"a": "%%"},
        {"a/b": ""},
        {".x": ""},
        {str(k): "" for k in range(41)},
        [1],
        {"CON": ""},
        {"nul.csv": ""},
        {"x.csv ": ""},
        {"x\u202e.csv": ""},
        {"\ud800.csv": ""},
        {"x.": ""},
        {"é" * 110: ""},
    ],
)
def test_files_that_cannot_be_what_they_say_are_refused(easel: Easel, files: Any) -> None:
    asked = json.dumps({"commission": SMALL, "files": files})
    assert ask(easel.server, f"/api/{begun(easel)}/open", asked)[0] == 400


def test_works_begun_without_end_take_the_longest_unasked_ones_place(tmp_path: Path) -> None:
    studio = Studio(small()[0], works(), tmp_path, CREW)
    first, second = studio.new(), studio.new()
    second.moved({"seed": 5}, keep=True)
    for _ in range(MOST_WORKS):
        studio.new()
    assert len(studio.sessions) == MOST_WORKS
    with pytest.raises(CommissionError, match="no such work"):
        studio.session(first.name)
    # What was kept of a work comes back from its file.
    assert second.name not in studio.sessions
    assert studio.session(second.name).at == 1
    assert len(studio.sessions) == MOST_WORKS


def test_a_small_upload_that_asks_for_a_forest_is_refused_in_a_line(easel: Easel) -> None:
    work = begun(easel)
    for text in (SMALL.replace("twigs = 40", "twigs = 900000"), SMALL + "[leaves]\ncount = 5000000\n"):
        status, said, _ = ask(easel.server, f"/api/{work}/open", json.dumps({"commission": text}))
        assert status == 422
        assert b"the easel shows at most" in said
