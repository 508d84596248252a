"""Overrides made on the screen, and their effect on the runs shown until a match knows them.

Nothing is decided here: the override is in the store, and the next match decides what follows from it.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from onsite.core.errors import Problem
from onsite.matching.evidence import NamedBy
from onsite.matching.split_and_join import SPLIT_OFF, TWO_PEOPLE
from onsite.reconcile.runs import LaneRun, RunKind
from onsite.store.events import EventKind

CLEARED = "taken back; being matched again"


@dataclass(eq=False, slots=True)
class PendingOverride:
    """An override of frames, by their ids.

    `person` is the person the frames were given to, or the person of the joined runs; `to` is a frame of the
    run that the first frame's run was joined with. `event` is the last event's id once the override is
    written, None until then.
    """

    kind: EventKind
    frames: tuple[int, ...]
    person: int | None = None
    to: int | None = None
    event: int | None = None

    def known(self, matched_until: int) -> bool:
        """Whether a match that knew all events up to `matched_until` contains this override."""
        return self.event is not None and self.event <= matched_until


def is_touched(runs: Sequence[LaneRun], decision: PendingOverride) -> bool:
    """Whether a lane has frames or slates that an override is about."""
    wanted = {*decision.frames, decision.to}
    return not all(wanted.isdisjoint(run.frames) and wanted.isdisjoint(run.slates) for run in runs)


def with_override(runs: Sequence[LaneRun], decision: PendingOverride) -> list[LaneRun]:
    """The runs of a lane after an override; runs it does not touch are the same objects."""
    match decision.kind:
        case EventKind.GIVEN:
            return _altered(runs, decision.frames, lambda run: _given(run, decision.person))
        case EventKind.SET_ASIDE:
            return _altered(runs, decision.frames, _aside)
        case EventKind.SPLIT:
            return [part for run in runs for part in _split(run, decision.frames[0])]
        case EventKind.JOINED:
            return _joined(runs, decision.frames[0], decision.to)
    return _altered(runs, decision.frames, _open)


def _altered(
    runs: Sequence[LaneRun], frames: Collection[int], alter: Callable[[LaneRun], LaneRun]
) -> list[LaneRun]:
    """The runs with `alter` applied to exactly these frames, whichever runs they are in."""
    wanted = set(frames)
    done: list[LaneRun] = []
    for run in runs:
        if wanted.isdisjoint(run.frames):
            done.append(run)
        else:
            done += (alter(part) if part.frames[0] in wanted else part for part in _parts(run, wanted))
    return done


def _parts(run: LaneRun, wanted: Collection[int]) -> Iterator[LaneRun]:
    """The run cut wherever wanted frames meet others."""
    parts = [tuple(part) for _, part in groupby(run.frames, wanted.__contains__)]
    for number, frames in enumerate(parts):
        yield _part(run, frames, opens=number == 0, closes=number == len(parts) - 1)


def _part(run: LaneRun, frames: tuple[int, ...], opens: bool, closes: bool) -> LaneRun:
    return replace(
        run,
        first=frames[0],
        frames=frames,
        slates=run.slates if opens else (),
        tail_slates=run.tail_slates if closes else (),
        begins=run.begins if opens else None,
        ends=run.ends if closes else None,
        pause=run.pause if opens else None,
        notes=tuple(
            note for note in run.notes if note.frame in frames or (opens and note.frame not in run.frames)
        ),
    )


def _given(run: LaneRun, person: int | None) -> LaneRun:
    return replace(
        run,
        kind=RunKind.NAMED,
        person=person,
        how=NamedBy.OVERRIDE,
        doubt="",
        suggestions=(),
        is_override=True,
        certainty=None,
    )


def _aside(run: LaneRun) -> LaneRun:
    return replace(
        run,
        kind=RunKind.SET_ASIDE,
        person=None,
        how=NamedBy.OVERRIDE,
        doubt="",
        suggestions=(),
        is_override=True,
        certainty=None,
    )


def _open(run: LaneRun, doubt: str = CLEARED) -> LaneRun:
    """The run without a name and without suggestions, until the next match."""
    return replace(
        run,
        kind=RunKind.LOOSE,
        person=None,
        how=NamedBy.NOTHING,
        doubt=doubt,
        suggestions=(),
        is_override=False,
        certainty=None,
    )


def _split(run: LaneRun, frame: int) -> Iterator[LaneRun]:
    """The run split at `frame`; a name stays on the side of the slate that it comes from."""
    if frame not in run.frames[1:]:
        yield run
        return
    place = run.frames.index(frame)
    first = _part(run, run.frames[:place], opens=True, closes=False)
    second = _part(run, run.frames[place:], opens=False, closes=True)
    if run.kind is RunKind.NAMED and run.how is NamedBy.SLATE:
        second = _open(second, SPLIT_OFF)
    elif run.kind is RunKind.NAMED and run.how is NamedBy.TAIL_SLATE:
        first = _open(first, SPLIT_OFF)
    yield first
    yield second


def _joined(runs: Sequence[LaneRun], frame: int, to: int | None) -> list[LaneRun]:
    """The runs with two joined. One name among the two is kept for both; of two names neither is."""
    ends = [number for number, run in enumerate(runs) if {frame, to} & {*run.everything}]
    if len(ends) != 2:
        return list(runs)
    first, other = (runs[number] for number in ends)
    people = {run.person for run in (first, other)} - {None}
    both = replace(
        first,
        first=(*first.frames, *other.frames, first.first)[0],
        frames=(*first.frames, *other.frames),
        slates=(*first.slates, *other.slates) if not first.frames else first.slates,
        tail_slates=other.tail_slates,
        ends=other.ends or first.ends,
        notes=(*first.notes, *other.notes),
    )
    if len(people) > 1:
        both = _open(both, TWO_PEOPLE)
    elif people:
        both = _given(both, people.pop())
    return [*runs[: ends[0]], both, *runs[ends[0] + 1 : ends[1]], *runs[ends[1] + 1 :]]


def cannot_join(run: LaneRun, other: LaneRun | None, by: int) -> Problem | None:
    """Why a run cannot be joined with the run before (`by` -1) or after it (1); None where it can."""
    if other is None:
        return Problem(f"There is no run {'before' if by < 0 else 'after'} this one.", "Join the other way.")
    for side in (run, other):
        if side.kind is RunKind.SET_ASIDE:
            return Problem("What is set aside cannot be joined.", "A on it: back to automatic first.")
        if side.kind is RunKind.SLATE and side.person is None:
            return Problem("Nobody knows whose that slate is.", "P on it: say whose.")
    return None
