"""When people were photographed, by the stations' time, as far as the cameras' clocks can be told."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any, cast

from sqlmodel import Session, col, select

from onsite.checkin.cards import ties
from onsite.matching.clocks import Clock, TiedBy
from onsite.matching.evidence import Evidence, FrameEvidence, Shown, Symbol, Tie
from onsite.matching.order import lanes
from onsite.matching.set_forward import with_clocks
from onsite.store.record import Kind, happened
from onsite.store.shoot import Shoot
from onsite.store.tables import Camera, Card, Frame, Person, Reading, Verdict
from onsite.wrap.gather import arrivals, camera_zone, seconds_of

SURE = timedelta(minutes=5)
"""A clock that may be farther off than this either way tells nothing of how long somebody waited. Own choice:
waits are told in steps of that size."""


def first_frames(session: Session, shoot: Shoot) -> dict[int, datetime]:
    """Person id -> when their first frame was taken by the stations' time, aware, in the shoot's zone; nobody
    whose camera's clock cannot be told well enough. Frames as last matched."""
    whose = _named(session)
    evidence = _evidence(session, shoot)
    first: dict[int, float] = {}
    for whole in lanes(evidence.frames)[0]:
        lane, clocks = with_clocks(whole, evidence)
        for piece, clock in zip(lane.pieces, clocks, strict=True):
            if not _is_sure(clock):
                continue
            for place in piece:
                frame = lane.frames[place]
                person = whose.get(frame.id)
                if person is not None and frame.taken is not None:
                    moment = frame.taken + clock.offset
                    first[person] = min(first.get(person, moment), moment)
    return {person: datetime.fromtimestamp(moment, shoot.zone) for person, moment in first.items()}


def _is_sure(clock: Clock) -> bool:
    if clock.tied_by is TiedBy.NOTHING:
        return False
    return max(clock.high - clock.offset, clock.offset - clock.low) <= SURE.total_seconds()


def _named(session: Session) -> dict[int, int]:
    wanted = select(Verdict.frame_id, Verdict.person_id).where(
        Verdict.kind == "named", col(Verdict.person_id).is_not(None)
    )
    return {frame: person for frame, person in session.exec(wanted) if person is not None}


def _evidence(session: Session, shoot: Shoot) -> Evidence:
    """What clocks are told from: slates and times, not what frames look like."""
    events = happened(session, (Kind.ARRIVED, Kind.SLATE_SHOWN))
    codes = {code: person for person, code in session.exec(select(Person.id, Person.code)) if person}
    return Evidence(
        shoot.mark,
        _frames(session, shoot),
        sorted(codes.values()),
        codes,
        arrivals(events),
        _cards(session),
        shown=[
            Shown(event.at.timestamp(), event.person_id, event.station)
            for event in events
            if event.kind is Kind.SLATE_SHOWN and event.person_id is not None
        ],
    )


def _cards(session: Session) -> Mapping[str, list[Tie]]:
    tied = ties(session)
    return {
        code: [Tie(at.timestamp(), person) for at, person in tied.get(code, ())]
        for code in session.exec(select(Card.code))
    }


def _frames(session: Session, shoot: Shoot) -> list[FrameEvidence]:
    sure = {camera for camera, serial in session.exec(select(Camera.id, Camera.serial)) if serial}
    symbols: dict[int, list[Symbol]] = {}
    for frame, text, turned in session.exec(select(Reading.frame_id, Reading.text, Reading.turned)):
        symbols.setdefault(frame, []).append(Symbol(text, turned))
    wanted: Any = select(
        Frame.id, Frame.camera_id, Frame.name, Frame.taken, Frame.utc_offset, Frame.counter, Frame.source
    ).order_by(col(Frame.id))  # type: ignore[call-overload]
    zone = camera_zone(shoot)
    return [
        FrameEvidence(
            frame,
            camera,
            name,
            seconds_of(taken, offset, zone),
            counter,
            source=source,
            sure_body=camera in sure,
            symbols=tuple(symbols.get(frame, ())),
        )
        for frame, camera, name, taken, offset, counter, source in cast(Any, session.exec(wanted))
    ]
