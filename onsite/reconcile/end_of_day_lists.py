"""Lists for the end of the day: people and frames that need attention."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from onsite.checkin.waiting_people import arrivals
from onsite.core.text import plural
from onsite.core.times import format_clock_time
from onsite.matching.slate_status import SlateStatus
from onsite.reconcile.camera_lanes import DayLanes
from onsite.reconcile.current_match import frames_per_person
from onsite.reconcile.runs import LaneNoteKind, RunKind
from onsite.roster.find_people import RosterPerson
from onsite.roster.read_people import read_people
from onsite.store.shoot import Shoot


@dataclass(frozen=True, slots=True)
class PersonLine:
    """A person on a list: when they arrived, how many frames they have, and why they are listed."""

    person: RosterPerson
    arrived: datetime | None
    frames: int
    reason: str


@dataclass(frozen=True, slots=True)
class GapLine:
    """Counters `first` to `last` of a camera are missing before the frame `before`."""

    camera: str
    first: int
    last: int
    before: int
    reason: str


@dataclass(frozen=True, slots=True)
class SlateLine:
    """A slate that no frame follows, by its frame and that frame's label; `person` is its
    owner, where known."""

    frame: int
    label: str
    person: RosterPerson | None
    reason: str


@dataclass(frozen=True, slots=True)
class EndOfDayLists:
    """The lists of one day. `never_came` is the make-up day's list: on the client's list, neither arrived nor
    photographed."""

    arrived_not_shot: tuple[PersonLine, ...]
    shot_not_arrived: tuple[PersonLine, ...]
    never_came: tuple[PersonLine, ...]
    gaps: tuple[GapLine, ...]
    slates_without_frames: tuple[SlateLine, ...]


def read_end_of_day_lists(shoot: Shoot, lanes: DayLanes) -> EndOfDayLists:
    """The lists for a day as last matched."""
    with shoot.reading() as session:
        everybody = read_people(session)
        arrived = {person: at for person, (at, *_) in arrivals(session).items()}
        frames = frames_per_person(session)
    lines = [_line(shoot, person, arrived.get(person.id), frames.get(person.id, 0)) for person in everybody]
    known = {person.id: person for person in everybody}
    return EndOfDayLists(
        tuple(sorted(_pick(lines, here=True, shot=False), key=lambda line: str(line.arrived))),
        tuple(_pick(lines, here=False, shot=True)),
        tuple(line for line in _pick(lines, here=False, shot=False) if not line.person.withdrawn),
        tuple(_gaps(lanes)),
        tuple(_slates(lanes, known, frames)),
    )


def _line(shoot: Shoot, person: RosterPerson, arrived: datetime | None, frames: int) -> PersonLine:
    if arrived is not None:
        reason = f"came at {format_clock_time(arrived, shoot.zone)}, and has no frame"
    elif frames:
        reason = f"{plural(frames, 'frame is', 'frames are')} theirs, and nobody checked them in"
    else:
        reason = "neither arrived nor photographed"
    return PersonLine(person, arrived, frames, reason)


def _pick(lines: Iterable[PersonLine], here: bool, shot: bool) -> list[PersonLine]:
    return [line for line in lines if (line.arrived is not None, line.frames > 0) == (here, shot)]


def _gaps(lanes: DayLanes) -> Iterable[GapLine]:
    for lane in lanes.lanes:
        for run in lane.runs:
            for note in run.notes:
                if note.kind is LaneNoteKind.GAP and note.first is not None and note.last is not None:
                    yield GapLine(lane.label, note.first, note.last, note.frame, note.text)


def _slates(
    lanes: DayLanes, known: Mapping[int, RosterPerson], frames: Mapping[int, int]
) -> Iterable[SlateLine]:
    """Slates that no frames follow, except clock slates, and those of people who have frames elsewhere: their
    slate was shot twice."""
    for lane in lanes.lanes:
        for run in lane.runs:
            if run.kind is not RunKind.SLATE or run.doubt == SlateStatus.CLOCK:
                continue
            if run.person is None or not frames.get(run.person):
                why = f": {run.doubt}" if run.doubt else " this slate, and none is theirs"
                person = known.get(run.person or 0)
                yield SlateLine(run.first, lanes.labels[run.first], person, f"no frame follows{why}")
