"""Which group is meant."""

from __future__ import annotations

import pytest

from onsite.core.errors import Problem
from onsite.roster.roster_groups import group_sort_key, in_group, is_same_group

PEOPLE = ["Altos", "ALTOS", "Chœur d'été", "", "Straße"]


def chosen(group: str | None) -> list[str]:
    return in_group(PEOPLE, group, lambda person: person)


@pytest.mark.parametrize("group", ["altos", " Altos ", "ALTOS"])
def test_capitals_and_spaces_do_not_count(group: str) -> None:
    assert chosen(group) == ["Altos", "ALTOS"]


def test_how_accents_are_coded_does_not_count() -> None:
    assert chosen("Chœur d'e\u0301te\u0301") == ["Chœur d'été"]
    assert is_same_group("STRASSE", "Straße")


def test_no_group_named_is_everybody_and_the_empty_one_those_without() -> None:
    assert chosen(None) == PEOPLE
    assert chosen("") == [""]


def test_who_nobody_is_in_is_told_with_what_there_is() -> None:
    with pytest.raises(Problem, match="Nobody is in a group 'Tubas'") as refused:
        chosen("Tubas")
    assert "ALTOS, Altos, Chœur d'été, Straße" in refused.value.remedy
    with pytest.raises(Problem) as refused:
        in_group([], "Tubas", str)
    assert "none" in refused.value.remedy


def test_those_without_a_group_come_last() -> None:
    assert sorted(["", "b", "A", "C"], key=group_sort_key) == ["A", "b", "C", ""]


def test_groups_with_numbers_are_in_their_natural_order() -> None:
    groups = ["Year 10", "", "Year 7", "alto 2", "Alto 1", "Year 7b", "12", "9"]
    assert sorted(groups, key=group_sort_key) == [
        "9",
        "12",
        "Alto 1",
        "alto 2",
        "Year 7",
        "Year 7b",
        "Year 10",
        "",
    ]
