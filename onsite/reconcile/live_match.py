"""The last frames of one camera as they would be named now, for the screen on set.

Only that camera's last frames are matched, with no more of the evidence than they touch, so that it can be
done as each frame lands. It is shown and never kept: the whole match has more to go by and has the last word.
"""

from __future__ import annotations

from collections.abc import Collection, Container, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone

from sqlalchemy import ColumnElement
from sqlmodel import Session, col, func, select
from sqlmodel.sql.expression import SelectOfScalar

from onsite.core.codes import parse_slate_code
from onsite.matching.evidence import (
    CardAssignment,
    Evidence,
    FrameEvidence,
    FrameKind,
    FrameVerdict,
    NamedBy,
    SlateShown,
)
from onsite.matching.match_frames import MatchResult, match
from onsite.matching.shooting_order import shooting_lanes
from onsite.matching.slate_status import SlateStatus
from onsite.reconcile.gather_evidence import (
    OVERRIDE_KINDS,
    arrival_seconds,
    camera_zone,
    frame_evidence,
    overrides_of,
    regroupings_of,
)
from onsite.reconcile.shoot_times import ClockCorrection, read_clock_corrections, timing_along
from onsite.roster.people_in_store import removed_ids
from onsite.store.events import Event, EventKind, read_events
from onsite.store.schema import DeckCard, EventRow, Frame, Person, VerdictRow
from onsite.store.shoot import Shoot

_BEFORE = 60
"""Frames matched before the first one told, so that its run is known from its slate on."""

_A_SECOND = timedelta(seconds=1)
_SHOWN_LONG_BEFORE = 10  # one showing in so many may be left out of account
_SHOWN_AT_MOST = 400  # as many as eight stations show while one of them shoots fifty people


@dataclass(frozen=True, slots=True)
class LiveFrame:
    """One frame. `taken` is the camera's own time, `shoot_time` that put right. `slate_status` is set on
    slates: what the slate is, with whose in `person`. `run` is the first frame of its run."""

    frame: int
    name: str
    counter: int | None
    taken: datetime | None
    shoot_time: datetime | None
    kind: FrameKind
    person: int | None
    how: NamedBy
    doubt: str
    run: int | None
    slate_status: SlateStatus | None = None

    @property
    def is_slate(self) -> bool:
        return self.slate_status is not None

    @property
    def camera_time(self) -> datetime | None:
        """The camera's own time where that is not shoot time, to a second."""
        if self.taken is None or self.shoot_time is None:
            return None
        return self.taken if abs(self.taken - self.shoot_time) >= _A_SECOND else None


def live_frames(shoot: Shoot, camera_id: int, last: int = 300) -> list[LiveFrame]:
    """The last frames of a camera in shooting order, with what they would be named by these frames alone."""
    with shoot.reading() as session:
        rows = session.exec(
            select(Frame.id, VerdictRow.frame_id, Frame.name, Frame.counter, Frame.taken)  # type: ignore[call-overload]
            .outerjoin(VerdictRow, col(VerdictRow.frame_id) == col(Frame.id))
            .where(Frame.camera_id == camera_id)
            .order_by(col(Frame.id).desc())
            .limit(last + _BEFORE)
        ).all()
        facts = {row[0]: row[2:] for row in rows if row[0] is not None}
        matched = {row[1] for row in rows}
        evidence = gather_evidence_for(session, shoot, list(facts))
        found = match(evidence)
        times = live_times(session, evidence.frames, matched, found, camera_zone(shoot))
    return [
        _live(verdict, times.get(verdict.frame), *facts[verdict.frame]) for verdict in found.verdicts[-last:]
    ]


def live_frames_of(shoot: Shoot, frames: Collection[int]) -> dict[int, LiveFrame]:
    """Frames that have just come in, by id, each as it stands among the last ones of its camera."""
    with shoot.reading() as session:
        wanted = select(Frame.camera_id).where(col(Frame.id).in_(frames)).distinct()
        cameras = sorted(session.exec(wanted))
    found = (frame for camera in cameras for frame in live_frames(shoot, camera))
    return {frame.frame: frame for frame in found if frame.frame in frames}


def _live(
    verdict: FrameVerdict, time: datetime | None, name: str, counter: int | None, taken: datetime | None
) -> LiveFrame:
    meaning = None
    if verdict.kind is FrameKind.SLATE:
        meaning = SlateStatus(verdict.doubt) if verdict.doubt else SlateStatus.SLATE
    return LiveFrame(
        verdict.frame,
        name,
        counter,
        taken,
        None if time is None else time.replace(tzinfo=None),
        verdict.kind,
        verdict.person,
        verdict.how,
        verdict.doubt,
        verdict.run,
        meaning,
    )


def gather_evidence_for(session: Session, shoot: Shoot, frames: Sequence[int]) -> Evidence:
    """What is known about a few frames: whose the slates are that they show, when those people arrived and
    what else was shown meanwhile, and what hands decided on them. Nothing to suggest others from."""
    evident = frame_evidence(session, camera_zone(shoot), frames)
    texts = {symbol.text for frame in evident for symbol in frame.symbols if symbol.text}
    read = {code.text for text in texts if (code := parse_slate_code(text)) and code.shoot == shoot.mark}
    codes_query = select(Person.code, Person.id).where(col(Person.code).in_(read))
    removed = removed_ids(session)
    codes = {
        code: person
        for code, person in session.exec(codes_query)
        if person is not None and person not in removed
    }
    record = _EventReader(session)
    cards = _cards(session, record, read)
    people = {*codes.values(), *(tie.person for ties in cards.values() for tie in ties)}
    by_hand = record.events(OVERRIDE_KINDS, col(EventRow.frame_id).in_(frames))
    return Evidence(
        shoot=shoot.mark,
        frames=evident,
        codes=codes,
        arrived=arrival_seconds(record.events((EventKind.ARRIVED,), col(EventRow.person_id).in_(people))),
        cards=cards,
        slates_shown=_shown(record, {*codes.values(), *(ties[-1].person for ties in cards.values() if ties)}),
        overrides=overrides_of(by_hand, removed),
        regroupings=regroupings_of(by_hand),
    )


