"""Overrides: giving frames to a person, setting them aside, clearing that; splitting and joining runs; undo.

Each decision is recorded at one moment, so that it is undone as a whole. The functions that take ids are for
screens: they read only those rows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlmodel import Session, select

from onsite.core.errors import Problem
from onsite.core.frame_ref import frame_id_text, parse_frame_ref
from onsite.core.text import plural
from onsite.frames.find_frames import find_frames, frame_labels
from onsite.matching.evidence import FrameKind, NamedBy
from onsite.reconcile.current_match import update_match
from onsite.reconcile.gather_evidence import OVERRIDE_KINDS, overrides_of, regroupings_of
from onsite.reconcile.store_match import is_match_newest
from onsite.roster.find_people import RosterPerson
from onsite.roster.person_lookup import resolve_person
from onsite.roster.read_people import read_people
from onsite.store.events import IS_UNDONE, EventKind, add_event, read_events
from onsite.store.schema import EventRow, Frame, Person, VerdictRow
from onsite.store.shoot import Shoot

_AT_ONCE = 5_000  # ids in one query


@dataclass(frozen=True, slots=True)
class GivenFrames:
    """Frames given to a person. `slates` were inside a range, and stay slates."""

    person: RosterPerson
    frames: tuple[int, ...]
    slates: tuple[int, ...]


def give(shoot: Shoot, frames: Sequence[str], to: str, station: str = "") -> GivenFrames:
    """Give frames to a person, whatever the match says.

    A slate inside a range of counters stays a slate; a slate named by itself is given like any frame.
    """
    ranges = any(parse_frame_ref(text).is_range for text in frames)
    if ranges:
        update_match(shoot)
    with shoot.writing() as session:
        person = resolve_person(to, read_people(session))
        chosen = find_frames(session, frames)
        alone = [text for text in frames if not parse_frame_ref(text).is_range]
        named = set(find_frames(session, alone)) if alone else set()
        known = _slates(session, chosen) if ranges else set()
        slates = tuple(frame for frame in chosen if frame in known and frame not in named)
        given = tuple(frame for frame in chosen if frame not in slates)
        _record(shoot, session, EventKind.GIVEN, given, station, person_id=person.id)
    return GivenFrames(person, given, slates)


def set_aside(shoot: Shoot, frames: Sequence[str], station: str = "") -> list[int]:
    """Set frames aside: they are kept and never delivered."""
    with shoot.writing() as session:
        chosen = find_frames(session, frames)
        _record(shoot, session, EventKind.SET_ASIDE, chosen, station)
    return chosen


def clear_override(shoot: Shoot, frames: Sequence[str], station: str = "") -> list[int]:
    """Clear the overrides of these frames, splits and joins too: they are matched again.

    Raises Problem where there are none.
    """
    with shoot.writing() as session:
        chosen = find_frames(session, frames)
        _clear_overrides(shoot, session, chosen, station)
    return chosen


def give_frames(shoot: Shoot, frames: Sequence[int], person: int, station: str = "") -> None:
    """Give frames, by id, to a person. Raises Problem where a frame or the person does not exist."""
    with shoot.writing() as session:
        if session.get(Person, person) is None:
            raise Problem(f"There is no person {person} in this shoot.", "Choose somebody of the roster.")
        _record(shoot, session, EventKind.GIVEN, _known(session, frames), station, person_id=person)


def set_frames_aside(shoot: Shoot, frames: Sequence[int], station: str = "") -> None:
    """Set frames aside, by id. Raises Problem where one does not exist."""
    with shoot.writing() as session:
        _record(shoot, session, EventKind.SET_ASIDE, _known(session, frames), station)


def clear_overrides(shoot: Shoot, frames: Sequence[int], station: str = "") -> None:
    """Clear the overrides of frames, by id. Raises Problem where one does not exist, or none
    has an override."""
    with shoot.writing() as session:
        _clear_overrides(shoot, session, _known(session, frames), station)


def split_run(shoot: Shoot, frame: int, station: str = "") -> None:
    """Begin another run at this frame: what is cut off from its slate becomes loose.

    Raises Problem where the frame does not exist, or where a run is known to begin with it.
    """
    with shoot.writing() as session:
        _known(session, [frame])
        (verdict,) = _verdicts(session, frame)
        by_hand = verdict is not None and verdict.how == NamedBy.OVERRIDE
        if verdict is not None and not by_hand and frame == verdict.run:
            raise Problem(
                f"A run begins at {frame_labels(session)[frame]} already.",
                "Name a frame inside a run to split it there.",
            )
        _record(shoot, session, EventKind.SPLIT, [frame], station)


def join_runs(shoot: Shoot, frame: int, to: int, station: str = "") -> None:
    """Join the runs of two frames. Where only one run has a person, all frames are theirs; where there are
    two, no name is kept. A slate or a frame with an override lends its person to the other run.

    Raises Problem where a frame does not exist, or where the two are known to have no runs that can be
    joined.
    """
    with shoot.writing() as session:
        _known(session, [frame, to])
        first, other = session.get_one(Frame, frame), session.get_one(Frame, to)
        if first.camera_id != other.camera_id:
            labels = frame_labels(session)
            raise Problem(
                f"{labels[frame]} and {labels[to]} are of different cameras.",
                "Join runs of one camera, or give the frames to the person.",
            )
        _refuse_without_run(session, *_verdicts(session, frame, to))
        _record(shoot, session, EventKind.JOINED, [frame], station, to=to)


def _refuse_without_run(session: Session, first: VerdictRow | None, other: VerdictRow | None) -> None:
    if first is None or other is None:
        return
    if first.run == other.run:
        labels = frame_labels(session)
        names = f"{labels[first.frame_id]} and {labels[other.frame_id]}"
        raise Problem(f"{names} are in one run already.", "Name frames of two runs.")
    for verdict in (first, other):
        if verdict.kind == FrameKind.SET_ASIDE:
            name = frame_labels(session)[verdict.frame_id]
            raise Problem(f"{name} is set aside.", f"Take that back first: onsite frames free {name}")
        if verdict.kind == FrameKind.SLATE and verdict.person_id is None:
            name = frame_labels(session)[verdict.frame_id]
            raise Problem(
                f"{name} is a slate, and nobody knows whose.", f"Say so: onsite frames give {name} WHO"
            )


def _verdicts(session: Session, *frames: int) -> list[VerdictRow | None]:
    """The verdicts on these frames; None where an event since the last match may have changed them."""
    if not is_match_newest(session):
        return [None for _ in frames]
    return [session.get(VerdictRow, frame) for frame in frames]


def _clear_overrides(shoot: Shoot, session: Session, frames: Sequence[int], station: str) -> None:
    made = read_events(session, OVERRIDE_KINDS)
    ends = {
        end
        for regrouping in regroupings_of(made)
        for end in (regrouping.frame, getattr(regrouping, "to", regrouping.frame))
    }
    if not {*overrides_of(made), *ends}.intersection(frames):
        raise Problem("Nothing was decided by hand on these frames.", "There is nothing to take back.")
    _record(shoot, session, EventKind.FREED, frames, station)


def _record(
    shoot: Shoot, session: Session, kind: EventKind, frames: Sequence[int], station: str, **details: Any
) -> None:
    at = shoot.now()
    for frame in frames:
        add_event(session, kind, at, station=station, frame_id=frame, **details)


def _known(session: Session, frames: Sequence[int]) -> Sequence[int]:
    """The frames, each once. Raises Problem where one is not in the shoot."""
    wanted = list(dict.fromkeys(frames))
    there: set[int] = set()
    for start in range(0, len(wanted), _AT_ONCE):
        chunk = wanted[start : start + _AT_ONCE]
        there.update(session.exec(select(Frame.id).where(Frame.id.in_(chunk))))
    missing = next((frame for frame in wanted if frame not in there), None)
    if missing is not None or not wanted:
        what = "No frame was named." if missing is None else f"There is no frame {frame_id_text(missing)}."
        raise Problem(what, "Choose frames of this shoot.")
    return wanted


def _slates(session: Session, frames: Sequence[int]) -> set[int]:
    """The slates among the frames, as last matched."""
    slates = select(VerdictRow.frame_id).where(
        VerdictRow.kind == FrameKind.SLATE.value, VerdictRow.frame_id.in_(frames)
    )
    return set(session.exec(slates))


@dataclass(frozen=True, slots=True)
class UndoneOverride:
    """A decision that no longer counts."""

    kind: EventKind
    at: datetime
    """When it was made."""
    frames: tuple[int, ...]
    person: str = ""
    """Name of the person that the frames had been given to."""

    @property
    def text(self) -> str:
        """The decision in words, such as `given to Åsa Lindqvarn: 5 frames`."""
        what = f"given to {self.person}" if self.kind is EventKind.GIVEN else _WORDS[self.kind]
        return f"{what}: {plural(len(self.frames), 'frame')}"


_WORDS = {
    EventKind.SET_ASIDE: "set aside",
    EventKind.FREED: "a decision taken back",
    EventKind.SPLIT: "a run split",
    EventKind.JOINED: "two runs joined",
}


def undo_last_override(shoot: Shoot, station: str = "") -> UndoneOverride | None:
    """Undo the newest override made at this station, all of it; None where there is none left.

    Called again it goes further back. An earlier override that it had replaced counts again.
    """
    with shoot.writing() as session:
        last = _last(session, station)
        if last is None:
            return None
        same_decision = select(EventRow.id, EventRow.frame_id).where(
            EventRow.at == last.at, EventRow.kind == last.kind, EventRow.station == station
        )
        rows = session.exec(same_decision.order_by(EventRow.id)).all()
        frames = tuple(frame for _, frame in rows if frame is not None)
        person = session.get_one(Person, last.person_id).name if last.person_id is not None else ""
        undone = UndoneOverride(EventKind(last.kind), last.at, frames, person)
        add_event(
            session, EventKind.UNDONE, shoot.now(), station=station, undoes=[event for event, _ in rows]
        )
    return undone


def _last(session: Session, station: str) -> EventRow | None:
    """The newest event at a station, not undone, that records an override."""
    here = select(EventRow).where(
        EventRow.station == station, EventRow.kind.in_([kind.value for kind in OVERRIDE_KINDS]), ~IS_UNDONE
    )
    return session.exec(here.order_by(EventRow.id.desc()).limit(1)).first()
