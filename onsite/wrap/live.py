"""The last frames of one camera as they would be named now, for the screen on set.

Only that camera's last frames are matched, with no more of the evidence than they touch, so that it can be
done as each frame lands. It is shown and never kept: the whole match has more to go by and has the last word.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import ColumnElement
from sqlmodel import Session, col, func, select
from sqlmodel.sql.expression import SelectOfScalar

from onsite.matching.evidence import Evidence, FrameKind, FrameVerdict, How, Shown, Tie
from onsite.matching.marks import Meaning
from onsite.matching.match import match
from onsite.roster.people import removed_ids
from onsite.slate.code import parse
from onsite.store.record import Happening, Kind, happened
from onsite.store.shoot import Shoot
from onsite.store.tables import Card, Event, Frame, Person, Verdict
from onsite.wrap.gather import BY_HAND, arrivals, camera_zone, decisions, frames_of_evidence, regrouped
from onsite.wrap.live_times import live_times

_BEFORE = 60
"""Frames matched before the first one told, so that its run is known from its slate on."""

_A_SECOND = timedelta(seconds=1)
_SHOWN_LONG_BEFORE = 10  # one showing in so many may be left out of account
_SHOWN_AT_MOST = 400  # as many as eight stations show while one of them shoots fifty people


@dataclass(frozen=True, slots=True)
class LiveFrame:
    """One frame. `taken` is the camera's own time, `shoot_time` that put right. `meaning` is set on slates:
    what the slate is, with whose in `person`. `run` is the first frame of its run."""

    frame: int
    name: str
    counter: int | None
    taken: datetime | None
    shoot_time: datetime | None
    kind: FrameKind
    person: int | None
    how: How
    doubt: str
    run: int | None
    meaning: Meaning | None = None

    @property
    def is_slate(self) -> bool:
        return self.meaning is not None

    @property
    def camera_time(self) -> datetime | None:
        """The camera's own time where that is not shoot time, to a second."""
        if self.taken is None or self.shoot_time is None:
            return None
        return self.taken if abs(self.taken - self.shoot_time) >= _A_SECOND else None


def live(shoot: Shoot, camera_id: int, last: int = 300) -> list[LiveFrame]:
    """The last frames of a camera in shooting order, with what they would be named by these frames alone."""
    with shoot.reading() as session:
        rows = session.exec(
            select(Frame.id, Verdict.frame_id, Frame.name, Frame.counter, Frame.taken)  # type: ignore[call-overload]
            .outerjoin(Verdict, col(Verdict.frame_id) == col(Frame.id))
            .where(Frame.camera_id == camera_id)
            .order_by(col(Frame.id).desc())
            .limit(last + _BEFORE)
        ).all()
        facts = {row[0]: row[2:] for row in rows if row[0] is not None}
        matched = {row[1] for row in rows}
        evidence = gather_some(session, shoot, list(facts))
        found = match(evidence)
        times = live_times(session, evidence.frames, matched, found, camera_zone(shoot))
    return [
        _live(verdict, times.get(verdict.frame), *facts[verdict.frame]) for verdict in found.verdicts[-last:]
    ]


def live_of(shoot: Shoot, frames: Collection[int]) -> dict[int, LiveFrame]:
    """Frames that have just come in, by id, each as it stands among the last ones of its camera."""
    with shoot.reading() as session:
        wanted = select(Frame.camera_id).where(col(Frame.id).in_(frames)).distinct()
        cameras = sorted(session.exec(wanted))
    found = (frame for camera in cameras for frame in live(shoot, camera))
    return {frame.frame: frame for frame in found if frame.frame in frames}


def _live(
    verdict: FrameVerdict, time: datetime | None, name: str, counter: int | None, taken: datetime | None
) -> LiveFrame:
    meaning = None
    if verdict.kind is FrameKind.SLATE:
        meaning = Meaning(verdict.doubt) if verdict.doubt else Meaning.SLATE
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


