"""A whole list, with everything that a person should know about it."""

from pathlib import Path

import pytest

from onsite.core.errors import Problem
from onsite.roster.read_list import ListReading, columns_used, read_roster
from onsite.roster.roster_entry import RosterEntry


def reading(folder: Path, text: str, **mapping: str) -> ListReading:
    path = folder / "list.csv"
    path.write_bytes(text.encode())
    return read_roster(path, maps=mapping.items())


def told(found: ListReading) -> str:
    return "\n".join(f"{notice.row}: {notice.text}" for notice in found.notices)


def test_every_column_is_kept(tmp_path: Path) -> None:
    found = reading(tmp_path, "Key,Given,Family,Choir,Shirt\nk1,Zoë,van den Hoorn,Altos,M\n")
    assert found.entries == (
        RosterEntry(
            "k1", "Zoë van den Hoorn", "Zoë", "van den Hoorn", "Altos", extra=(("Shirt", "M"),), row=2
        ),
    )
    assert found.mapping.fields == {"key", "given", "family", "group"}
    assert columns_used(found)[3:] == [("D", "Choir", "group"), ("E", "Shirt", "")]


def test_names_stay_as_written(tmp_path: Path) -> None:
    names = ["O’Neil", "أحمد بن علي", "משה כהן", "Zoe\u0308", "[bold]Bo[/bold]", "Ann\x1b[31m Lee", "王芳"]
    found = reading(tmp_path, "Name\n" + "\n".join(names) + "\n")
    assert [entry.name for entry in found.entries] == names
    assert "do not print; kept as written" in told(found)


def test_a_line_break_in_a_name(tmp_path: Path) -> None:
    found = reading(tmp_path, 'Name,Choir\n"Ann\nLee",Altos\nBo,Basses\n')
    assert [(entry.row, entry.name) for entry in found.entries] == [(2, "Ann\nLee"), (3, "Bo")]
    assert all("\n" not in notice.text for notice in found.notices)


def test_family_comma_given_is_shown_in_order_and_told(tmp_path: Path) -> None:
    found = reading(tmp_path, 'Name,Choir\n"Müller, Jörg",Basses\n')
    entry = found.entries[0]
    assert (entry.name, entry.given, entry.family) == ("Jörg Müller", "Jörg", "Müller")
    assert "shown given name first: 1, such as Jörg Müller in row 2" in told(found)


def test_a_full_name_beside_one_part_gives_the_other(tmp_path: Path) -> None:
    entry = reading(tmp_path, "Name,First name\nAnn van Lee,Ann\n").entries[0]
    assert (entry.name, entry.given, entry.family) == ("Ann van Lee", "Ann", "van Lee")


def test_blank_rows_are_counted_and_rows_without_a_name_refused(tmp_path: Path) -> None:
    found = reading(tmp_path, "Key,Name\nk1,Ann\n\n,\nk2,\nk3,Bo\n")
    assert [entry.key for entry in found.entries] == ["k1", "k3"]
    assert found.table.blank == 2
    assert [(notice.row, notice.text) for notice in found.refused] == [(5, "no name; the row holds: k2")]


def test_one_key_for_two_people_keeps_the_first_and_refuses_the_second(tmp_path: Path) -> None:
    found = reading(tmp_path, "Key,Name\nk1,Ann\nk1,Bo\nk1,Ann\n")
    assert [entry.name for entry in found.entries] == ["Ann"]
    assert [(notice.row, notice.text) for notice in found.refused] == [
        (3, "key k1 is already Ann in row 2; Bo is left out")
    ]
    assert "4: the same as row 2, kept once" in told(found)


def test_people_of_one_name_are_kept_and_told(tmp_path: Path) -> None:
    found = reading(tmp_path, "Name,Choir,Email\nAnn Lee,Altos,a\nAnn Lee,Altos,b\nANN LEE,Basses,c\n")
    assert len(found.entries) == 3
    assert "3: Ann Lee has the same name as row 2 (Altos and Altos); both are kept" in told(found)
    assert "4: ANN LEE has the same name as row 2" in told(found)


def test_a_row_repeated_exactly_is_one_person(tmp_path: Path) -> None:
    found = reading(tmp_path, "Name,Choir\nAnn Lee,Altos\nAnn Lee,Altos\n")
    assert len(found.entries) == 1
    assert "3: the same as row 2, kept once; if these are two people, tell them apart" in told(found)


def test_missing_keys_stay_empty_and_are_told(tmp_path: Path) -> None:
    found = reading(tmp_path, "Key,Name\nk1,Ann\n,Bo\n")
    assert [entry.key for entry in found.entries] == ["k1", ""]
    assert "people without a key: 1 (rows 3)" in told(found)
    assert "no column of keys" in told(reading(tmp_path, "Name\nAnn\n"))


def test_a_comma_without_quotes_must_not_move_a_name_into_the_next_column(tmp_path: Path) -> None:
    found = reading(tmp_path, "Name,Choir\nMüller, Jörg,Basses\nBo Li,Basses\n")
    assert [entry.name for entry in found.entries] == ["Bo Li"]
    assert "3 cells under 2 headings" in found.refused[0].text


def test_trailing_empty_cells_move_nothing(tmp_path: Path) -> None:
    assert reading(tmp_path, "Name,Choir,\nAnn,Altos,,,\n").entries[0].group == "Altos"


def test_headings_repeated_on_every_page_are_no_people(tmp_path: Path) -> None:
    found = reading(tmp_path, "Name,Choir\nAnn,Altos\nName,Choir\nBo,Basses\n")
    assert [entry.name for entry in found.entries] == ["Ann", "Bo"]


def test_a_guessed_encoding_shows_what_to_check(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_bytes("Name\nJörg Müller\n".encode("mac_roman"))
    found = read_roster(path)
    assert found.entries[0].name == "Jörg Müller"
    assert "read as Mac Roman: check Jörg, Müller" in told(found)


def test_a_letter_that_was_lost_before(tmp_path: Path) -> None:
    assert "2: a letter of J\ufffdrg was lost" in told(reading(tmp_path, "Name\nJ\ufffdrg\n"))
    assert "2: a letter of ?ukasz Lind was lost" in told(reading(tmp_path, "Name\n?ukasz Lind\n"))
    assert "was lost" not in told(reading(tmp_path, "Name\nBo Lind?\n"))


def test_mapped_by_hand(tmp_path: Path) -> None:
    found = reading(tmp_path, "Tag,Colour\nAnn Lee,red\n", name="Tag", note="B")
    assert (found.entries[0].name, found.entries[0].note) == ("Ann Lee", "red")


@pytest.mark.parametrize("text", ["Name,Choir\n", "Name,Choir\n,Altos\n,Basses\n"])
def test_a_list_of_nobody_is_refused(tmp_path: Path, text: str) -> None:
    with pytest.raises(Problem, match="nobody under them"):
        reading(tmp_path, text)
