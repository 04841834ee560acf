from pathlib import Path

import pytest

from armature.edge import CommissionError, FileError
from armature.leaves.naming.names import name_notes, read_names


def written(folder: Path, data: bytes) -> Path:
    file = folder / "names.csv"
    file.write_bytes(data)
    return file


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252", "latin-1"])
@pytest.mark.parametrize("sign", [",", ";", "\t"])
def test_every_usual_encoding_and_delimiter_gives_the_same_names(tmp_path: Path, encoding: str, sign: str) -> None:
    text = f"name{sign}family\r\nZoë Müller{sign}Müller\r\nÅse Berg{sign}Berg\r\n"
    found = read_names(written(tmp_path, text.encode(encoding)))
    assert found.texts == ("Zoë Müller", "Åse Berg")
    assert found.families == ("Müller", "Berg")


def test_one_column_keeps_commas_in_names(tmp_path: Path) -> None:
    assert read_names(written(tmp_path, b'name\nOkafor, Ada\n"Rao, Deepa"\n')).texts == ("Okafor, Ada", "Rao, Deepa")


def test_names_are_data_and_stay_as_typed(tmp_path: Path) -> None:
    typed = ("<b>x</b>", "=1+1", "@home", "明 王", "محمد علي", "O'Brien & Søn")
    assert read_names(written(tmp_path, "\n".join(typed).encode())).texts == typed


@pytest.mark.parametrize("bad", ["A\x07da", "A\x00da", "Ada\u202eevE", "A\x1bda"])
def test_control_characters_are_refused_with_their_row(tmp_path: Path, bad: str) -> None:
    with pytest.raises(CommissionError, match="row 2") as caught:
        read_names(written(tmp_path, f"Eve\n{bad}\n".encode()))
    assert "\n" not in str(caught.value)


def test_more_names_than_leaves_are_refused_with_both_counts(tmp_path: Path) -> None:
    file = written(tmp_path, "\n".join(f"Ada {k}" for k in range(100_000)).encode())
    with pytest.raises(CommissionError, match="100000 names for 1260 leaves: 98740 would have none"):
        read_names(file, most=1260)


def test_missing_file_is_told(tmp_path: Path) -> None:
    with pytest.raises(FileError):
        read_names(tmp_path / "none.csv")


def test_duplicates_and_near_duplicates_are_told_and_nobody_is_lost(tmp_path: Path) -> None:
    typed = ["Ada Lind", "ada  lind", "Zoe Moreau", "Zoë Moreau", "Jon Haddad", "John Haddad", "Rao Deepa", "Deepa Rao"]
    notes = name_notes(typed, range(1, 9))
    assert [(n.kind, n.rows) for n in notes] == [
        ("duplicate", (1, 2)),
        ("near-duplicate", (3, 4)),
        ("near-duplicate", (5, 6)),
        ("near-duplicate", (7, 8)),
    ]
    assert len(read_names(written(tmp_path, "\n".join(typed).encode()))) == 8


def test_unlike_names_are_not_called_alike() -> None:
    assert not name_notes(["Ada Lind", "Eve Rao", "Kim Sato", "Lin Weiss"], range(4))


@pytest.mark.parametrize("head", ["", "name\n", "name,family\n", "name;family\n"])
def test_a_name_in_quotes_over_two_lines_is_one_name_and_is_told(tmp_path: Path, head: str) -> None:
    tail = {"name,family\n": ",Love", "name;family\n": ";Love"}.get(head, "")
    found = read_names(written(tmp_path, f'{head}"Ada\r\nLove"{tail}\r\nBob{tail}\n'.encode()))
    assert found.texts == ("Ada Love", "Bob")
    assert [note.names for note in found.notes if note.kind == "name over several lines, made one"] == [("Ada Love",)]


@pytest.mark.parametrize(
    "text", ['name\nBob\n"Ada\nEve\n', 'name,family\nBob,x\n"Ada,y\nEve,z\n', 'Bob;x\n"Ada;y\nEve;z\n']
)
def test_a_quote_that_is_never_closed_is_refused_with_its_row(tmp_path: Path, text: str) -> None:
    row = 1 + text.split("\n").index(next(line for line in text.split("\n") if line.startswith('"')))
    with pytest.raises(CommissionError, match=f"row {row}: a quote is opened and never closed") as caught:
        read_names(written(tmp_path, text.encode()))
    assert "\n" not in str(caught.value)