def gather_some(session: Session, shoot: Shoot, frames: Sequence[int]) -> Evidence:
    """What is known about a few frames: whose the slates are that they show, when those people arrived and
    what else was shown meanwhile, and what hands decided on them. Nothing to suggest others from."""
    evident = frames_of_evidence(session, camera_zone(shoot), frames)
    texts = {symbol.text for frame in evident for symbol in frame.symbols if symbol.text}
    read = {code.text for text in texts if (code := parse(text)) and code.shoot == shoot.mark}
    theirs = select(Person.code, Person.id).where(col(Person.code).in_(read))
    removed = removed_ids(session)
    codes = {
        code: person for code, person in session.exec(theirs) if person is not None and person not in removed
    }
    record = _Record(session)
    cards = _cards(session, record, read)
    people = {*codes.values(), *(tie.person for ties in cards.values() for tie in ties)}
    by_hand = record.events(BY_HAND, col(Event.frame_id).in_(frames))
    return Evidence(
        shoot=shoot.mark,
        frames=evident,
        people=sorted(people),
        codes=codes,
        arrived=arrivals(record.events((Kind.ARRIVED,), col(Event.person_id).in_(people))),
        cards=cards,
        shown=_shown(record, {*codes.values(), *(ties[-1].person for ties in cards.values() if ties)}),
        by_hand=decisions(by_hand, removed),
        regrouped=regrouped(by_hand),
    )


class _Record:
    """The events that still count, asked for a few at a time."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self._undone = {e for undo in happened(session, (Kind.UNDONE,)) for e in undo.details["undoes"]}

    def events(self, kinds: Iterable[Kind], *where: ColumnElement[bool]) -> list[Happening]:
        wanted = (
            select(
                Event.id,
                Event.at,
                Event.kind,
                Event.station,
                Event.person_id,
                Event.frame_id,
                Event.card_id,
                Event.details,
            )  # type: ignore[call-overload]
            .where(col(Event.kind).in_([kind.value for kind in kinds]), *where)
            .order_by(col(Event.at), col(Event.id))
        )
        rows = self.session.exec(wanted)
        return [
            Happening(row[0], row[1], Kind(row[2]), *row[3:]) for row in rows if row[0] not in self._undone
        ]


def _cards(session: Session, record: _Record, read: Collection[str]) -> dict[str, list[Tie]]:
    """Who held each of the deck cards that were read, in order of time."""
    codes = dict(session.exec(select(Card.id, Card.code).where(col(Card.code).in_(read))).all())
    ties: dict[str, list[Tie]] = {code: [] for code in codes.values()}
    if codes:
        for event in record.events((Kind.CARD_TIED,), col(Event.card_id).in_(codes)):
            if event.person_id is not None:
                ties[codes[event.card_id]].append(Tie(event.at.timestamp(), event.person_id))
    return ties


def _shown(record: _Record, people: Collection[int]) -> list[Shown]:
    """The slates shown while these people were on set: from their last showings on, but for a few that were
    shown long before or again long after; and no more than `_SHOWN_AT_MOST` before and after the rest.

    The bounds are places in the record: what a camera's clock says is not known to be right here.
    """
    theirs = col(Event.kind) == Kind.SLATE_SHOWN.value, col(Event.person_id).in_(people)
    newest = select(func.max(col(Event.id))).where(*theirs).group_by(col(Event.person_id))
    last = sorted(event for event in record.session.exec(newest) if event is not None)
    if not last:
        return []
    few = len(last) // _SHOWN_LONG_BEFORE
    first, middle = last[few], last[-1 - few]
    before = select(col(Event.id)).where(col(Event.id).between(first, middle)).order_by(col(Event.id).desc())
    after = select(col(Event.id)).where(col(Event.id) >= middle).order_by(col(Event.id))
    start, end = (record.session.exec(_of_showings(some)).all()[-1] for some in (before, after))
    events = record.events((Kind.SLATE_SHOWN,), col(Event.id).between(start, end))
    return [Shown(e.at.timestamp(), e.person_id, e.station) for e in events if e.person_id is not None]


def _of_showings(events: SelectOfScalar[int | None]) -> SelectOfScalar[int | None]:
    """The first of these events in which a slate was shown."""
    return events.where(col(Event.kind) == Kind.SLATE_SHOWN.value).limit(_SHOWN_AT_MOST)
