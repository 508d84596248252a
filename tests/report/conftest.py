"""A festival some days after its shoot: everybody at another stage."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from sqlmodel import Session

from onsite.checkin.check_in import check_in_person
from onsite.matching.evidence import FrameKind
from onsite.roster.load_roster import load_list
from onsite.store.events import EventKind, add_event, newest_event_id
from onsite.store.schema import Camera, Frame, Meta, VerdictRow
from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot
from tests.report.week_later import FRAMES, MORNING, NOW, ROSTER


@pytest.fixture
def after(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Shoot]:
    """A week later: 1 has everything, 2 is at retouch and late, 3, 4 and 5 have proofs and no picks."""
    monkeypatch.setattr(Shoot, "now", lambda _: NOW)
    settings = Settings(
        name="Festival", client="The choir's office", timezone="Europe/Vienna", date="2026-06-13"
    )
    shoot = create_shoot(tmp_path / "festival", settings, "AAAA")
    (shoot.folder / "list.csv").write_text(ROSTER, encoding="utf-8")
    load_list(shoot, shoot.folder / "list.csv")
    for person in FRAMES:
        check_in_person(shoot, person, "door-1", at=MORNING + timedelta(minutes=10 * person))
    with shoot.writing() as session:
        _shoot(session)
        _work(session)
        session.flush()
        session.merge(Meta(key="matched_event", value=str(newest_event_id(session))))
    yield shoot
    shoot.engine.dispose()


def _shoot(session: Session) -> None:
    session.add(Camera(id=1, label="A", identity="A"))
    session.flush()
    whose = {frame: person for person, frames in FRAMES.items() for frame in frames}
    kinds = {11: FrameKind.LOOSE, 12: FrameKind.SLATE, 13: FrameKind.SET_ASIDE}
    for frame in range(1, 14):
        taken = datetime(2026, 6, 13, 10) + timedelta(minutes=frame)
        session.add(
            Frame(id=frame, camera_id=1, counter=frame, name=f"A{frame:04}.JPG", taken=taken, source="card")
        )
        session.flush()
        kind = kinds.get(frame, FrameKind.NAMED)
        session.add(VerdictRow(frame_id=frame, kind=kind.value, person_id=whose.get(frame)))


def _work(session: Session) -> None:
    def happens(
        days: int, kind: EventKind, person: int | None, frame: int | None = None, **details: object
    ) -> None:
        add_event(session, kind, MORNING + timedelta(days=days), person_id=person, frame_id=frame, **details)

    for person, frames in FRAMES.items():
        happens(
            1,
            EventKind.PROOFED,
            person,
            frames=list(frames),
            page="" if person == 5 else f"page-{person}.html",
        )
    happens(2, EventKind.PICKED, 1, frames=[2], notes={}, note="")
    happens(2, EventKind.PICKED, 2, frames=[4], notes={}, note="")
    happens(
        3, EventKind.BATCH, None, batch="B1", hand="in house", due="2026-06-18", price="7.00", currency="EUR"
    )
    happens(3, EventKind.SENT, 1, 2, batch="B1", file="a.jpg", version=1)
    happens(3, EventKind.SENT, 2, 4, batch="B1", file="b.jpg", version=1)
    happens(4, EventKind.RECEIVED, 1, 2, batch="B1", file="retouched/a.jpg", version=1, sha256="00")
    happens(5, EventKind.DELIVERED, 1, 2, delivery=1, set="client", file="a.jpg", sha256="00", source="00")
