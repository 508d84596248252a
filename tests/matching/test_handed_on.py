"""A deck card handed on at the set and written down at the door only afterwards."""

from __future__ import annotations

from days import Day, card, names, verdicts


def handed_on(written_late: bool) -> Day:
    """One is photographed with the card, and ten minutes later two; the card is two's by the record before or
    after that."""
    day = Day().people(range(20, 30)).arrive(1).arrive(2)
    day.tie(1, 1)
    day.now += 60
    day.slate(1, card(1))
    day.portraits(1)
    day.people(range(30, 40))
    if not written_late:
        day.tie(1, 2)
    day.now += 60
    day.slate(2, card(1))
    day.portraits(2)
    day.people(range(40, 44))
    if written_late:
        day.tie(1, 2)
    return day


def test_a_tie_written_in_time_names_both() -> None:
    day = handed_on(written_late=False)
    found = verdicts(day.evidence())
    assert names(found, [*day.ids(1), *day.ids(2)]) == [1] * 5 + [2] * 5


def test_a_tie_written_too_late_names_nobody_wrongly() -> None:
    day = handed_on(written_late=True)
    found = verdicts(day.evidence())
    assert names(found, [*day.ids(1), *day.ids(2)]) == [1] * 5 + ["loose"] * 5
    assert {1, 2} <= {suggestion.person for suggestion in found[day.ids(2)[0]].suggestions}
