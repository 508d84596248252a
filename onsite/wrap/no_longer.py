"""What a match takes back: names that frames had before it, and have no more."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby

from sqlmodel import Session, col, select

from onsite.matching.evidence import FrameKind, FrameVerdict, NamedBy
from onsite.matching.match import MatchResult
from onsite.store.tables import VerdictRow
from onsite.wrap.keep import matched_until


@dataclass(frozen=True, slots=True)
class LostName:
    """Frames in a row that were a person's, and whose they are `now`; None where they are nobody's."""

    person: int
    frames: tuple[int, ...]
    now: int | None


def stored_names(session: Session) -> dict[int, int]:
    """Who is on each frame by the last match; nobody where it is not whole."""
    if matched_until(session) < 0:
        return {}
    return {frame: person for frame, person, _ in _named(session)}


def find_lost_names(names: Mapping[int, int], outcome: MatchResult) -> tuple[LostName, ...]:
    """What a match says otherwise than the names before it, but for what hands decided."""

    def change(verdict: FrameVerdict) -> tuple[int, int | None] | None:
        before = names.get(verdict.frame)
        now = verdict.person if verdict.kind is FrameKind.NAMED else None
        return None if before is None or before == now or verdict.how is NamedBy.OVERRIDE else (before, now)

    return tuple(
        LostName(changed[0], tuple(verdict.frame for verdict in group), changed[1])
        for changed, group in groupby(outcome.verdicts, change)
        if changed is not None
    )


def computed_names(session: Session) -> dict[int, int]:
    """Who is on each frame by the last match, but for what hands decided; nobody where it is not whole."""
    if matched_until(session) < 0:
        return {}
    return {frame: person for frame, person, how in _named(session) if how != NamedBy.OVERRIDE}


def names_lost_since(session: Session, names: Mapping[int, int]) -> tuple[LostName, ...]:
    """What the last match says otherwise than the computed names before it, but for what hands decided since.
    Nothing where it is not whole."""
    if matched_until(session) < 0:
        return ()
    now = {frame: person for frame, person, _ in _named(session)}
    by_hand = set(
        session.exec(select(VerdictRow.frame_id).where(col(VerdictRow.how) == NamedBy.OVERRIDE.value))
    )

    def change(frame: int) -> tuple[int, int | None] | None:
        person = now.get(frame)
        return None if frame in by_hand or person == names[frame] else (names[frame], person)

    return tuple(
        LostName(changed[0], tuple(change_names), changed[1])
        for changed, change_names in groupby(sorted(names), change)
        if changed is not None
    )


def _named(session: Session) -> Iterator[tuple[int, int, str]]:
    wanted = select(VerdictRow.frame_id, VerdictRow.person_id, VerdictRow.how)
    rows = session.exec(wanted.where(col(VerdictRow.kind) == FrameKind.NAMED.value))
    yield from ((frame, person, how) for frame, person, how in rows if person is not None)
