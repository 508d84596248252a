"""The Reconcile screen: run by run, frames get a name or are set aside."""

from __future__ import annotations

from time import monotonic
from typing import ClassVar

from textual.binding import BindingType

from onsite.core.errors import Problem
from onsite.core.text import plural
from onsite.reconcile.likeliest_split import likeliest_split
from onsite.reconcile.overrides import UndoneOverride
from onsite.reconcile.runs import RunKind
from onsite.store.events import EventKind
from onsite.tui.background_workers import background_worker
from onsite.tui.dialogs.choose_person import ChoosePersonScreen
from onsite.tui.dialogs.full_screen import FrameScreen
from onsite.tui.reconcile import keys_and_messages
from onsite.tui.reconcile.camera_strips import (
    lane_name,
)
from onsite.tui.reconcile.day_with_overrides import OverrideQueue
from onsite.tui.reconcile.end_of_day_screen import EndOfDayScreen
from onsite.tui.reconcile.keys_and_messages import KEYS
from onsite.tui.reconcile.pending_overrides import PendingOverride, cannot_join
from onsite.tui.reconcile.reconcile_run_list import RunList, run_text_short
from onsite.tui.reconcile.reconcile_view import DayView
from onsite.tui.reconcile.suggestion_lines import WEAK, SuggestionLines, is_strong

LOOK_AGAIN = 0.4
"""Seconds in which nothing is accepted after a match has changed the run under the cursor.

A key that was pressed for what was there before must give nobody a name.
"""

HELD_DOWN = 0.25
"""Seconds after an accepted suggestion in which no other is accepted: a key held down names nobody."""


