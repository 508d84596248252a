"""The day as the screen shows it: as last matched, with the user's pending overrides applied."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import replace

from onsite.core.errors import Problem
from onsite.matching.evidence import FrameKind, Suggestion
from onsite.reconcile.camera_lanes import DayLane, DayLanes
from onsite.reconcile.overrides import (
    UndoneOverride,
    clear_overrides,
    give_frames,
    join_runs,
    set_frames_aside,
    split_run,
    undo_last_override,
)
from onsite.reconcile.runs import LaneRun, RunKind
from onsite.store.events import EventKind, newest_event_id
from onsite.store.shoot import Shoot
from onsite.tui.reconcile.pending_overrides import CLEARED, PendingOverride, is_touched, with_override
from onsite.tui.screen_host import ScreenHost

MOST_CHOICES = 5

Runs = tuple[LaneRun, ...]


class DayWithOverrides:
    """The lanes of runs. An override shows at once; a newer match replaces the overrides that it knows."""

    def __init__(self) -> None:
        self.matched: DayLanes | None = None
        self.pending: list[PendingOverride] = []
        self.lanes: list[DayLane] = []
        self._counts: Counter[FrameKind] = Counter()

    def show(self, matched: DayLanes) -> None:
        """Take over a newer match."""
        self.matched = matched
        self.pending = [decision for decision in self.pending if not decision.known(matched.matched_until)]
        self._again()

    def settle(self) -> None:
        """Drop pending overrides that the current match has turned out to know."""
        if self.matched is not None and any(
            decision.known(self.matched.matched_until) for decision in self.pending
        ):
            self.show(self.matched)

    def decide(self, decision: PendingOverride) -> None:
        """Show an override from now on."""
        self.pending.append(decision)
        self._lay_over(decision)

    def forget(self, decision: PendingOverride) -> bool:
        """Stop showing an override; False where the match contains it already."""
        if decision not in self.pending:
            return False
        self.pending.remove(decision)
        self._again()
        return True

    def _again(self) -> None:
        if self.matched is not None:
            self.lanes = list(self.matched.lanes)
            self._counts = Counter(self.matched.counts)
            for decision in self.pending:
                self._lay_over(decision)

    def _lay_over(self, decision: PendingOverride) -> None:
        for number, lane in enumerate(self.lanes):
            if is_touched(lane.runs, decision):
                runs = tuple(with_override(lane.runs, decision))
                old, new = _differing(lane.runs, runs)
                self._counts.subtract(_count(old))
                self._counts.update(_count(new))
                self.lanes[number] = replace(lane, runs=runs)

    @property
    def frame_counts(self) -> list[tuple[str, int]]:
        """The frame counts: each kind in words, with its number."""
        kinds = (
            ("named", FrameKind.NAMED),
            ("slates", FrameKind.SLATE),
            ("loose", FrameKind.LOOSE),
            ("set aside", FrameKind.SET_ASIDE),
        )
        parts = [(word, self._counts[kind]) for word, kind in kinds]
        unmatched = self.matched.unmatched if self.matched is not None else 0
        return [*parts, ("not matched", unmatched)] if unmatched else parts

    @property
    def frames(self) -> int:
        return self.matched.frames if self.matched is not None else 0

    @property
    def frames_left(self) -> int:
        """How many frames are neither named, slates nor set aside."""
        unmatched = self.matched.unmatched if self.matched is not None else 0
        return self._counts[FrameKind.LOOSE] + unmatched

    def place_of(self, frame: int) -> tuple[int, int] | None:
        """The lane of a frame, and the place of its run in the lane; None where the frame is in no run."""
        for number, lane in enumerate(self.lanes):
            for place, run in enumerate(lane.runs):
                if frame in run.frames or frame in run.slates or frame in run.tail_slates:
                    return number, place
        return None

    def next_loose(self, lane: int, place: int, step: int, here: bool = False) -> tuple[int, int] | None:
        """The lane and place of the next loose run after (`step` 1) or before (-1) a place.

        Searches its own lane, then the others, around the whole day; with `here` its own lane only. The place
        itself comes last; None where no run is loose.
        """
        every = [
            (number, at)
            for number, lane_number in enumerate(self.lanes)
            for at in range(len(lane_number.runs))
        ]
        if not every:
            return None
        start = sum(len(lane_number.runs) for lane_number in self.lanes[:lane]) + place
        for away in range(1, len(every) + 1):
            number, at = every[(start + step * away) % len(every)]
            if (number == lane or not here) and self.lanes[number].runs[at].kind is RunKind.LOOSE:
                return number, at
        return None


def suggestion_choices(runs: Runs, place: int) -> tuple[Suggestion, ...]:
    """The people to offer for a loose run: the suggestions, best first, then the people of the nearest runs.

    Empty for other runs, for a run whose match is not known yet, and for an empty backdrop.
    """
    run = runs[place]
    if run.kind is not RunKind.LOOSE or run.doubt == CLEARED or run.shows_nobody:
        return ()
    found = {suggestion.person: suggestion for suggestion in run.suggestions}
    for beside, reason in (
        (reversed(runs[:place]), "the run before is theirs"),
        (iter(runs[place + 1 :]), "the run after is theirs"),
    ):
        person = next((neighbour.person for neighbour in beside if neighbour.person is not None), None)
        if person is not None:
            found.setdefault(person, Suggestion(person, (reason,)))
    return tuple(found.values())[:MOST_CHOICES]


def _differing(old: Runs, new: Runs) -> tuple[Runs, Runs]:
    """The parts of `old` and `new` between their equal beginnings and ends."""
    first = _alike(old, new)
    last = _alike(old[:first:-1], new[:first:-1])
    return old[first : len(old) - last], new[first : len(new) - last]


def _alike(old: Runs, new: Runs) -> int:
    """The number of identical objects at the beginning of both."""
    pairs = enumerate(zip(old, new, strict=False))
    return next((number for number, (first, other) in pairs if first is not other), min(len(old), len(new)))


def _count(runs: Iterable[LaneRun]) -> Counter[FrameKind]:
    count: Counter[FrameKind] = Counter()
    for run in runs:
        if run.kind is not RunKind.SLATE:
            count[FrameKind(run.kind)] += len(run.frames)
    return count


_OPENS_AGAIN = frozenset({EventKind.GIVEN, EventKind.SET_ASIDE, EventKind.FREED})


class OverrideQueue:
    """Shows overrides at once, writes them in order, and undoes them from the last one back.

    An override goes by the ids of the frames shown, so that a match that comes in between cannot turn it
    towards others. `changed` is called when what the day shows has changed afterwards.
    """

    def __init__(self, onsite: ScreenHost, day: DayWithOverrides, changed: Callable[[], None]) -> None:
        self._onsite = onsite
        self._day = day
        self._changed = changed
        self._mine: list[PendingOverride] = []

    def decide(self, decision: PendingOverride) -> None:
        """Show an override, and write it after those before it. A refused override disappears again."""
        self._day.decide(decision)
        self._mine.append(decision)

        def write() -> None:
            try:
                _write(self._onsite.shoot, decision, self._onsite.station)
            except Exception:
                self._onsite.call_later_from_anywhere(self._refused, decision)
                raise
            decision.event = _newest(self._onsite.shoot)

        self._onsite.write(write, lambda _: self._written())

    def undo(self, then: Callable[[UndoneOverride | None], None]) -> PendingOverride | None:
        """Undo the last override.

        Returns it at once where it was made since the screens were opened, else None; `then` gets what the
        store has undone.
        """
        last = self._mine.pop() if self._mine else None
        opened: PendingOverride | None = None
        forgotten = last is not None and self._day.forget(last)
        if last is not None and not forgotten:
            opened = self._open_again(last.kind, last.frames)

        def write() -> UndoneOverride | None:
            if last is not None and last.event is None:
                return None  # it was refused: there is nothing to undo
            try:
                undone = undo_last_override(self._onsite.shoot, self._onsite.station)
            except Exception:
                self._onsite.call_later_from_anywhere(not_undone)
                raise
            if opened is not None:
                opened.event = _newest(self._onsite.shoot)
            return undone

        def not_undone() -> None:
            if last is not None:
                self._mine.append(last)
                if forgotten:
                    self._day.decide(last)
            if opened is not None:
                self._day.forget(opened)
            self._changed()

        def written(undone: UndoneOverride | None) -> None:
            other = last is not None and undone is not None and set(undone.frames) != set(last.frames)
            if other and last is not None and forgotten:
                self._day.decide(last)
            if opened is not None and (other or undone is None):
                self._day.forget(opened)
            self._written()
            then(undone)

        self._onsite.write(write, written)
        return last

    def _open_again(self, kind: EventKind, frames: tuple[int, ...]) -> PendingOverride | None:
        """Show these frames as loose until the next match is known."""
        if kind not in _OPENS_AGAIN:
            return None
        opened = PendingOverride(EventKind.UNDONE, frames)
        self._day.decide(opened)
        return opened

    def _refused(self, decision: PendingOverride) -> None:
        self._day.forget(decision)
        if decision in self._mine:
            self._mine.remove(decision)
        self._changed()

    def _written(self) -> None:
        self._day.settle()
        self._changed()


def _write(shoot: Shoot, decision: PendingOverride, station: str) -> None:
    match decision.kind:
        case EventKind.GIVEN if decision.person is not None:
            give_frames(shoot, decision.frames, decision.person, station)
        case EventKind.SET_ASIDE:
            set_frames_aside(shoot, decision.frames, station)
        case EventKind.FREED:
            clear_overrides(shoot, decision.frames, station)
        case EventKind.SPLIT:
            split_run(shoot, decision.frames[0], station)
        case EventKind.JOINED if decision.to is not None:
            join_runs(shoot, decision.frames[0], decision.to, station)


def _newest(shoot: Shoot) -> int:
    """The id of the last event; 0, which the next match knows, where the store does not answer now."""
    try:
        with shoot.reading() as session:
            return newest_event_id(session)
    except Problem:
        return 0
