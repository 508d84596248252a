"""`onsite roster load`: a row that counts the people is nobody, and people with odd names stay."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.command_line import Onsite

PEOPLE = ["Ana Horvat", "Bo Lind", "Cy Ro"]


@pytest.fixture
def day(onsite: Onsite) -> Onsite:
    onsite("new", ".", "--name", "Day", "--timezone", "Europe/Vienna")
    return onsite


def load(day: Onsite, path: Path, *lines: str) -> tuple[list[str], list[str], int]:
    """(names, notices, status) of loading a list."""
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    told = day("roster", "load", path, "--json")
    names = [one["name"] for one in day("roster", "list", "--json").data["people"]]
    return names, [notice["text"] for notice in told.data["notices"]], told.status


@pytest.mark.parametrize(
    "row",
    ["Total,3", "Total: 3,", ",3", "3,", "3 people,", "Summe,3", "Gesamt: 3 Personen,", "Somme,3",
    "Total général,3",
     "Suma,3", "Totale,3", "Totaal,3", "Summa,3", "Razem,3", "Celkem,3", "Total,", "Total people: 3,",
     "N = 3,",
     "Total,4", "Anzahl (3),", "4,", "Antal,3"],
)  # fmt: skip
@pytest.mark.long
def test_a_total_at_the_end_is_nobody_and_said(day: Onsite, tmp_path: Path, row: str) -> None:
    names, notices, status = load(
        day, tmp_path / "list.csv", "name,group", *(f"{name},Altos" for name in PEOPLE), row
    )
    assert (names, status) == (PEOPLE, 0)
    assert any("a total and not a person, left out" in text for text in notices)


def test_a_total_in_a_list_of_names_alone(day: Onsite, tmp_path: Path) -> None:
    names, notices, _ = load(day, tmp_path / "list.csv", "Name", *PEOPLE, "3")
    assert names == PEOPLE
    assert "a total and not a person, left out: 3" in notices


def test_several_totals_and_blank_rows_between(day: Onsite, tmp_path: Path) -> None:
    names, _, _ = load(
        day, tmp_path / "list.csv", "key,name", *(f"{n}a,{name}" for n, name in enumerate(PEOPLE)), "",
        "Sum,3",
        "", "Total,3",
    )  # fmt: skip
    assert names == PEOPLE


@pytest.mark.parametrize(
    "row",
    ["7a,Suma,Altos", "7a,Total Horvat,Altos", "7a,Suma,", "8,Antal,", "8,Som,", "7a,Sum Ting,",
    "9,Summa Lind,", "7a,Person,",
     "7a,X AE 12,", "7a,Total Horvat,12"],
)  # fmt: skip
def test_people_with_odd_names_stay(day: Onsite, tmp_path: Path, row: str) -> None:
    names, _, _ = load(
        day, tmp_path / "list.csv", "key,name,group",
        *(f"{n}k,{name},Altos" for n, name in enumerate(PEOPLE)), row
    )  # fmt: skip
    assert names == [*PEOPLE, row.split(",")[1]]


def test_what_may_be_a_total_among_people_is_kept_and_said(day: Onsite, tmp_path: Path) -> None:
    names, notices, status = load(
        day, tmp_path / "list.csv", "name,count", "Ana Horvat,", "Total Altos,1", "Bo Lind,", "Cy Ro,"
    )
    assert (names, status) == (["Ana Horvat", "Total Altos", "Bo Lind", "Cy Ro"], 0)
    assert any("may be a total and is kept as a person: Total Altos · 1" in text for text in notices)


def test_a_list_of_numbers_keeps_them_all(day: Onsite, tmp_path: Path) -> None:
    names, _, _ = load(day, tmp_path / "list.csv", "name,group", "11,Altos", "12,Altos", "13,Altos")
    assert names == ["11", "12", "13"]


def test_a_prepared_row_without_a_name_is_refused_as_before(day: Onsite, tmp_path: Path) -> None:
    names, notices, status = load(
        day, tmp_path / "list.csv", "key,name", *(f"{n},{name}" for n, name in enumerate(PEOPLE, 11)), "14,"
    )
    assert (names, status) == (PEOPLE, 3)
    assert any("no name; the row holds: 14" in text for text in notices)
