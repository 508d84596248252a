"""Decisions by hand: giving frames, setting them aside, taking that back; splitting and joining runs.

Each decision is recorded at one moment, so that it can be undone as one (`undo`). The functions that take ids
are for screens: they look at nothing but those rows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlmodel import Session, col, select

from onsite.frames.called import frame_labels
from onsite.matching.evidence import FrameKind, How
from onsite.problems import Problem
from onsite.roster.find import Someone, who
from onsite.roster.people import people
from onsite.store.record import Kind, add, happened
from onsite.store.shoot import Shoot
from onsite.store.tables import Frame, Person, Verdict
from onsite.wrap.choose import choose, frame_name, is_range
from onsite.wrap.current import bring_up_to_date
from onsite.wrap.gather import BY_HAND, decisions, regrouped
from onsite.wrap.keep import is_settled

_AT_ONCE = 5_000  # ids in one query


@dataclass(frozen=True, slots=True)
class Given:
    """Frames given to a person by hand. `slates` lay in a range that was named, and stay slates."""

    person: Someone
    frames: tuple[int, ...]
    slates: tuple[int, ...]


def give(shoot: Shoot, frames: Sequence[str], to: str, station: str = "") -> Given:
    """These frames are that person's, whatever is computed.

    A slate inside a range of counters stays a slate; one that is named by itself is given like any frame.
    """
    ranges = any(is_range(text) for text in frames)
    if ranges:
        bring_up_to_date(shoot)
    with shoot.writing() as session:
        person = who(to, people(session))
        chosen = choose(session, frames)
        alone = [text for text in frames if not is_range(text)]
        named = set(choose(session, alone)) if alone else set()
        known = _slates(session, chosen) if ranges else set()
        slates = tuple(frame for frame in chosen if frame in known and frame not in named)
        given = tuple(frame for frame in chosen if frame not in slates)
        _record(shoot, session, Kind.GIVEN, given, station, person_id=person.id)
    return Given(person, given, slates)


def set_aside(shoot: Shoot, frames: Sequence[str], station: str = "") -> list[int]:
    """These frames are kept and never delivered."""
    with shoot.writing() as session:
        chosen = choose(session, frames)
        _record(shoot, session, Kind.SET_ASIDE, chosen, station)
    return chosen


def free(shoot: Shoot, frames: Sequence[str], station: str = "") -> list[int]:
    """Takes back what was decided by hand on these frames, splits and joins too: they are matched again.

    Raises Problem where nothing was.
    """
    with shoot.writing() as session:
        chosen = choose(session, frames)
        _free(shoot, session, chosen, station)
    return chosen


def give_frames(shoot: Shoot, frames: Sequence[int], person: int, station: str = "") -> None:
    """These frames, by id, are that person's. Raises Problem where a frame or the person is not there."""
    with shoot.writing() as session:
        if session.get(Person, person) is None:
            raise Problem(f"There is no person {person} in this shoot.", "Choose somebody of the roster.")
        _record(shoot, session, Kind.GIVEN, _known(session, frames), station, person_id=person)


def set_frames_aside(shoot: Shoot, frames: Sequence[int], station: str = "") -> None:
    """Sets frames aside by their ids. Raises Problem where one is not there."""
    with shoot.writing() as session:
        _record(shoot, session, Kind.SET_ASIDE, _known(session, frames), station)


def free_frames(shoot: Shoot, frames: Sequence[int], station: str = "") -> None:
    """Takes back the decisions on frames by their ids. Raises Problem where one is not there, or where
    nothing was decided on any."""
    with shoot.writing() as session:
        _free(shoot, session, _known(session, frames), station)


def split(shoot: Shoot, frame: int, station: str = "") -> None:
    """From this frame on it is another run: what is cut off from its slate is loose.

    Raises Problem where the frame is not there, or where a run is known to begin with it.
    """
    with shoot.writing() as session:
        _known(session, [frame])
        (verdict,) = _verdicts(session, frame)
        by_hand = verdict is not None and verdict.how == How.HAND
        if verdict is not None and not by_hand and frame == verdict.run:
            raise Problem(
                f"A run begins at {frame_labels(session)[frame]} already.",
                "Name a frame inside a run to split it there.",
            )
        _record(shoot, session, Kind.SPLIT, [frame], station)


