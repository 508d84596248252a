"""Which column is which field."""

import pytest

from onsite.core.errors import Problem
from onsite.roster.column_mapping import ColumnMapping, column_letter, find_columns
from onsite.roster.read_list_table import RosterTable, TableRow
from onsite.roster.roster_entry import ListNotice


def table(*rows: str, sheet: str = "") -> RosterTable:
    split = [row.split("|") for row in rows]
    return RosterTable(
        tuple(TableRow(n, tuple(cells), len(cells)) for n, cells in enumerate(split, 1)), sheet=sheet
    )


def found(*rows: str, **by_hand: str) -> dict[str, str]:
    """Field -> heading."""
    mapping, _ = find_columns(table(*rows), by_hand.items())
    return {field: mapping.headings[column] for field, column in mapping.columns}


def notices(*rows: str, **by_hand: str) -> tuple[ListNotice, ...]:
    return find_columns(table(*rows), by_hand.items())[1]


def test_usual_headings() -> None:
    assert found("ID|Given name|Family name|Choir|E-mail", "1|Ann|Lee|Altos|a@example.org") == {
        "key": "ID",
        "given": "Given name",
        "family": "Family name",
        "group": "Choir",
        "email": "E-mail",
    }


@pytest.mark.parametrize(
    ("headings", "fields"),
    [
        ("Name|Stimme", {"name": "Name", "group": "Stimme"}),
        ("Name|Stimme|Chor / Orchester", {"name": "Name", "group": "Chor / Orchester", "role": "Stimme"}),
        ("Name|Choir/Orchestra|Stimme", {"name": "Name", "group": "Choir/Orchestra", "role": "Stimme"}),
        ("Name|Stimme|Choir|Role", {"name": "Name", "group": "Choir", "role": "Role"}),
    ],
)
def test_a_voice_is_the_group_where_nothing_else_is(headings: str, fields: dict[str, str]) -> None:
    assert found(headings, "Ann Lee|Alto|North|Soloist") == fields


def test_titles_above_the_headings_are_passed_over_and_told() -> None:
    rows = ("Festival of choirs", "as of June", "Name|Choir", "Ann Lee|Altos")
    mapping, told = find_columns(table(*rows))
    assert mapping.heading_row == 3
    assert [notice.row for notice in told] == [1, 2]


@pytest.mark.parametrize(
    ("headings", "row", "fields"),
    [
        ("Name|Vorname", "Müller|Jörg", {"family": "Name", "given": "Vorname"}),
        ("Nom|Prénom", "Lefèvre|Élodie", {"family": "Nom", "given": "Prénom"}),
        ("Nombre|Apellidos", "José|Núñez Gil", {"given": "Nombre", "family": "Apellidos"}),
        ("Ad|Soyad", "Işık|Yılmaz", {"given": "Ad", "family": "Soyad"}),
        ("Naam|Voornaam", "van den Hoorn|Jan", {"family": "Naam", "given": "Voornaam"}),
        ("Name|First name", "Ann Lee|Ann", {"name": "Name", "given": "First name"}),
        ("Name|First|Last", "Annie|Ann|Lee", {"name": "Name", "given": "First", "family": "Last"}),
        ("Jméno", "Jan Kopřiva", {"name": "Jméno"}),
    ],
)
def test_name_alone_may_mean_the_full_name_or_a_part(headings: str, row: str, fields: dict[str, str]) -> None:
    assert found(headings, row) == fields


def test_a_single_column_with_the_family_name_first() -> None:
    mapping, _ = find_columns(table("Last name, First name|Choir", "Lee, Ann|Altos"))
    assert mapping.family_first
    assert "name" in mapping.fields


def test_of_two_columns_for_a_field_the_first_wins_and_the_other_is_told() -> None:
    rows = ("Name|Email|E-mail", "Ann|a|b")
    assert found(*rows)["email"] == "Email"
    assert "Email (column B) is used, E-mail (column C) is kept" in notices(*rows)[0].text


def test_a_column_that_counts_the_rows_is_no_key() -> None:
    assert "key" not in found("Nr.|Name", "1|Ann", "2|Bo", "3|Cy")
    assert "--map key=Nr." in notices("Nr.|Name", "1|Ann", "2|Bo", "3|Cy")[0].text
    assert "key" not in found("Nr.|Name", "1|Ann", "2|Bo", "4|Di", "5|Ed")  # a row was left out since
    assert found("Nr.|Name", "17|Ann", "4|Bo")["key"] == "Nr."
    assert found("Nr.|Name", "1|Ann", "7|Bo", "12|Cy")["key"] == "Nr."
    assert found("ID|Name", "1|Ann", "2|Bo")["key"] == "ID"


