"""Provisional match of one camera's last frames, for the screen on set.

Only these frames are matched, with only the evidence that they touch, so that it can be done as each frame
lands. The result is shown and never stored: the whole match has more evidence and overrules it. The frames'
shoot times are computed along with it.
"""

from __future__ import annotations

from collections.abc import Collection, Container, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta, timezone

import sqlalchemy as sa
from sqlmodel import Session, select

from onsite.core.codes import parse_slate_code
from onsite.matching.evidence import Evidence, FrameEvidence, FrameKind, FrameVerdict, NamedBy
from onsite.matching.match_frames import MatchResult, match
from onsite.matching.shooting_order import shooting_lanes
from onsite.matching.slate_status import SlateStatus, code_of
from onsite.reconcile.gather_evidence import (
    OVERRIDE_KINDS,
    arrival_seconds,
    camera_zone,
    card_assignments,
    frame_evidence,
    overrides_of,
    regroupings_of,
    slates_shown,
)
from onsite.reconcile.measured_clocks import measured_clocks
from onsite.reconcile.shoot_times import ClockCorrection, read_clock_corrections, timing_along
from onsite.roster.read_people import removed_ids
from onsite.store.events import read_events
from onsite.store.schema import EventRow, Frame, Person, VerdictRow
from onsite.store.shoot import Shoot

_BEFORE = 60
"""Frames matched before the first one returned, so that its run is known from its slate on."""

_A_SECOND = timedelta(seconds=1)


@dataclass(frozen=True, slots=True)
class LiveFrame:
    """A frame with its provisional verdict."""

    frame: int
    name: str
    counter: int | None
    taken: datetime | None
    """The camera's own time."""
    shoot_time: datetime | None
    """The corrected time."""
    kind: FrameKind
    person: int | None
    how: NamedBy
    doubt: str
    run: int | None
    """The first frame of its run."""
    slate_status: SlateStatus | None = None
    """Set on slates; their owner is `person`."""

    @property
    def is_slate(self) -> bool:
        return self.slate_status is not None

    @property
    def camera_time(self) -> datetime | None:
        """The camera's own time where it differs from shoot time by a second or more."""
        if self.taken is None or self.shoot_time is None:
            return None
        return self.taken if abs(self.taken - self.shoot_time) >= _A_SECOND else None


def live_frames(shoot: Shoot, camera_id: int, last: int = 300) -> list[LiveFrame]:
    """The last frames of a camera in shooting order, with their verdicts by these and the camera's last
    clock slate."""
    with shoot.reading() as session:
        rows = session.execute(
            sa.select(Frame.id, VerdictRow.kind, VerdictRow.person_id, Frame.name, Frame.counter, Frame.taken)
            .outerjoin(VerdictRow, VerdictRow.frame_id == Frame.id)
            .where(Frame.camera_id == camera_id)
            .order_by(Frame.id.desc())
            .limit(last + _BEFORE)
        ).all()
        facts = {row[0]: row[3:] for row in rows if row[0] is not None}
        matched = {frame for frame, kind, *_ in rows if kind is not None}
        owned = {
            frame for frame, kind, person, *_ in rows if kind == FrameKind.SLATE.value and person is not None
        }
        clock = measured_clocks(session, shoot).get(camera_id)
        before = [clock.frame] if clock is not None and not clock.set_since else []
        evidence = gather_evidence_for(session, shoot, [*facts, *before])
        evidence = replace(evidence, settled_cards=frozenset(_reused_cards(evidence)) & owned)
        found = match(evidence)
        times = live_times(session, evidence.frames, matched, found, camera_zone(shoot))
    asked = [verdict for verdict in found.verdicts if verdict.frame in facts][-last:]
    return [_live(verdict, times.get(verdict.frame), *facts[verdict.frame]) for verdict in asked]


def _reused_cards(evidence: Evidence) -> Iterator[int]:
    """The frames that show a deck card that was several people's."""
    for frame in evidence.frames:
        ties = evidence.cards.get(code_of(frame, evidence.shoot) or "", ()) if frame.symbols else ()
        if len({tie.person for tie in ties}) > 1:
            yield frame.id


def live_frames_of(shoot: Shoot, frames: Collection[int]) -> dict[int, LiveFrame]:
    """Frames that have just come in, by id, each with its verdict among the last frames of its camera."""
    with shoot.reading() as session:
        wanted = select(Frame.camera_id).where(Frame.id.in_(frames)).distinct()
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
    """The evidence about a few frames: the owners of the slates in them, when these people arrived
    and their slates were shown, and overrides. It has nobody else to suggest."""
    evident = frame_evidence(session, camera_zone(shoot), frames)
    texts = {symbol.text for frame in evident for symbol in frame.symbols if symbol.text}
    read = {code.text for text in texts if (code := parse_slate_code(text)) and code.shoot == shoot.mark}
    codes_query = select(Person.code, Person.id).where(Person.code.in_(read))
    removed = removed_ids(session)
    codes = {code: person for code, person in session.exec(codes_query) if person not in removed}
    cards = card_assignments(session, read)
    people = {*codes.values(), *(tie.person for ties in cards.values() for tie in ties)}
    by_hand = read_events(session, OVERRIDE_KINDS, EventRow.frame_id.in_(frames))
    return Evidence(
        shoot=shoot.mark,
        frames=evident,
        codes=codes,
        arrived=arrival_seconds(session, people),
        cards=cards,
        slates_shown=slates_shown(session, people),
        overrides=overrides_of(by_hand, removed),
        regroupings=regroupings_of(by_hand),
    )


def live_times(
    session: Session,
    frames: Sequence[FrameEvidence],
    matched: Container[int],
    found: MatchResult,
    zone: timezone,
) -> dict[int, datetime]:
    """The shoot time, in `zone`, of each of one camera's frames that has a time. Frames in `matched` were in
    the whole match; `found` is the match of just these frames.

    The whole match's clock corrections hold, and go on for later frames until the clock is set. The evidence
    of these frames is used only where the whole match has none.
    """
    kept = _as_kept(session, frames, matched, zone) if frames else {}
    # the camera's own time, for a frame that has no place
    times = {frame.id: frame.taken for frame in frames}
    for lane in found.lanes:
        for piece, clock in zip(lane.pieces, lane.clocks, strict=True):
            timing = ClockCorrection.of(clock, lane.frames[piece.start].id)
            for frame in lane.frames[piece.start : piece.stop]:
                timing = kept.get(frame.id, timing)
                times[frame.id] = None if frame.taken is None else timing.shoot_time(frame.taken)
    return {frame: datetime.fromtimestamp(time, zone) for frame, time in times.items() if time is not None}


def _as_kept(
    session: Session, frames: Sequence[FrameEvidence], matched: Container[int], zone: timezone
) -> dict[int, ClockCorrection]:
    """The clock correction of each frame that was in the whole match.

    A piece with one clock may have begun long before these frames: its first frame is put in order with them.
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
