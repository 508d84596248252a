"""The match as it stands: made anew whenever something has happened since, and kept for the screens."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from sqlmodel import Session, col, func, select

from onsite.matching.evidence import FrameKind
from onsite.matching.match import Match, match
from onsite.store.record import newest_event
from onsite.store.shoot import Shoot
from onsite.store.tables import Frame, Verdict
from onsite.wrap.gather import gather
from onsite.wrap.keep import is_settled, keep, matched_until
from onsite.wrap.no_longer import NoLonger, names_kept, no_longer
from onsite.wrap.summary import Wrap, summarise

__all__ = [
    "Stand",
    "bring_up_to_date",
    "frames_of",
    "is_fresh",
    "match_now",
    "matched_until",
    "names_taken",
    "stands",
    "wrap_now",
]

_TRIES = 5


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
    """Matches everything, keeps the outcome, and returns the day's wrap, with what it takes back.

    Raises Problem if the verdicts do not add up to the frames in the shoot.
    """
    with shoot.reading() as session:
        names = names_kept(session)
    outcome, wrap = _matched(shoot)
    return replace(wrap, no_longer=no_longer(names, outcome))


def names_taken(shoot: Shoot) -> tuple[NoLonger, ...]:
    """Matches again, where something has happened since that may change a name, and returns the names that
    this takes away. None where the shoot was never matched: there were no names to lose."""
    with shoot.reading() as session:
        names = {} if is_settled(session) else names_kept(session)
    return no_longer(names, match_now(shoot)) if names else ()


def _matched(shoot: Shoot) -> tuple[Match, Wrap]:
    with shoot.reading() as session:
        until = newest_event(session)
        frames_in = session.exec(select(func.count(col(Frame.id)))).one()
        outcome = match(gather(session, shoot))
    wrap = summarise(outcome, frames_in)
    keep(shoot, outcome, until)
    return outcome, wrap


def stands(shoot: Shoot) -> dict[int, Stand]:
    """What is decided of every frame, by frame, up to date."""
    for _ in range(_TRIES):
        bring_up_to_date(shoot)
        with shoot.reading() as session:
            whole = matched_until(session) >= 0
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
        if whole:  # else another station has begun to keep a later match
            break
    return {row[0]: Stand(row[0], FrameKind(row[1]), *row[2:]) for row in rows}


def is_fresh(shoot: Shoot) -> bool:
    """Whether nothing has happened since the last match that may change a name."""
    with shoot.reading() as session:
        return is_settled(session)


def bring_up_to_date(shoot: Shoot) -> None:
    """Matches again if anything has happened since the last match that may change a name."""
    if not is_fresh(shoot):
        match_now(shoot)


def frames_of(session: Session) -> dict[int, int]:
    """How many frames are named for each person, as last matched."""
    person = col(Verdict.person_id)
    counted = (
        select(person, func.count())
        .where(col(Verdict.kind) == FrameKind.NAMED.value, person.is_not(None))
        .group_by(person)
    )
    return {who: count for who, count in session.exec(counted) if who is not None}