class ReconcileScreen(DayView):
    """Reconcile: every frame under a name, or set aside"""

    CSS_PATH = "screen.tcss"
    HORIZONTAL_BREAKPOINTS = [  # noqa: RUF012
        (0, "-narrow"),
        (110, "-wide"),
        (160, "-vast"),
    ]
    VERTICAL_BREAKPOINTS = [  # noqa: RUF012
        (0, "-tight"),
        (14, "-short"),
        (30, "-tall"),
    ]
    BINDINGS: ClassVar[list[BindingType]] = KEYS
    SIGNS = keys_and_messages.SIGNS

    def __init__(self) -> None:
        super().__init__()
        self._accepted_at = 0.0
        self._asked: tuple[object, ...] = ()
        """The run and the suggestion that were asked about."""

    def on_mount(self) -> None:
        self._overrides = OverrideQueue(self.onsite, self._day, self._redraw)

    # Keys

    def action_frame(self, by: int) -> None:
        if (chosen := self._chosen()) is not None:
            frames = chosen.frames
            self._frame = frames[max(0, min(chosen.inside + by, len(frames) - 1))]
            self._draw()

    def action_turn(self, by: int) -> None:
        if self._day.lanes:
            self._go_to((self._lane + by) % len(self._day.lanes), 0)
            self._draw()

    def action_open(self, by: int) -> None:
        lane = self._lane
        if not self._on_next_loose(by):
            self.status_line.show_message(keys_and_messages.frames_left_message([]))
        elif self._lane != lane:
            self.status_line.show_message(f"camera {lane_name(self._day.lanes[self._lane])}")
        self._draw()

    def _on_next_loose(self, by: int, here: bool = False) -> bool:
        """Move to the next loose run, with `here` of this camera only. False where there is none."""
        row = self.query_one(RunList).item
        found = self._day.next_loose(self._lane, row.place if row is not None else -1, by, here)
        if found is not None:
            self._go_to(*found)
        return found is not None

    def action_enter(self) -> None:
        """Accept a strong suggestion, set an empty backdrop aside, and do nothing on a guess."""
        chosen = self._chosen()
        if chosen is None:
            return
        if chosen.run.shows_nobody:
            if self._may_accept():
                self._decide(PendingOverride(EventKind.SET_ASIDE, chosen.run.frames), goes_on=True)
        elif chosen.choices and not is_strong(chosen.choices):
            share = f"{100 * chosen.choices[0].certainty:.0f} %"
            why = f"No suggestion is strong: the first has {share}, and Enter takes what is above 90 %."
            self.status_line.show_problem(Problem(why, "Press the number of the right one, or P."))
        else:
            self.action_accept(1)

    def action_accept(self, number: int) -> None:
        chosen = self._chosen()
        if chosen is None:
            return
        if chosen.run.kind is not RunKind.LOOSE:
            self.status_line.show_message(keys_and_messages.not_loose_message(chosen.run, self._who))
        elif number > len(chosen.choices):
            none = "Nobody is suggested here." if number == 1 else f"There is no suggestion {number}."
            self.status_line.show_problem(Problem(none, "P: choose a person."))
        elif chosen.choices[number - 1].certainty < WEAK and self._asked != (*chosen.identity, number):
            self._asked = *chosen.identity, number
            who, sure = self._who(chosen.choices[number - 1].person), chosen.choices[number - 1].certainty
            self.status_line.show_message(f"Is it {who}? {sure * 100:.0f} % sure. {number} again: yes.")
        elif self._may_accept():
            self._give(chosen.run.frames, chosen.choices[number - 1].person)

    def on_suggestion_lines_accepted(self, message: SuggestionLines.Accepted) -> None:
        self.action_accept(message.number)

    def _may_accept(self) -> bool:
        """Whether the run under the cursor has been there long enough for a key to be about it."""
        if monotonic() - self._accepted_at < HELD_DOWN:
            return False  # the key is held down, or was pressed once too often
        if monotonic() - self._changed_at < LOOK_AGAIN:
            self.status_line.show_problem(
                Problem("This run has just changed.", "Look again: nothing was decided.")
            )
            return False
        self._accepted_at = monotonic()
        return True

    def _give(self, frames: tuple[int, ...], person: int) -> None:
        self._decide(PendingOverride(EventKind.GIVEN, frames, person), goes_on=True)

    def action_person(self) -> None:
        if (chosen := self._chosen()) is None:
            return
        frames = chosen.frames
        count = plural(len(frames), "frame") if chosen.run.frames else "the slate"
        first, last = self._label(frames[0]), self._label(frames[-1])
        which = first if len(frames) == 1 else f"{first} to {last}"

        def picked(person: int | None) -> None:
            if person is not None:
                self._give(frames, person)

        self.app.push_screen(
            ChoosePersonScreen(f"Who is on {count} {which}, {run_text_short(chosen.run, self._who)}?"), picked
        )

    def action_put_away(self) -> None:
        if (chosen := self._chosen()) is None:
            return
        if chosen.run.kind is RunKind.SET_ASIDE:
            self.status_line.show_message("set aside already. A: back to automatic")
        else:
            frames = chosen.frames
            self._decide(PendingOverride(EventKind.SET_ASIDE, frames), goes_on=True)

    def action_automatic(self) -> None:
        if (chosen := self._chosen()) is None:
            return
        if not chosen.run.is_override and chosen.run.kind is not RunKind.LOOSE:
            self.status_line.show_message("nothing was decided by hand here")
        else:
            self._decide(PendingOverride(EventKind.FREED, chosen.frames))

    def action_split(self) -> None:
        if (chosen := self._chosen()) is None:
            return
        if chosen.inside == 0 and len(chosen.frames) > 1:
            self._propose_split(chosen.frames)
        elif chosen.inside == 0:
            self.status_line.show_problem(
                Problem("A run begins with this frame already.", "It has no other frame to split at.")
            )
        else:
            self._decide(PendingOverride(EventKind.SPLIT, (chosen.frame,)))
            self._to_first_part(chosen.run.frames[0])

    @background_worker("Looking where somebody else begins", exclusive=True, group="split")
    def _propose_split(self, frames: tuple[int, ...]) -> None:
        """Find where somebody else most likely begins, in a worker thread. A person splits there, or not."""
        proposed = likeliest_split(self.shoot, frames)
        self.onsite.call_later_from_anywhere(self._show_proposed_split, frames, proposed)

    def _show_proposed_split(self, frames: tuple[int, ...], proposed: int | None) -> None:
        chosen = self._chosen()
        if proposed is not None and chosen is not None and chosen.frames == frames and chosen.inside == 0:
            self._to_frame(proposed)
            self.status_line.show_message("Does somebody else begin here? S: split here. ← →: elsewhere.")

    def _to_first_part(self, frame: int) -> None:
        """After a split go to the first part where it is loose: both parts are then settled in order."""
        found = self._day.place_of(frame)
        if found is not None and self._day.lanes[found[0]].runs[found[1]].kind is RunKind.LOOSE:
            self._to_frame(frame)

    def action_join(self, by: int) -> None:
        if (chosen := self._chosen()) is None:
            return
        other = chosen.before if by < 0 else chosen.after
        problem = cannot_join(chosen.run, other, by)
        if problem is not None or other is None:
            self.status_line.show_problem(problem or Problem("", ""))
            return
        mine, run_frames = (run.frames or run.everything for run in (chosen.run, other))
        frame, to = (mine[0], run_frames[-1]) if by < 0 else (mine[-1], run_frames[0])
        people = {run.person for run in (chosen.run, other) if run.person is not None}
        self._decide(
            PendingOverride(EventKind.JOINED, (frame,), next(iter(people)) if len(people) == 1 else None, to)
        )

    def _decide(self, decision: PendingOverride, goes_on: bool = False) -> None:
        """Show an override and write it.

        With `goes_on` the cursor moves to the next loose run of this camera, and stays where there is none.
        """
        self._overrides.decide(decision)
        done = keys_and_messages.decision_message(decision, self._who, self._label)
        self._find_cursor()
        if goes_on and not self._on_next_loose(1, here=True):
            done += f" {keys_and_messages.frames_left_message(self._day.lanes, self._lane)}"
        elif goes_on:
            done += " The next loose run is in front."
        self._draw()
        self.status_line.show_message(done)

    def action_undo(self) -> None:
        at = self._frame

        def undone(what: UndoneOverride | None) -> None:
            self.status_line.show_message(keys_and_messages.undone_message(what))
            if last is None and what is not None and self._frame == at:
                self._to_frame(what.frames[0])

        last = self._overrides.undo(undone)
        if last is not None:
            self._to_frame(last.frames[0])

    def _to_frame(self, frame: int) -> None:
        found = self._day.place_of(frame)
        if found is not None:
            self._go_to(*found, frame)
            self._draw()

    def action_picture(self) -> None:
        if (chosen := self._chosen()) is None:
            return

        def seen(frame: int | None) -> None:
            if frame is not None:
                self._to_frame(frame)

        frames = chosen.frames
        whose = run_text_short(chosen.run, self._who)
        self.app.push_screen(FrameScreen(frames, chosen.frame, whose, self._label), seen)

    def action_lists(self) -> None:
        self.app.push_screen(EndOfDayScreen(self._day.matched))
