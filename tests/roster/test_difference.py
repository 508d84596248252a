"""What a newer list says differently about one person."""

from dataclasses import replace

import pytest

from onsite.roster.difference import difference
from onsite.roster.entry import FIELDS, Entry

ANN = Entry(
    "k1", "Ann Lee", "Ann", "Lee", "Altos", email="a@example.org", extra=(("Shirt", "M"), ("Bus", "2"))
)


def test_nothing_changed_but_the_row() -> None:
    same = Entry("k1", "Ann Lee", "Ann", "Lee", "Altos", email="a@example.org", row=7)
    merged, changed = difference(ANN, same, FIELDS)
    assert changed == ()
    assert (merged.row, merged.extra) == (7, ANN.extra)


def test_an_empty_cell_is_a_change_only_where_the_list_has_that_column() -> None:
    without = Entry("k1", "Ann Lee", "Ann", "Lee", email="a@example.org")
    assert difference(ANN, without, FIELDS)[1] == (("group", "Altos", ""),)
    assert difference(ANN, without, {"key", "name"}) == (ANN, ())


def test_an_empty_cell_never_takes_an_address_away() -> None:
    known = replace(ANN, phone="0123")
    merged, changed = difference(known, Entry("k1", "Ann Lee", "Ann", "Lee", "Altos"), FIELDS)
    assert (merged.email, merged.phone, changed) == ("a@example.org", "0123", ())


@pytest.mark.parametrize(
    ("before", "now", "after"),
    [("no", "", "no"), ("yes, not online", "", "yes, not online"), ("yes", "", ""), ("no", "yes", "yes")],
)
def test_an_empty_cell_never_takes_a_no_away(before: str, now: str, after: str) -> None:
    merged, _ = difference(replace(ANN, consent=before), replace(ANN, consent=now), FIELDS)
    assert merged.consent == after


def test_an_empty_cell_never_takes_a_key_away() -> None:
    merged, changed = difference(ANN, Entry("", "Ann Lee", "Ann", "Lee", "Altos"), {"key", "name"})
    assert (merged.key, changed) == ("k1", ())


def test_parts_follow_a_new_full_name() -> None:
    merged, changed = difference(ANN, Entry("k1", "Ann Berg", "Ann", "Berg"), {"name"})
    assert (merged.name, merged.family) == ("Ann Berg", "Berg")
    assert changed == (("name", "Ann Lee", "Ann Berg"), ("family", "Lee", "Berg"))


def test_another_split_of_the_same_full_name_is_no_change() -> None:
    old = Entry("k1", "Ana Ruiz Gil", "Ana", "Ruiz Gil")
    assert difference(old, Entry("k1", "Ana Ruiz Gil", "Ana Ruiz", "Gil"), {"name"}) == (old, ())


def test_a_name_for_display_stays_when_the_list_has_only_the_parts() -> None:
    old = Entry("k1", "Annie Lee", "Ann", "Lee")
    assert difference(old, Entry("k1", "Ann Lee", "Ann", "Lee"), {"given", "family"}) == (old, ())
    assert difference(old, Entry("k1", "Ann Berg", "Ann", "Berg"), {"given", "family"})[0].name == "Ann Berg"


def test_other_columns_go_by_their_headings() -> None:
    newer = Entry("k1", "Ann Lee", extra=(("Bus", "3"), ("Meal", "soup")))
    merged, changed = difference(ANN, newer, {"name"})
    assert merged.extra == (("Shirt", "M"), ("Bus", "3"), ("Meal", "soup"))
    assert changed == (("Bus", "2", "3"), ("Meal", "", "soup"))