def test_no_column_of_names_lists_the_headings_and_the_way_out() -> None:
    with pytest.raises(Problem) as refused:
        find_columns(table("Colour|Choir", "red|Altos"), file="list.csv")
    assert refused.value.what == "list.csv has no column of names; headings: Colour, Choir"
    assert "--map name=COLUMN" in refused.value.remedy


@pytest.mark.parametrize("column", ["Singer's tag", "SINGER’S TAG", "b", "B", "2"])
def test_by_hand_a_column_is_a_heading_a_letter_or_a_number(column: str) -> None:
    assert found("Colour|Singer's tag", "red|Ann", name=column) == {"name": "Singer's tag"}


def test_by_hand_comes_before_what_is_recognised() -> None:
    rows = ("Name|Stage name|Choir", "Ann Lee|Annie|Altos")
    assert found(*rows, name="Stage name") == {"name": "Stage name", "group": "Choir"}


def test_without_any_usual_heading_the_first_row_is_told() -> None:
    told = notices("Ann Lee|Altos", "Bo Li|Basses", name="A")
    assert "Ann Lee, Altos; add headings if this is a person" in told[0].text


@pytest.mark.parametrize(
    ("by_hand", "says"),
    [
        ({"nmae": "A"}, "no field nmae"),
        ({"name": "Z"}, "no column Z for name"),
        ({"name": "Choir", "group": "B"}, "both mapped to Choir"),
        ({"email": "Mail"}, "2 columns are called Mail"),
    ],
)
def test_a_wrong_map_is_refused(by_hand: dict[str, str], says: str) -> None:
    with pytest.raises(Problem, match=says):
        find_columns(table("Name|Choir|Mail|Mail", "Ann|Altos|a|b"), by_hand.items())


def test_a_workbooks_column_without_a_heading_has_its_letter() -> None:
    mapping, _ = find_columns(table("Name|Choir", "Ann|Altos|x", sheet="S"))
    assert mapping.headings == ("Name", "Choir", "column C")
    assert mapping.unmapped == (2,)


def test_letters_of_columns() -> None:
    assert [column_letter(column) for column in (0, 25, 26, 701, 702)] == ["A", "Z", "AA", "ZZ", "AAA"]


def test_a_value_beyond_the_end_of_a_row_is_empty() -> None:
    mapping = ColumnMapping((("name", 0), ("group", 1)), ("Name", "Choir"), 1)
    assert mapping.value(TableRow(2, ("Ann",), 1), "group") == ""
    assert mapping.value(TableRow(2, ("Ann",), 1), "email") == ""


def test_a_column_that_may_be_about_consent_is_asked_about_and_not_taken() -> None:
    mapping, _ = find_columns(table("Name|GDPR", "Ann Lee|yes"))
    assert "consent" not in mapping.fields
    assert [(one.heading, one.fields) for one in mapping.asked] == [
        ("GDPR", ("consent", "no-consent", "other"))
    ]
    assert not find_columns(table("Name|Consent|GDPR", "Ann Lee|yes|yes"))[0].asked


def test_a_column_without_answers_is_told() -> None:
    rows = ("Name|Photo|Do not film", "Ann Lee|a.jpg|")
    mapping, told = find_columns(table(*rows))
    assert not mapping.asked
    assert "Photo may be about consent and is kept beside; if it is: --map consent=Photo" in told[0].text
    assert "--map no-consent='Do not film' (" in told[1].text
    assert "--map consent=" not in told[1].text


def test_a_heading_that_means_the_opposite_is_consent_and_told() -> None:
    rows = ("Name|Do not publish", "Ann Lee|yes")
    assert found(*rows)["consent"] == "Do not publish"
    told = [notice.text for notice in notices(*rows)]
    assert told == ["Do not publish (column B): yes means must not be published"]


def test_all_columns_about_consent_count_and_are_kept_as_they_are() -> None:
    rows = ("Name|Consent|Publish", "Ann Lee|yes|no")
    mapping, told = find_columns(table(*rows))
    assert [one.heading for one in mapping.consents] == ["Consent", "Publish"]
    assert mapping.unmapped == (1, 2)
    assert "2 columns about consent, the stricter counts" in told[0].text


def test_beside_a_column_mapped_by_hand_all_others_about_consent_still_count() -> None:
    rows = ("Name|Do not publish|Publish|School says", "Ann Lee||yes|yes")
    mapping, _ = find_columns(table(*rows), [("consent", "School says")])
    assert [one.heading for one in mapping.consents] == ["School says", "Do not publish", "Publish"]
    mapping, _ = find_columns(table(*rows), [("consent", "School says"), ("note", "Do not publish")])
    assert [one.heading for one in mapping.consents] == ["School says", "Publish"]
