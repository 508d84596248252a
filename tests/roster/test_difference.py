"""What a newer list says differently about one person."""

from dataclasses import replace

import pytest

from onsite.roster.known_people import compare_entries
from onsite.roster.roster_entry import FIELDS, RosterEntry

ANN = RosterEntry(
    "k1", "Ann Lee", "Ann", "Lee", "Altos", email="a@example.org", extra=(("Shirt", "M"), ("Bus", "2"))
)


def test_nothing_changed_but_the_row() -> None:
    same = RosterEntry("k1", "Ann Lee", "Ann", "Lee", "Altos", email="a@example.org", row=7)
    merged, changed = compare_entries(ANN, same, FIELDS)
    assert changed == ()
    assert (merged.row, merged.extra) == (7, ANN.extra)


def test_an_empty_cell_is_a_change_only_where_the_list_has_that_column() -> None:
    without = RosterEntry("k1", "Ann Lee", "Ann", "Lee", email="a@example.org")
    assert compare_entries(ANN, without, FIELDS)[1] == (("group", "Altos", ""),)
    assert compare_entries(ANN, without, {"key", "name"}) == (ANN, ())


def test_an_empty_cell_never_takes_an_address_away() -> None:
    known = replace(ANN, phone="0123")
    merged, changed = compare_entries(known, RosterEntry("k1", "Ann Lee", "Ann", "Lee", "Altos"), FIELDS)
    assert (merged.email, merged.phone, changed) == ("a@example.org", "0123", ())


@pytest.mark.parametrize(
    ("before", "now", "after"),
    [("no", "", "no"), ("yes, not online", "", "yes, not online"), ("yes", "", ""), ("no", "yes", "yes")],
)
def test_an_empty_cell_never_takes_a_no_away(before: str, now: str, after: str) -> None:
    merged, _ = compare_entries(replace(ANN, consent=before), replace(ANN, consent=now), FIELDS)
    assert merged.consent == after


def test_an_empty_cell_never_takes_a_key_away() -> None:
    merged, changed = compare_entries(ANN, RosterEntry("", "Ann Lee", "Ann", "Lee", "Altos"), {"key", "name"})
    assert (merged.key, changed) == ("k1", ())


def test_parts_follow_a_new_full_name() -> None:
    merged, changed = compare_entries(ANN, RosterEntry("k1", "Ann Berg", "Ann", "Berg"), {"name"})
    assert (merged.name, merged.family) == ("Ann Berg", "Berg")
    assert changed == (("name", "Ann Lee", "Ann Berg"), ("family", "Lee", "Berg"))


def test_another_split_of_the_same_full_name_is_no_change() -> None:
    old = RosterEntry("k1", "Ana Ruiz Gil", "Ana", "Ruiz Gil")
    assert compare_entries(old, RosterEntry("k1", "Ana Ruiz Gil", "Ana Ruiz", "Gil"), {"name"}) == (old, ())


def test_a_name_for_display_stays_when_the_list_has_only_the_parts() -> None:
    old = RosterEntry("k1", "Annie Lee", "Ann", "Lee")
    assert compare_entries(old, RosterEntry("k1", "Ann Lee", "Ann", "Lee"), {"given", "family"}) == (old, ())
    assert (
        compare_entries(old, RosterEntry("k1", "Ann Berg", "Ann", "Berg"), {"given", "family"})[0].name
        == "Ann Berg"
    )


def test_other_columns_go_by_their_headings() -> None:
    newer = RosterEntry("k1", "Ann Lee", extra=(("Bus", "3"), ("Meal", "soup")))
    merged, changed = compare_entries(ANN, newer, {"name"})
    assert merged.extra == (("Shirt", "M"), ("Bus", "3"), ("Meal", "soup"))
    assert changed == (("Bus", "2", "3"), ("Meal", "", "soup"))
