"""A small part of the soak; the whole of it is run by hand."""

from tests.soak.soak import broken, grown, kills


def test_random_commissions_grow_or_are_refused_in_one_line() -> None:
    said = [line for one in grown(2) for line in one]
    assert [line for line in said if line not in ("REFUSED", "TOUCH")] == []


def test_malformed_inputs_of_every_kind_are_read_or_refused_in_one_line() -> None:
    assert [line for one in broken(3) for line in one] == []


def test_a_kill_leaves_the_old_folder_or_the_new() -> None:
    assert [line for one in kills(1, True, ("papers", "strength")) for line in one] == []