def test_quotes_inside_a_name_are_part_of_it(tmp_path: Path) -> None:
    typed = ('Joe "Sparky" Lee', '"Sparky" Joe', "5'10\" Jim")
    assert read_names(written(tmp_path, "\n".join(typed).encode())).texts == typed


def test_names_whose_letters_are_guessed_are_told(tmp_path: Path) -> None:
    found = read_names(written(tmp_path, "name\nBob\nÉmile\n".encode("latin-1")))
    assert [(note.kind, note.rows, note.names) for note in found.notes] == [
        ("not UTF-8, read as windows-1252: see that it is spelled right", (3,), ("Émile",))
    ]
    assert not read_names(written(tmp_path, "name\nBob\nÉmile\n".encode())).notes
    assert not read_names(written(tmp_path, b"name\nBob\n")).notes


def test_a_list_without_an_end_is_not_read() -> None:
    with pytest.raises(FileError, match="is a device"):
        read_names(Path("/dev/zero"))


@pytest.mark.parametrize(
    ("text", "row"),
    [
        ("First,Last,Amount\nAda,Lovel,12\n", "First, Last, Amount"),
        ("Donor;Family\nAda;Lovel\n", "Donor, Family"),
        ("Lovelace, Ada\nRao, Deepa\n", "Lovelace, Ada"),
        ("Ada\tLovel\n", "Ada, Lovel"),
    ],
)
def test_several_columns_without_a_heading_are_refused_and_not_quoted(tmp_path: Path, text: str, row: str) -> None:
    rule = 'names.csv: row 1: several columns need a heading with a column "name"'
    with pytest.raises(CommissionError) as caught:
        read_names(written(tmp_path, text.encode()))
    assert str(caught.value).endswith(rule)
    assert row not in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("head", ["Family,NAME", "family, Name ", 'FAMILY,"Names"', "Household,Full  Name"])
def test_columns_are_known_by_their_heading_in_any_order_and_case(tmp_path: Path, head: str) -> None:
    found = read_names(written(tmp_path, f"{head}\nLovel,Ada\n".encode()))
    assert (found.texts, found.families, found.notes) == (("Ada",), ("Lovel",), ())


def test_columns_that_are_not_read_are_told(tmp_path: Path) -> None:
    found = read_names(written(tmp_path, b"Donor,Name,Amount,\nx,Ada,12,\ny,Eve,13,z\nw,Kim,1,,v\n"))
    assert found.texts == ("Ada", "Eve", "Kim")
    assert [(note.kind, note.rows, note.names) for note in found.notes] == [
        ("columns not read", (1,), ("Donor", "Amount")),
        ("cells without a heading, not read", (3, 4), ()),
    ]


@pytest.mark.parametrize("head", ["Donor", "donors", "LEAF", "Person", "First,Last"])
def test_one_column_that_starts_with_a_heading_word_keeps_it_and_is_told(tmp_path: Path, head: str) -> None:
    found = read_names(written(tmp_path, f"{head}\nAda Lovel\n".encode()))
    assert found.texts == (head, "Ada Lovel")
    told = [("looks like a heading, kept as a name", (1,), (head,))]
    assert [(note.kind, note.rows, note.names) for note in found.notes] == told


@pytest.mark.parametrize("head", ["name", "Names", "FULL NAME"])
def test_one_column_may_have_a_heading(tmp_path: Path, head: str) -> None:
    found = read_names(written(tmp_path, f"{head}\nAda\n".encode()))
    assert (found.texts, found.notes) == (("Ada",), ())


@pytest.mark.parametrize("text", ["Ada\nEve\n", "Ada,\nEve,\n", '"Ada"\n"Eve"\n'])
def test_one_column_needs_no_heading(tmp_path: Path, text: str) -> None:
    found = read_names(written(tmp_path, text.encode()))
    assert (found.texts, found.families, found.notes) == (("Ada", "Eve"), ("", ""), ())


@pytest.mark.parametrize("text", ["", "\n \n", "name\n", "name,family\n", "name,family\n,Lovel\n"])
def test_a_list_that_holds_no_name_is_refused(tmp_path: Path, text: str) -> None:
    with pytest.raises(CommissionError, match=r"names\.csv: holds no name$"):
        read_names(written(tmp_path, text.encode()))
