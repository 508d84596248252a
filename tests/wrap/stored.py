"""Days made up for tests of matching, put into a store."""

from __future__ import annotations

from datetime import UTC, datetime

from onsite.store.record import Kind, add
from onsite.store.shoot import Shoot
from onsite.store.tables import Camera, Frame, Person, Reading
from tests.matching.days import Day, code


def store_day(shoot: Shoot, *days: Day) -> None:
    """The people, frames and events of these cameras. Ids are those of the days."""
    with shoot.writing() as session:
        for person in sorted({person for day in days for person in day.arrived}):
            session.add(Person(id=person, key=f"C-{person}", name=f"Singer {person}", code=code(person)))
        session.flush()
        for day in days:
            label = "?ABCD"[day.camera]
            session.add(Camera(id=day.camera, label=label, identity=label, serial=label))
            session.flush()
            for frame in day.frames:
                taken = None
                if frame.taken is not None:
                    taken = datetime.fromtimestamp(frame.taken, UTC).replace(tzinfo=None)
                session.add(
                    Frame(
                        id=frame.id,
                        camera_id=day.camera,
                        counter=frame.counter,
                        name=frame.name,
                        taken=taken,
                        utc_offset=0,
                        source="card",
                        look=frame.look,
                    )
                )
            session.flush()
            for frame in day.frames:
                for symbol in frame.symbols:
                    reading = Reading(frame_id=frame.id, text=symbol.text, turned=symbol.turned, share=0.3)
                    session.add(reading)
            for person, at in day.arrived.items():
                add(session, Kind.ARRIVED, datetime.fromtimestamp(at, UTC), person_id=person)
            for shown in day.shown:
                at = datetime.fromtimestamp(shown.at, UTC)
                add(session, Kind.SLATE_SHOWN, at, station=shown.station, person_id=shown.person)
