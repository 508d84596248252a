"""A deck card handed on at the set and written down at the door only afterwards."""

from __future__ import annotations

from tests.matching.days import Day, card, names, verdicts


def handed_on(written_late: bool) -> Day:
    """One is photographed with the card, and ten minutes later two; the card is two's by the record before or
    after that. The slates of others, shown at the station, tie the clock."""
    day = Day(log_shown=True).people(range(20, 30)).arrive(1).arrive(2)
    day.tie(1, 1)
    held_up(day, 1)
    day.people(range(30, 40))
    if not written_late:
        day.tie(1, 2)
    held_up(day, 2)
    day.people(range(40, 44))
    if written_late:
        day.tie(1, 2)
    return day


def held_up(day: Day, person: int) -> None:
    """A turn with the card, of which the station knows nothing."""
    day.now += 120
    day.log_shown = False
    day.slate(person, card(1))
    day.portraits(person)
    day.log_shown = True


def test_a_tie_written_in_time_names_both() -> None:
    day = handed_on(written_late=False)
    found = verdicts(day.evidence())
    assert names(found, [*day.ids(1), *day.ids(2)]) == [1] * 5 + [2] * 5


def test_a_tie_written_too_late_names_nobody_wrongly() -> None:
    day = handed_on(written_late=True)
    found = verdicts(day.evidence())
    assert names(found, [*day.ids(1), *day.ids(2)]) == ["loose"] * 10
    assert {1, 2} <= {suggestion.person for suggestion in found[day.ids(2)[0]].suggestions}