class _EventReader:
    """The events that still count, asked for a few at a time."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self._undone = {
            e for undo in read_events(session, (EventKind.UNDONE,)) for e in undo.details["undoes"]
        }

    def events(self, kinds: Iterable[EventKind], *where: ColumnElement[bool]) -> list[Event]:
        wanted = (
            select(
                EventRow.id,
                EventRow.at,
                EventRow.kind,
                EventRow.station,
                EventRow.person_id,
                EventRow.frame_id,
                EventRow.card_id,
                EventRow.details,
            )  # type: ignore[call-overload]
            .where(col(EventRow.kind).in_([kind.value for kind in kinds]), *where)
            .order_by(col(EventRow.at), col(EventRow.id))
        )
        rows = self.session.exec(wanted)
        return [
            Event(row[0], row[1], EventKind(row[2]), *row[3:]) for row in rows if row[0] not in self._undone
        ]


def _cards(session: Session, record: _EventReader, read: Collection[str]) -> dict[str, list[CardAssignment]]:
    """Who held each of the deck cards that were read, in order of time."""
    codes = dict(session.exec(select(DeckCard.id, DeckCard.code).where(col(DeckCard.code).in_(read))).all())
    ties: dict[str, list[CardAssignment]] = {code: [] for code in codes.values()}
    if codes:
        for event in record.events((EventKind.CARD_TIED,), col(EventRow.card_id).in_(codes)):
            if event.person_id is not None:
                ties[codes[event.card_id]].append(CardAssignment(event.at.timestamp(), event.person_id))
    return ties


def _shown(record: _EventReader, people: Collection[int]) -> list[SlateShown]:
    """The slates shown while these people were on set: from their last showings on, but for a few that were
    shown long before or again long after; and no more than `_SHOWN_AT_MOST` before and after the rest.

    The bounds are places in the record: what a camera's clock says is not known to be right here.
    """
    conditions = col(EventRow.kind) == EventKind.SLATE_SHOWN.value, col(EventRow.person_id).in_(people)
    newest = select(func.max(col(EventRow.id))).where(*conditions).group_by(col(EventRow.person_id))
    last = sorted(event for event in record.session.exec(newest) if event is not None)
    if not last:
        return []
    few = len(last) // _SHOWN_LONG_BEFORE
    first, middle = last[few], last[-1 - few]
    before = (
        select(col(EventRow.id))
        .where(col(EventRow.id).between(first, middle))
        .order_by(col(EventRow.id).desc())
    )
    after = select(col(EventRow.id)).where(col(EventRow.id) >= middle).order_by(col(EventRow.id))
    start, end = (record.session.exec(_of_showings(window)).all()[-1] for window in (before, after))
    events = record.events((EventKind.SLATE_SHOWN,), col(EventRow.id).between(start, end))
    return [SlateShown(e.at.timestamp(), e.person_id, e.station) for e in events if e.person_id is not None]


def _of_showings(events: SelectOfScalar[int | None]) -> SelectOfScalar[int | None]:
    """The first of these events in which a slate was shown."""
    return events.where(col(EventRow.kind) == EventKind.SLATE_SHOWN.value).limit(_SHOWN_AT_MOST)


# TODO The shoot time of a camera's last frames, for the screen on set and while frames land.


def live_times(
    session: Session,
    frames: Sequence[FrameEvidence],
    matched: Container[int],
    found: MatchResult,
    zone: timezone,
) -> dict[int, datetime]:
    """The shoot time, in `zone`, of each of one camera's frames that has a time. The whole match knew those
    in `matched`; `found` is what a match of nothing but these frames found.

    What the whole match said of a clock stands, and goes on for the frames after that until the clock is set.
    These frames' own evidence tells only where the whole match knew nothing yet.
    """
    kept = _as_kept(session, frames, matched, zone) if frames else {}
    times = {frame.id: frame.taken for frame in frames}  # the camera's own, for a frame that has no place
    for lane, clocks in zip(found.lanes, found.clocks, strict=True):
        for piece, clock in zip(lane.pieces, clocks, strict=True):
            timing = ClockCorrection.of(clock, lane.frames[piece.start].id)
            for frame in lane.frames[piece.start : piece.stop]:
                timing = kept.get(frame.id, timing)
                times[frame.id] = None if frame.taken is None else timing.shoot_time(frame.taken)
    return {frame: datetime.fromtimestamp(time, zone) for frame, time in times.items() if time is not None}


def _as_kept(
    session: Session, frames: Sequence[FrameEvidence], matched: Container[int], zone: timezone
) -> dict[int, ClockCorrection]:
    """How each frame that the whole match knew is timed by it.

    A stretch with one clock may have begun long before them: where it did is put in line with them.
    """
    timings = read_clock_corrections(session, frames[0].camera)
    if not timings:
        return {frame.id: ClockCorrection(0) for frame in frames if frame.id in matched}
    began = frame_evidence(session, zone, sorted(timings.keys() - {frame.id for frame in frames}))
    return {
        frame.id: timing
        for lane in shooting_lanes([*frames, *began])[0]
        for frame, timing in zip(lane.frames, timing_along(lane, timings), strict=True)
        if frame.id in matched
    }
