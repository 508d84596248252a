"""Decisions made by hand here: shown at once, written in their order, undone from the last one back."""

from __future__ import annotations

from collections.abc import Callable

from onsite.problems import Problem
from onsite.store.record import EventKind, newest_event_id
from onsite.store.shoot import Shoot
from onsite.tui.screen_host import ScreenHost
from onsite.tui.wrap.day import DayWithOverrides
from onsite.tui.wrap.pending import PendingOverride
from onsite.wrap.decide import clear_overrides, give_frames, join_runs, set_frames_aside, split_run
from onsite.wrap.undo import UndoneOverride, undo_last_override

_OPENS_AGAIN = frozenset({EventKind.GIVEN, EventKind.SET_ASIDE, EventKind.FREED})


class OverrideQueue:
    """What was decided goes by the ids of the frames that were shown, so that a match which comes in between
    cannot turn it towards others. `changed` is called when what the day shows has changed later on."""

    def __init__(self, onsite: ScreenHost, day: DayWithOverrides, changed: Callable[[], None]) -> None:
        self._onsite = onsite
        self._day = day
        self._changed = changed
        self._mine: list[PendingOverride] = []

    def decide(self, decision: PendingOverride) -> None:
        """Shows a decision, and writes it after those before it. One that is refused is shown no longer."""
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
        """Takes the last decision back. Returns it at once where it was made here since the screens were
        opened; `then` gets what the store says was undone."""
        last = self._mine.pop() if self._mine else None
        opened: PendingOverride | None = None
        forgotten = last is not None and self._day.forget(last)
        if last is not None and not forgotten:
            opened = self._open_again(last.kind, last.frames)

        def write() -> UndoneOverride | None:
            if last is not None and last.event is None:
                return None  # it was refused: there is nothing of it to undo
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
        """Shows frames whose match is not known yet."""
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
    """The last event; 0, which the next match knows, where the store does not answer just now."""
    try:
        with shoot.reading() as session:
            return newest_event_id(session)
    except Problem:
        return 0
