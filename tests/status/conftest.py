"""A festival of choirs: a shoot with a few invented people, and frames under their names."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from sqlmodel import Session, delete

from onsite.matching.evidence import FrameKind
from onsite.store.events import EventKind, add_event, newest_event_id
from onsite.store.schema import Camera, Frame, Meta, VerdictRow
from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot
from tests.status.choirs import ROSTER, Shot, listed


@pytest.fixture
def choirs(tmp_path: Path) -> Iterator[Shoot]:
    settings = Settings(name="Choirs", timezone="Europe/Vienna", date="2026-06-13")
    opened = create_shoot(tmp_path / "choirs", settings, "AAAA")
    listed(opened, ROSTER)
    yield opened
    opened.engine.dispose()


@pytest.fixture
def shot(choirs: Shoot) -> Shot:
    """Keeps a match in which people have so many frames, a minute between two from 11:00, and no more."""

    def shot(frames: dict[int, int]) -> None:
        with choirs.writing() as session:
            _keep(session, frames)
            add_event(session, EventKind.INGESTED, choirs.now(), frames=sum(frames.values()))
            session.flush()
            session.merge(Meta(key="matched_event", value=str(newest_event_id(session))))

    return shot


def _keep(session: Session, frames: dict[int, int]) -> None:
    for table in (VerdictRow, Frame, Camera):
        session.execute(delete(table))
    session.add(Camera(id=1, label="A", identity="A"))
    session.flush()
    taken = datetime(2026, 6, 13, 11)
    people = [person for person, count in frames.items() for _ in range(count)]
    for number, person in enumerate(people, start=1):
        name = f"A{number:04}.JPG"
        at = taken + timedelta(minutes=number - 1)
        session.add(Frame(id=number, camera_id=1, counter=number, name=name, taken=at, source="card"))
        session.flush()
        session.add(VerdictRow(frame_id=number, kind=FrameKind.NAMED.value, person_id=person))