def join(shoot: Shoot, frame: int, to: int, station: str = "") -> None:
    """The runs of these two frames are one. Where only one of them has a person, all of it is theirs; where
    there are two, nobody's name is kept. A slate or a frame given by hand lends its person to the other run.

    Raises Problem where a frame is not there, or where the two are known to have no runs that can be joined.
    """
    with shoot.writing() as session:
        _known(session, [frame, to])
        one, other = session.get_one(Frame, frame), session.get_one(Frame, to)
        if one.camera_id != other.camera_id:
            labels = frame_labels(session)
            raise Problem(
                f"{labels[frame]} and {labels[to]} are of different cameras.",
                "Join runs of one camera, or give the frames to the person.",
            )
        _refuse_without_run(session, *_verdicts(session, frame, to))
        _record(shoot, session, Kind.JOINED, [frame], station, to=to)


def _refuse_without_run(session: Session, one: Verdict | None, other: Verdict | None) -> None:
    if one is None or other is None:
        return
    if one.run == other.run:
        labels = frame_labels(session)
        names = f"{labels[one.frame_id]} and {labels[other.frame_id]}"
        raise Problem(f"{names} are in one run already.", "Name frames of two runs.")
    for verdict in (one, other):
        if verdict.kind == FrameKind.ASIDE:
            name = frame_labels(session)[verdict.frame_id]
            raise Problem(f"{name} is set aside.", f"Take that back first: onsite frames free {name}")
        if verdict.kind == FrameKind.SLATE and verdict.person_id is None:
            name = frame_labels(session)[verdict.frame_id]
            raise Problem(
                f"{name} is a slate, and nobody knows whose.", f"Say so: onsite frames give {name} WHO"
            )


def _verdicts(session: Session, *frames: int) -> list[Verdict | None]:
    """What is known of these frames; None where something has happened since the last match."""
    if not is_settled(session):
        return [None for _ in frames]
    return [session.get(Verdict, frame) for frame in frames]


def _free(shoot: Shoot, session: Session, frames: Sequence[int], station: str) -> None:
    made = happened(session, BY_HAND)
    ends = {end for one in regrouped(made) for end in (one.frame, getattr(one, "to", one.frame))}
    if not {*decisions(made), *ends}.intersection(frames):
        raise Problem("Nothing was decided by hand on these frames.", "There is nothing to take back.")
    _record(shoot, session, Kind.FREED, frames, station)


def _record(
    shoot: Shoot, session: Session, kind: Kind, frames: Sequence[int], station: str, **details: Any
) -> None:
    at = shoot.now()
    for frame in frames:
        add(session, kind, at, station=station, frame_id=frame, **details)


def _known(session: Session, frames: Sequence[int]) -> Sequence[int]:
    """The frames, each once; a Problem where one is not in the shoot."""
    wanted = list(dict.fromkeys(frames))
    there: set[int] = set()
    for start in range(0, len(wanted), _AT_ONCE):
        some = wanted[start : start + _AT_ONCE]
        there.update(
            f for f in session.exec(select(Frame.id).where(col(Frame.id).in_(some))) if f is not None
        )
    missing = next((frame for frame in wanted if frame not in there), None)
    if missing is not None or not wanted:
        what = "No frame was named." if missing is None else f"There is no frame {frame_name(missing)}."
        raise Problem(what, "Choose frames of this shoot.")
    return wanted


def _slates(session: Session, frames: Sequence[int]) -> set[int]:
    """Those of the frames that are slates, as last matched."""
    slates = select(Verdict.frame_id).where(
        col(Verdict.kind) == FrameKind.SLATE.value, col(Verdict.frame_id).in_(frames)
    )
    return set(session.exec(slates))
