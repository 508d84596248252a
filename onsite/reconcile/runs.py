"""Runs of a lane for display: slates, frames, and what comes before them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timezone
from enum import StrEnum

from onsite.core.file_counter import counter_text
from onsite.core.text import format_chance
from onsite.core.times import format_duration
from onsite.matching.evidence import FrameKind, FrameVerdict, NamedBy, Suggestion
from onsite.matching.match_frames import NOBODY_SEEN
from onsite.matching.shooting_order import ShootingLane
from onsite.matching.slate_status import SlateStatus

LONG_PAUSE = 480.0
"""Seconds without a frame from which on a pause is a break."""


class RunKind(StrEnum):
    """What the frames of a run are."""

    NAMED = "named"
    LOOSE = "loose"
    SET_ASIDE = "aside"
    SLATE = "slate without frames"


class LaneNoteKind(StrEnum):
    """What a note is about."""

    GAP = "gap"
    JUMP = "jump"


@dataclass(frozen=True, slots=True)
class LaneNote:
    """A gap or clock jump between two frames."""

    kind: LaneNoteKind
    frame: int
    """The frame after it."""
    text: str
    first: int | None = None
    """First missing counter."""
    last: int | None = None
    """Last missing counter."""
    seconds: float | None = None
    """Seconds by which the clock was set forward; negative for back."""


@dataclass(frozen=True, slots=True)
class LaneRun:
    """Consecutive frames of one run, one person and one kind."""

    first: int
    """Identifies the run: the id of its first frame, or of its slate where it has no frames."""
    camera: int
    kind: RunKind
    frames: tuple[int, ...] = ()
    slates: tuple[int, ...] = ()
    """Slates that open it."""
    tail_slates: tuple[int, ...] = ()
    """Tail slates that close it."""
    person: int | None = None
    how: NamedBy = NamedBy.NOTHING
    doubt: str = ""
    run: int | None = None
    """The run's number in the match: the parts of a run divided by an override share it."""
    suggestions: tuple[Suggestion, ...] = ()
    begins: datetime | None = None
    """Shoot time of the first frame."""
    ends: datetime | None = None
    """Shoot time of the last frame."""
    clock_error: float = 0.0
    """Seconds by which the camera's clock is slow, where times were corrected."""
    pause: float | None = None
    """Seconds since the frame before."""
    notes: tuple[LaneNote, ...] = ()
    is_override: bool = False
    """Whether any of its frames has an override."""
    certainty: float | None = None
    """Probability of the name, the least of its frames'; None where nothing is named."""

    @property
    def after_break(self) -> bool:
        """Whether a long pause comes before it: a break, or a clock set forward."""
        return self.pause is not None and self.pause >= LONG_PAUSE

    @property
    def shows_nobody(self) -> bool:
        """Whether it is a loose run of an empty backdrop, to be set aside."""
        return self.kind is RunKind.LOOSE and self.doubt == NOBODY_SEEN

    @property
    def everything(self) -> tuple[int, ...]:
        """Slates and frames, in shooting order."""
        return (*self.slates, *self.frames, *self.tail_slates)


@dataclass(slots=True)
class _RunRows:
    """Places of a run's frames while they are gathered. Slates have a row of their own."""

    decided: FrameVerdict
    by_hand: bool
    places: list[int] = field(default_factory=list)
    slates: list[int] = field(default_factory=list)
    tail: list[int] = field(default_factory=list)
    certainties: list[float] = field(default_factory=list)

    @property
    def is_slate(self) -> bool:
        return self.decided.kind is FrameKind.SLATE

    def takes(self, frame: int, decided: FrameVerdict) -> bool:
        """Whether the next frame belongs to this row."""
        mine = self.decided
        if (mine.kind, mine.person) != (decided.kind, decided.person):
            return False
        if self.is_slate:
            return (mine.doubt, mine.how) == (decided.doubt, decided.how)
        if mine.kind is FrameKind.SET_ASIDE or mine.run == decided.run:
            return True
        return mine.how is decided.how is NamedBy.OVERRIDE and decided.run == frame


def runs_of(
    lane: ShootingLane,
    verdicts: Mapping[int, FrameVerdict],
    suggested: Mapping[int, tuple[Suggestion, ...]],
    times: Sequence[float | None],
    zone: timezone,
) -> list[LaneRun]:
    """The runs of a lane whose frames were taken at `times`. Frames without a verdict are in none."""
    places = [place for place, frame in enumerate(lane.frames) if frame.id in verdicts]
    rows = _with_slates(_rows(lane, verdicts, places))
    notes = notes_of(lane)
    return [_run(lane, row, suggested, times, notes, zone) for row in rows]


