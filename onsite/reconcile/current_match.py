"""The current match: computed again whenever an event since the last match may change a name, and kept for
screens."""

from __future__ import annotations

from dataclasses import replace

from sqlmodel import Session, func, select

from onsite.core.errors import CannotWrite
from onsite.matching.evidence import FrameKind, FrameVerdict
from onsite.matching.match_frames import MatchResult, match
from onsite.reconcile.gather_evidence import gather_evidence
from onsite.reconcile.match_summary import (
    LostName,
    MatchSummary,
    find_lost_names,
    stored_names,
    summarise_match,
)
from onsite.reconcile.store_match import is_match_newest, matched_until, read_verdicts, save_match
from onsite.store.events import newest_event_id
from onsite.store.schema import Frame, VerdictRow
from onsite.store.shoot import Shoot

__all__ = [
    "current_verdicts",
    "frames_per_person",
    "is_match_current",
    "match_now",
    "matched_until",
    "names_lost",
    "summary_now",
    "update_match",
]

_TRIES = 5  # readings, where other stations keep later matches meanwhile


def match_now(shoot: Shoot) -> MatchResult:
    """Match everything, keep the outcome, and return it."""
    return _matched(shoot)[0]


def summary_now(shoot: Shoot) -> MatchSummary:
    """Match everything, keep the outcome, and return the summary with the names lost.

    Raises Problem if the verdicts do not add up to the frames in the shoot.
    """
    with shoot.reading() as session:
        names = stored_names(session)
    outcome, summary, _ = _matched(shoot)
    return replace(summary, lost_names=find_lost_names(names, outcome))


def names_lost(shoot: Shoot) -> tuple[LostName, ...]:
    """Match again if an event since the last match may change a name, and return the names lost by it. Empty
    where the shoot was never matched: there were no names to lose."""
    with shoot.reading() as session:
        names = {} if is_match_newest(session) else stored_names(session)
    return find_lost_names(names, match_now(shoot)) if names else ()


def _matched(shoot: Shoot) -> tuple[MatchResult, MatchSummary, bool]:
    """Match everything; the last value says whether the outcome could be kept: on a full disk it is not."""
    with shoot.reading() as session:
        until = newest_event_id(session)
        frames_in = session.exec(select(func.count(Frame.id))).one()
        outcome = match(gather_evidence(session, shoot))
    summary = summarise_match(outcome, frames_in)
    try:
        save_match(shoot, outcome, until)
    except CannotWrite:
        return outcome, summary, False
    return outcome, summary, True


def current_verdicts(shoot: Shoot) -> dict[int, FrameVerdict]:
    """The current verdict on every frame, by frame."""
    for _ in range(_TRIES):
        if not is_match_current(shoot):
            outcome, _, kept = _matched(shoot)
            if not kept:
                return {verdict.frame: verdict for verdict in outcome.verdicts}
        with shoot.reading() as session:
            whole = matched_until(session) >= 0
            verdicts = read_verdicts(session)
        if whole:  # else another station has begun to keep a later match
            break
    return verdicts


def is_match_current(shoot: Shoot) -> bool:
    """Whether no event since the last match may change a name."""
    with shoot.reading() as session:
        return is_match_newest(session)


def update_match(shoot: Shoot) -> None:
    """Match again if an event since the last match may change a name."""
    if not is_match_current(shoot):
        match_now(shoot)


def frames_per_person(session: Session) -> dict[int, int]:
    """Number of frames named for each person, as last matched."""
    person = VerdictRow.person_id
    counted = (
        select(person, func.count())
        .where(VerdictRow.kind == FrameKind.NAMED.value, person.is_not(None))
        .group_by(person)
    )
    return {who: count for who, count in session.exec(counted) if who is not None}
