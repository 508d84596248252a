"""Stores the outcome of a match: only differences are written, and never for long at a time.

The check-in stations wait for the store's single write lock, so old and new verdicts are compared without it.
A few changes are written under one lock. Many (a first match, a changed clock offset) are written in
parts: the marker of the event up to which the store is matched is first replaced by a negative number of the
writer's own, which says that the verdicts are not whole. A writer that finds another marker than its own
gives up: another match began later, and compares with what is stored by then. A writer that dies leaves a
marker that says "not matched", and the next match repairs it.
"""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import delete, insert
from sqlmodel import Session, select

from onsite.matching.evidence import FrameKind, FrameVerdict, NamedBy, Suggestion
from onsite.matching.match_frames import MatchResult
from onsite.reconcile.shoot_times import ClockCorrection, clock_corrections, save_clock_corrections
from onsite.store.events import AFTERWARDS
from onsite.store.schema import EventRow, Meta, VerdictRow
from onsite.store.shoot import Shoot

_MATCHED = "matched_event"
_AT_ONCE = 1_500
"""Verdicts written under one lock, which takes a few hundredths of a second."""

Row = tuple[Any, ...]
_COLUMNS = ("frame_id", "kind", "person_id", "how", "doubt", "run", "suggestions", "certainty")


def matched_until(session: Session) -> int:
    """The last event that the stored match knew; negative where there is no complete match."""
    meta = session.get(Meta, _MATCHED)
    return int(meta.value) if meta else -1


def is_match_newest(session: Session) -> bool:
    """Whether no event since the stored match may change a name. Events after the shoot, such as a delivery,
    may not: a match of 100,000 frames is not computed again for them."""
    until = matched_until(session)
    since = select(EventRow.id).where(
        EventRow.id > until, EventRow.kind.not_in([kind.value for kind in AFTERWARDS])
    )
    return until >= 0 and session.exec(since.limit(1)).first() is None


def save_match(shoot: Shoot, outcome: MatchResult, until: int) -> None:
    """Store a match of everything up to the event `until`, unless a later match is stored already."""
    rows = {verdict.frame: _row(verdict) for verdict in outcome.verdicts}
    timings = clock_corrections(outcome)
    with shoot.reading() as session:
        marker = matched_until(session)
        changed, gone = _differences(session, rows)
    if marker == until and not changed and not gone:
        return
    few = marker >= 0 and len(changed) + len(gone) <= _AT_ONCE
    if not (few and _write(shoot, marker, until, changed, gone, timings)):
        _save_in_parts(shoot, rows, timings, until)


def _save_in_parts(
    shoot: Shoot, rows: dict[int, Row], timings: Sequence[ClockCorrection], until: int
) -> None:
    mine = -2 - secrets.randbits(48)
    with shoot.writing() as session:
        if matched_until(session) > until:
            return
        _set_mark(session, mine)
    with shoot.reading() as session:  # from here on no other station writes verdicts
        changed, gone = _differences(session, rows)
    for start in range(0, len(changed), _AT_ONCE):
        if not _write(shoot, mine, until, changed[start : start + _AT_ONCE], []):
            return
    for start in range(0, len(gone), _AT_ONCE):
        if not _write(shoot, mine, until, [], gone[start : start + _AT_ONCE]):
            return
    _write(shoot, mine, until, [], [], timings)


def _write(
    shoot: Shoot,
    marker: int,
    until: int,
    changed: Sequence[Row],
    gone: Sequence[int],
    timings: Sequence[ClockCorrection] | None = None,
) -> bool:
    """Write a part under the lock; the part with `timings` is the last. False where another station's match
    came in between.

    A later match that is stored already stays: then there is nothing to do.
    """
    with shoot.writing() as session:
        now = matched_until(session)
        if now > until:
            return True
        if now != marker:
            return False
        old = [*gone, *(row[0] for row in changed)]
        if old:
            session.execute(delete(VerdictRow).where(VerdictRow.frame_id.in_(old)))
        if changed:
            rows = [dict(zip(_COLUMNS, row, strict=True)) for row in changed]
            session.execute(insert(VerdictRow), rows)
        if timings is not None:
            save_clock_corrections(session, timings)
            _set_mark(session, until)
    return True


def _set_mark(session: Session, marker: int) -> None:
    session.merge(Meta(key=_MATCHED, value=str(marker)))


def _differences(session: Session, rows: dict[int, Row]) -> tuple[list[Row], list[int]]:
    """The rows to write, and the frames whose verdict is to be deleted."""
    kept = session.execute(select(*(getattr(VerdictRow, name) for name in _COLUMNS)))
    left = dict(rows)
    gone = []
    for row in kept:
        wanted = left.get(row[0])
        if wanted is None:
            gone.append(row[0])
        elif wanted == tuple(row):
            del left[row[0]]
    return list(left.values()), gone


def read_verdicts(session: Session) -> dict[int, FrameVerdict]:
    """The stored verdict on every frame, by frame."""
    rows = session.execute(select(*(getattr(VerdictRow, name) for name in _COLUMNS)))
    return {
        frame: FrameVerdict(
            frame,
            FrameKind(kind),
            person,
            NamedBy(how),
            doubt,
            run,
            stored_suggestions(suggestions),
            certainty,
        )
        for frame, kind, person, how, doubt, run, suggestions, certainty in rows
    }


def stored_suggestions(suggestions: Sequence[Mapping[str, Any]]) -> tuple[Suggestion, ...]:
    """The suggestions in a row of the table."""
    return tuple(Suggestion(s["person"], tuple(s["reasons"]), s.get("certainty", 0.0)) for s in suggestions)


def _row(verdict: FrameVerdict) -> Row:
    suggestions = [
        {"person": s.person, "reasons": list(s.reasons), "certainty": s.certainty}
        for s in verdict.suggestions
    ]
    return (
        verdict.frame,
        verdict.kind.value,
        verdict.person,
        verdict.how.value,
        verdict.doubt,
        verdict.run,
        suggestions,
        verdict.certainty,
    )
