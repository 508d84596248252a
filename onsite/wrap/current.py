"""The match as it stands: made anew whenever something has happened since, and kept for the screens."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import delete, insert
from sqlmodel import Session, col, func, select

from onsite.matching.evidence import FrameKind, FrameVerdict
from onsite.matching.match import Match, match
from onsite.store.record import newest_event
from onsite.store.shoot import Shoot
from onsite.store.tables import Frame, Meta, Verdict
from onsite.wrap.gather import gather
from onsite.wrap.summary import Wrap, summarise

_MATCHED = "matched_event"
_CHUNK = 5000


@dataclass(frozen=True, slots=True)
class Stand:
    """What the last match said of a frame, as stored."""

    frame: int
    kind: FrameKind
    person: int | None
    how: str
    doubt: str
    run: int | None
    suggestions: list[dict[str, Any]]


def match_now(shoot: Shoot) -> Match:
    """Matches everything, keeps the outcome, and returns it."""
    return _matched(shoot)[0]


def wrap_now(shoot: Shoot) -> Wrap:
    """Matches everything, keeps the outcome, and returns the day's wrap.

    Raises Problem if the verdicts do not add up to the frames in the shoot.
    """
    return _matched(shoot)[1]


def _matched(shoot: Shoot) -> tuple[Match, Wrap]:
    with shoot.reading() as session:
        until = newest_event(session)
        frames_in = session.exec(select(func.count(col(Frame.id)))).one()
        outcome = match(gather(session, shoot))
    wrap = summarise(outcome, frames_in)
    _keep(shoot, outcome, until)
    return outcome, wrap


def stands(shoot: Shoot) -> dict[int, Stand]:
    """What is decided of every frame, by frame, up to date, in shooting order."""
    bring_up_to_date(shoot)
    with shoot.reading() as session:
        rows = session.exec(
            select(  # type: ignore[call-overload]
                Verdict.frame_id,
                Verdict.kind,
                Verdict.person_id,
                Verdict.how,
                Verdict.doubt,
                Verdict.run,
                Verdict.suggestions,
            )
        ).all()
    return {row[0]: Stand(row[0], FrameKind(row[1]), *row[2:]) for row in rows}


def bring_up_to_date(shoot: Shoot) -> None:
    """Matches again if anything has happened since the last match."""
    with shoot.reading() as session:
        fresh = _matched_until(session) == newest_event(session)
    if not fresh:
        match_now(shoot)


def _matched_until(session: Session) -> int:
    meta = session.get(Meta, _MATCHED)
    return int(meta.value) if meta else -1


def _keep(shoot: Shoot, outcome: Match, until: int) -> None:
    rows = [_row(verdict) for verdict in outcome.verdicts]
    with shoot.writing() as session:
        if _matched_until(session) > until:
            return  # another station matched later evidence meanwhile
        session.execute(delete(Verdict))
        for start in range(0, len(rows), _CHUNK):
            session.execute(insert(Verdict), rows[start : start + _CHUNK])
        session.merge(Meta(key=_MATCHED, value=str(until)))


def _row(verdict: FrameVerdict) -> dict[str, Any]:
    return {
        "frame_id": verdict.frame,
        "kind": verdict.kind.value,
        "person_id": verdict.person,
        "how": verdict.how.value,
        "doubt": verdict.doubt,
        "run": verdict.run,
        "suggestions": [
            {"person": s.person, "score": s.score, "reasons": list(s.reasons)} for s in verdict.suggestions
        ],
    }


def frames_of(session: Session) -> dict[int, int]:
    """How many frames are named for each person, as last matched."""
    counts: dict[int, int] = {}
    for person in session.exec(select(Verdict.person_id).where(col(Verdict.kind) == FrameKind.NAMED.value)):
        if person is not None:
            counts[person] = counts.get(person, 0) + 1
    return counts