def _rows(
    lane: ShootingLane, verdicts: Mapping[int, FrameVerdict], places: Sequence[int]
) -> Iterator[_RunRows]:
    row: _RunRows | None = None
    for place in places:
        frame = lane.frames[place].id
        decided = verdicts[frame]
        if row is None or not row.takes(frame, decided):
            if row is not None:
                yield row
            row = _RunRows(decided, False)
        row.places.append(place)
        row.by_hand |= decided.how is NamedBy.OVERRIDE
        if decided.certainty is not None:
            row.certainties.append(decided.certainty)
    if row is not None:
        yield row


def _with_slates(rows: Iterator[_RunRows]) -> list[_RunRows]:
    """Attach each slate to the frames that it opens, or as a tail slate closes."""
    done: list[_RunRows] = []
    for row in rows:
        before = done[-1] if done else None
        if before is None:
            done.append(row)
        elif row.is_slate and _closes(row.decided, before):
            before.tail += row.places
        elif not row.is_slate and before.is_slate and before.decided.doubt != SlateStatus.CLOCK:
            row.slates = before.places
            done[-1] = row
        else:
            done.append(row)
    return done


def _closes(slate: FrameVerdict, before: _RunRows) -> bool:
    return (
        slate.how is NamedBy.TAIL_SLATE
        and not before.is_slate
        and slate.person == before.decided.person is not None
    )


def _run(
    lane: ShootingLane,
    row: _RunRows,
    suggested: Mapping[int, tuple[Suggestion, ...]],
    times: Sequence[float | None],
    notes: Mapping[int, Sequence[LaneNote]],
    zone: timezone,
) -> LaneRun:
    frames = lane.frames
    slates = row.places if row.is_slate else row.slates
    portraits = [] if row.is_slate else row.places
    everything = [*slates, *portraits, *row.tail]
    timed = [(time, frames[place].taken) for place in everything if (time := times[place]) is not None]
    begins, ends = (timed[0][0], timed[-1][0]) if timed else (None, None)
    earlier = times[everything[0] - 1] if everything[0] else None
    begin = times[everything[0]]
    decided = row.decided
    return LaneRun(
        first=frames[(portraits or slates)[0]].id,
        camera=lane.camera,
        kind=RunKind.SLATE if row.is_slate else RunKind(decided.kind.value),
        frames=tuple(frames[place].id for place in portraits),
        slates=tuple(frames[place].id for place in slates),
        tail_slates=tuple(frames[place].id for place in row.tail),
        person=decided.person,
        how=decided.how,
        doubt=decided.doubt,
        run=decided.run,
        suggestions=suggested.get(decided.run or 0, ()) if decided.kind is FrameKind.LOOSE else (),
        begins=None if begins is None else datetime.fromtimestamp(begins, zone),
        ends=None if ends is None else datetime.fromtimestamp(ends, zone),
        clock_error=timed[0][0] - (timed[0][1] or 0.0) if timed else 0.0,
        pause=None if begin is None or earlier is None else begin - earlier,
        notes=tuple(note for place in everything for note in notes.get(frames[place].id, ())),
        is_override=row.by_hand,
        certainty=min(row.certainties, default=None),
    )


def certainty_text(certainty: float) -> str:
    """How sure a name is, in per cent and in words.

    >>> certainty_text(0.99982)
    '99.98 %: 1 such name in 5,600 is wrong'
    """
    if certainty >= 1.0:
        return "decided by hand"
    number = 1 / (1 - certainty)
    rounded = int(round(number, 1 - int(math.log10(number))))
    return f"{format_chance(certainty)}: 1 such name in {rounded:,} is wrong"


def jump_text(seconds: float) -> str:
    """A clock jump in words."""
    if seconds > 0:
        return f"the clock was set forward by {format_duration(seconds)}"
    return f"the clock went back by {format_duration(-seconds)}"


def notes_of(lane: ShootingLane) -> dict[int, list[LaneNote]]:
    """Counter gaps and clock jumps, by the frame after them."""
    notes: dict[int, list[LaneNote]] = {}
    for jump in lane.jumps:
        note = LaneNote(LaneNoteKind.JUMP, jump.after, jump_text(jump.seconds), seconds=jump.seconds)
        notes.setdefault(jump.after, []).append(note)
    if lane.gaps:
        place = {frame.id: number for number, frame in enumerate(lane.frames)}
        for gap in lane.gaps:
            after = lane.frames[place[gap.after] + 1].id
            first, last = counter_text(gap.first), counter_text(gap.last)
            which = f"counter {first} is" if first == last else f"counters {first} to {last} are"
            text = f"{which} missing: deleted, or still on a memory card?"
            notes.setdefault(after, []).append(LaneNote(LaneNoteKind.GAP, after, text, gap.first, gap.last))
    return notes
