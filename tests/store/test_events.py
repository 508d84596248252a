"""The record only grows, and what was undone is left out."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from onsite.store.events import EventKind, add_event, newest_event_id, read_events
from onsite.store.schema import EventRow, Person
from onsite.store.shoot import Shoot

MORNING = datetime(2026, 6, 13, 7, 40, tzinfo=UTC)


@pytest.fixture
def two(shoot: Shoot) -> Shoot:
    """A shoot with two singers."""
    with shoot.writing() as session:
        session.add(Person(id=1, key="1", name="Anneliese Vandenberghe", code="one"))
        session.add(Person(id=2, key="2", name="Bo Li", code="two"))
    return shoot


def note(
    shoot: Shoot, kind: EventKind, person_id: int | None = None, minute: int = 0, **details: object
) -> int:
    with shoot.writing() as session:
        row = add_event(session, kind, MORNING + timedelta(minutes=minute), person_id=person_id, **details)
        session.flush()
        assert row.id is not None
        return row.id


def kinds(shoot: Shoot, **wanted: object) -> list[EventKind]:
    with shoot.reading() as session:
        return [event.kind for event in read_events(session, **wanted)]  # type: ignore[arg-type]


def test_an_event_cannot_be_changed(two: Shoot) -> None:
    number = note(two, EventKind.ARRIVED, 1)
    with pytest.raises(RuntimeError, match="only grows"), two.writing() as session:
        session.get_one(EventRow, number).person_id = 2
    with two.reading() as session:
        assert session.get_one(EventRow, number).person_id == 1


def test_an_event_cannot_be_deleted(two: Shoot) -> None:
    number = note(two, EventKind.ARRIVED, 1)
    with pytest.raises(RuntimeError, match="only grows"), two.writing() as session:
        session.delete(session.get_one(EventRow, number))
    assert kinds(two) == [EventKind.ARRIVED]


def test_what_was_undone_is_left_out_and_stays_in_the_record(two: Shoot) -> None:
    note(two, EventKind.LISTED, 1)
    arrived = note(two, EventKind.ARRIVED, 1, minute=1)
    note(two, EventKind.UNDONE, minute=2, undoes=[arrived])
    assert kinds(two) == [EventKind.LISTED, EventKind.UNDONE]
    assert kinds(two, undone_too=True) == [EventKind.LISTED, EventKind.ARRIVED, EventKind.UNDONE]
    assert kinds(two, kinds=[EventKind.ARRIVED]) == []


def test_what_was_undone_is_left_out_of_one_persons_events_too(two: Shoot) -> None:
    arrived = note(two, EventKind.ARRIVED, 1)
    note(two, EventKind.ARRIVED, 2)
    note(two, EventKind.UNDONE, undoes=[arrived])
    assert kinds(two, person_id=1) == []
    assert kinds(two, person_id=2) == [EventKind.ARRIVED]


def test_an_undo_can_be_undone(two: Shoot) -> None:
    arrived = note(two, EventKind.ARRIVED, 1)
    undo = note(two, EventKind.UNDONE, 1, undoes=[arrived])
    note(two, EventKind.UNDONE, 1, undoes=[undo])
    assert kinds(two, kinds=[EventKind.ARRIVED]) == [EventKind.ARRIVED]


def test_events_come_in_the_order_in_which_they_were_recorded(two: Shoot) -> None:
    """Where the clock was set back, the later decision has the earlier time."""
    note(two, EventKind.GIVEN, 1, minute=5)
    note(two, EventKind.FREED, 1, minute=3)
    assert kinds(two) == [EventKind.GIVEN, EventKind.FREED]


def test_the_newest_event_rises_with_everything_that_happens(two: Shoot) -> None:
    with two.reading() as session:
        seen = [newest_event_id(session)]
    assert seen == [0]
    for _ in range(3):
        note(two, EventKind.ARRIVED, 1)
        with two.reading() as session:
            seen.append(newest_event_id(session))
    assert seen == sorted(set(seen))


def test_moments_come_back_aware_and_the_same(two: Shoot) -> None:
    vienna = datetime(2026, 6, 13, 9, 40, 7, 250_000, tzinfo=two.zone)
    with two.writing() as session:
        add_event(session, EventKind.ARRIVED, vienna, person_id=1, note="line\nbreak \x1b[31m")
    with two.reading() as session:
        (event,) = read_events(session)
    assert event.at == vienna
    assert event.at.utcoffset() == timedelta(0)
    assert event.details == {"note": "line\nbreak \x1b[31m"}
