"""Who waits, for how long, and who came last."""

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from onsite.checkin.waiting_people import recent_arrivals, waiting_people
from onsite.roster.find_people import RosterPerson
from onsite.status.person_status import PersonStatus, stage_of

NINE = datetime(2026, 6, 13, 9, tzinfo=UTC)


def standing(number: int, minute: float | None, frames: int = 0, event: int | None = None) -> PersonStatus:
    arrived = None if minute is None else NINE + timedelta(minutes=minute)
    someone = RosterPerson(
        number, f"S-{number}", "", None if minute is None else number, "Ann Lee", "Ann", "Lee", ""
    )
    return PersonStatus(someone, stage_of(arrived is not None, frames), arrived, frames, arrival=event)


def ids(people: list[PersonStatus]) -> list[int]:
    return [s.person.id for s in people]


EVERYBODY = [standing(1, 10), standing(2, None), standing(3, 5), standing(4, 2, frames=3), standing(5, 5)]


def test_in_order_of_arrival_then_of_number_without_who_was_photographed() -> None:
    queue = waiting_people(EVERYBODY, NINE + timedelta(minutes=15))
    assert [(one.status.person.id, one.seconds) for one in queue] == [(3, 600.0), (5, 600.0), (1, 300.0)]


def test_who_is_on_set_is_not_in_the_queue() -> None:
    assert ids([one.status for one in waiting_people(EVERYBODY, NINE, without={3})]) == [5, 1]


def test_an_arrival_that_is_still_to_come_has_waited_for_nothing() -> None:
    assert [one.seconds for one in waiting_people([standing(1, 10)], NINE)] == [0.0]


def test_the_latest_is_who_was_checked_in_last_whatever_the_time_given() -> None:
    people = [standing(1, 10, event=7), standing(2, 5, event=9), standing(3, None), standing(4, 20, event=8)]
    assert ids(recent_arrivals(people, 2)) == [2, 4]
    assert ids(recent_arrivals(people, 99)) == [2, 4, 1]


@given(st.lists(st.tuples(st.one_of(st.none(), st.integers(0, 500)), st.integers(0, 2)), max_size=30))
def test_whoever_came_before_waits_at_least_as_long(rows: list[tuple[int | None, int]]) -> None:
    people = [standing(number, minute, frames) for number, (minute, frames) in enumerate(rows, start=1)]
    queue = waiting_people(people, NINE + timedelta(minutes=501))
    assert [one.seconds for one in queue] == sorted((one.seconds for one in queue), reverse=True)
    assert len(queue) == sum(minute is not None and not frames for minute, frames in rows)
