"""What a match takes back: names that frames had before it, and have no more."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby

from sqlmodel import Session, col, select

from onsite.matching.evidence import FrameKind, FrameVerdict, How
from onsite.matching.match import Match
from onsite.store.tables import Verdict
from onsite.wrap.keep import matched_until


@dataclass(frozen=True, slots=True)
class NoLonger:
    """Frames in a row that were a person's, and whose they are `now`; None where they are nobody's."""

    person: int
    frames: tuple[int, ...]
    now: int | None


def names_kept(session: Session) -> dict[int, int]:
    """Who is on each frame by the last match; nobody where it is not whole."""
    if matched_until(session) < 0:
        return {}
    return {frame: person for frame, person, _ in _named(session)}


def no_longer(names: Mapping[int, int], outcome: Match) -> tuple[NoLonger, ...]:
    """What a match says otherwise than the names before it, but for what hands decided."""

    def change(verdict: FrameVerdict) -> tuple[int, int | None] | None:
        before = names.get(verdict.frame)
        now = verdict.person if verdict.kind is FrameKind.NAMED else None
        return None if before is None or before == now or verdict.how is How.HAND else (before, now)

    return tuple(
        NoLonger(changed[0], tuple(verdict.frame for verdict in some), changed[1])
        for changed, some in groupby(outcome.verdicts, change)
        if changed is not None
    )


def computed_names(session: Session) -> dict[int, int]:
    """Who is on each frame by the last match, but for what hands decided; nobody where it is not whole."""
    if matched_until(session) < 0:
        return {}
    return {frame: person for frame, person, how in _named(session) if how != How.HAND}


def lost_since(session: Session, names: Mapping[int, int]) -> tuple[NoLonger, ...]:
    """What the last match says otherwise than the computed names before it, but for what hands decided since.
    Nothing where it is not whole."""
    if matched_until(session) < 0:
        return ()
    now = {frame: person for frame, person, _ in _named(session)}
    by_hand = set(session.exec(select(Verdict.frame_id).where(col(Verdict.how) == How.HAND.value)))

    def change(frame: int) -> tuple[int, int | None] | None:
        person = now.get(frame)
        return None if frame in by_hand or person == names[frame] else (names[frame], person)

    return tuple(
        NoLonger(changed[0], tuple(some), changed[1])
        for changed, some in groupby(sorted(names), change)
        if changed is not None
    )


def _named(session: Session) -> Iterator[tuple[int, int, str]]:
    wanted = select(Verdict.frame_id, Verdict.person_id, Verdict.how)
    rows = session.exec(wanted.where(col(Verdict.kind) == FrameKind.NAMED.value))
    yield from ((frame, person, how) for frame, person, how in rows if person is not None)
