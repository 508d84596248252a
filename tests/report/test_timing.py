"""When people were photographed, told by the stations' clock."""

from __future__ import annotations

from datetime import timedelta

from sqlmodel import select

from onsite.report.report_facts import first_frames
from onsite.store.events import EventKind, add_event
from onsite.store.schema import Frame, Person, SymbolReading
from onsite.store.shoot import Shoot
from tests.report.week_later import FRAMES, MORNING


def show_slates(shoot: Shoot, minutes_fast: float) -> None:
    """Each person's slate is shown, and read in their first frame, by a camera so far ahead."""
    with shoot.writing() as session:
        for person, frames in FRAMES.items():
            at = MORNING + timedelta(minutes=10 * person + 7)
            add_event(session, EventKind.SLATE_SHOWN, at, station="set-A", person_id=person)
            code = session.exec(select(Person.code).where(Person.id == person)).one()
            session.add(SymbolReading(frame_id=frames[0], text=code, turned=0, share=0.3))
            for place, frame in enumerate(frames):
                row = session.exec(select(Frame).where(Frame.id == frame)).one()
                taken = at + timedelta(minutes=minutes_fast, seconds=20 + place)
                row.taken = taken.replace(tzinfo=None)
        for frame in (11, 12, 13):
            session.exec(select(Frame).where(Frame.id == frame)).one().taken = None


def test_a_camera_an_hour_ahead_is_put_right(after: Shoot) -> None:
    show_slates(after, 60)
    with after.reading() as session:
        first = first_frames(session, after)
    assert first.keys() == FRAMES.keys()
    for person, moment in first.items():
        assert abs(moment - MORNING - timedelta(minutes=10 * person + 7)) < timedelta(minutes=2)


def test_a_clock_that_nothing_ties_tells_nothing(after: Shoot) -> None:
    with after.reading() as session:
        assert first_frames(session, after) == {}
