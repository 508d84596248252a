"""Patterns of file names."""

from __future__ import annotations

import pytest

from onsite.core.errors import Problem
from onsite.files.file_name_pattern import FIELDS, parse_pattern

ANA: dict[str, str | int | None] = dict.fromkeys(FIELDS, "") | {
    "family": "Horvat",
    "given": "Ana",
    "group": "Altos",
    "sequence": 7,
    "pick": 2,
    "frame": 43,
}


@pytest.mark.parametrize(
    ("pattern", "name"),
    [
        ("{family}_{given}_{group}_{sequence:04}", "Horvat_Ana_Altos_0007"),
        ("{sequence:4}-{pick}", "0007-2"),
        ("{group} - {name} - {family}", "Altos - Horvat"),
        ("{key}_{family}", "Horvat"),
        ("{family}_{key}", "Horvat"),
        ("Chor {given}", "Chor Ana"),
    ],
)
def test_a_pattern_is_filled_and_empty_fields_leave_no_gap(pattern: str, name: str) -> None:
    assert parse_pattern(pattern).fill(ANA) == name


@pytest.mark.parametrize(
    ("pattern", "said"),
    [
        ("{family}_{email}", "{email}, which is not known"),
        ("{family.__class__}", "{family.__class__}, which is not known"),
        ("{0}", "{0}, which is not known"),
        ("{}", "{}, which is not known"),
        ("../{family}", "has a / or \\"),
        ("{group}\\{family}", "has a / or \\"),
        ("{family", "a brace alone"),
        ("family}", "a brace alone"),
        ("{{family}}", "a brace alone"),
        ("{family:>10}", "is not understood"),
        ("{sequence:4d}", "is not understood"),
        ("{sequence:0999}", "is not understood"),
        ("{sequence!r}", "{sequence!r}, which is not known"),
        ("picture", "names every file the same"),
        ("", "names every file the same"),
    ],
)
def test_a_pattern_that_is_not_understood_is_refused_with_what_is_known(pattern: str, said: str) -> None:
    with pytest.raises(Problem) as refused:
        parse_pattern(pattern)
    assert said in refused.value.what
    assert refused.value.remedy


@pytest.mark.parametrize("private", ["email", "phone", "note", "consent", "extra", "slot", "code"])
def test_private_columns_are_no_fields(private: str) -> None:
    with pytest.raises(Problem, match="not known"):
        parse_pattern(f"{{{private}}}")
