"""The Desk screen: who waits for what, since when, and the batches at retouch."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, Vertical
from textual.widgets import Static

from onsite.core.text import plural
from onsite.frames.find_frames import frame_labels
from onsite.picks.due_reminders import DueReminders, due_for_picks
from onsite.picks.write_reminders import ReminderResult, write_reminders
from onsite.retouch.retouch_folder import read_held_files
from onsite.status.person_status import WAITING_TEXTS, OpenWork, PersonStatus, Stage, WaitingFor, open_work
from onsite.status.retouch_batches import Batch, most_urgent_first, newest_change, read_batches
from onsite.tui.background_workers import background_worker
from onsite.tui.desk.choose_pictures import ChoosePicturesScreen
from onsite.tui.desk.work_lines import (
    WaitGroup,
    age,
    batch_line,
    held_files_text,
    wait_group_line,
    waits_line,
)
from onsite.tui.dialogs.history_screen import HistoryScreen
from onsite.tui.dialogs.question_dialogs import ConfirmScreen
from onsite.tui.mode_screen import ModeScreen
from onsite.tui.widgets.virtual_list import Ink, VirtualList

_HELD_SECONDS = 3.0


class DeskScreen(ModeScreen):
    """The desk: who waits for what, and what is out"""

    CSS_PATH = "screen.tcss"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (110, "-wide")]  # noqa: RUF012
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("right", "group(1)", "Waiting for", key_display="← →"),
        Binding("left", "group(-1)", "What is waited for before", show=False),
        Binding("p", "choose", "Picks"),
        Binding("r", "remind", "Remind all"),
        Binding("h", "history", "History"),
        Binding("tab", "app.focus_next", "To the batches and back", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._what = WaitingFor.PICKS
        self._waits: dict[WaitingFor, list[OpenWork]] = {what: [] for what in WaitingFor}
        self._batches: list[Batch] = []
        self._batches_until = -1
        self._asked = 0

    def body(self) -> ComposeResult:
        yield Static("", id="state", markup=False)
        with Container(id="desk"):
            with Vertical(id="waits-side"):
                yield VirtualList[WaitGroup](wait_group_line, lambda group: group.what, id="groups")
                yield Static("", classes="heading", id="heading", markup=False)
                yield VirtualList[OpenWork](self._line, lambda waits: waits.status.person.id, id="people")
            with Vertical(id="batches-side"):
                yield Static("batches at retouch", classes="heading", markup=False)
                yield VirtualList[Batch](
                    self._batch_line,
                    lambda batch: batch.name,
                    id="batches",
                    empty="none yet",
                    marked_in_focus_only=True,
                )
                yield Static("", id="held", markup=False)

    def on_mount(self) -> None:
        self.query_one("#groups", VirtualList).can_focus = False
        self.query_one("#people").focus()
        self.set_interval(_HELD_SECONDS, self._read_held)

    # Reading

    def renew(self, people: frozenset[int] | None, matched: bool) -> None:  # noqa: ARG002
        if people is not None and not people:
            return
        self._asked += 1
        self._read_held()
        self._read(self.status_cache.statuses, self._asked)

    @background_worker("Reading who waits")
    def _read(self, statuses: Mapping[int, PersonStatus], asked: int) -> None:
        """Read in a worker thread: sorting 10,000 people takes longer than a key may wait."""
        later = self.onsite.call_later_from_anywhere
        later(self._have_waits, open_work(statuses.values(), self._now), asked)
        with self.shoot.reading() as session:
            newest = newest_change(session)
            batches = read_batches(session) if newest != self._batches_until else None
        if batches is not None:
            later(self._have_batches, batches, newest)

    @background_worker("Reading what is held", exclusive=True, group="held")
    def _read_held(self) -> None:
        """Read the returned files that wait for a decision; a timer calls this, as no event reports them."""
        with self.shoot.reading() as session:
            files = read_held_files(self.shoot)
            labels = frame_labels(session) if files else {}
        names = list(dict.fromkeys(labels.get(file.frame, file.path) for file in files))
        self.onsite.call_later_from_anywhere(self._have_held, len(files), names)

    def _have_held(self, files: int, names: list[str]) -> None:
        if self.is_mounted:
            line = self.query_one("#held", Static)
            line.display = files > 0
            line.update(held_files_text(files, names))

    def _have_waits(self, waits: dict[WaitingFor, list[OpenWork]], asked: int) -> None:
        if asked == self._asked and self.is_mounted:  # else a newer reading is on its way
            self._waits = waits
            self._show()

    def _have_batches(self, batches: list[Batch], newest: int) -> None:
        if newest > self._batches_until and self.is_mounted:
            self._batches_until = newest
            self._batches = most_urgent_first(batches, self._today)
            self.query_one("#batches", VirtualList).show(self._batches)
            self._show_state()

    @property
    def _now(self) -> datetime:
        return self.shoot.now()

    @property
    def _today(self) -> date:
        return self._now.date()

    # Showing

    def _show(self) -> None:
        now = self._now
        groups = [
            WaitGroup(what, len(people_waiting), age(people_waiting[0].since, now) if people_waiting else "")
            for what, people_waiting in self._waits.items()
        ]
        self.query_one("#groups", VirtualList).show(groups, at=list(WaitingFor).index(self._what))
        people_waiting = self._waits[self._what]
        self.query_one("#heading", Static).update(
            f"{plural(len(people_waiting), 'person', 'people')}: {WAITING_TEXTS[self._what]}"
        )
        self.query_one("#people", VirtualList).show(people_waiting, empty="nobody")
        self._show_state()

    def _show_state(self) -> None:
        waiting = sum(len(people_waiting) for people_waiting in self._waits.values())
        done = sum(s.stage is Stage.DELIVERED for s in self.status_cache.statuses.values())
        out = [batch for batch in self._batches if batch.out]
        late = sum(batch.overdue(self._today) for batch in out)
        parts = [
            f"{plural(done, 'person has', 'people have')} everything",
            plural(waiting, "waits", "wait"),
            f"{plural(len(out), 'batch', 'batches')} out" + (f", {late} overdue" if late else ""),
        ]
        self.query_one("#state", Static).update(Text(" · ".join(parts)))

    def _line(self, waits: OpenWork, width: int, ink: Ink) -> Text:
        return waits_line(waits, self._now, width, ink)

    def _batch_line(self, batch: Batch, width: int, ink: Ink) -> Text:
        return batch_line(batch, self._today, width, ink)

    def on_virtual_list_highlighted(self, event: VirtualList.Highlighted[WaitGroup]) -> None:
        group = (
            event.virtual_list.item if event.virtual_list.id == "groups" else None
        )  # the message may be a key late
        if group is not None and group.what is not self._what:
            self._wait_for(group.what)

    def on_virtual_list_selected(self, event: VirtualList.Selected[OpenWork]) -> None:
        if event.virtual_list.id == "people":
            self.action_choose()

    # Keys

    def _wait_for(self, what: WaitingFor) -> None:
        self._what = what
        self._show()

    def action_group(self, by: int) -> None:
        """Move to the next or previous kind of open work at once, before the next key acts."""
        whats = list(WaitingFor)
        self._wait_for(whats[max(0, min(whats.index(self._what) + by, len(whats) - 1))])

    @property
    def _person(self) -> OpenWork | None:
        item: OpenWork | None = self.query_one("#people", VirtualList).item
        return item

    def action_choose(self) -> None:
        if self._person is not None:
            self.app.push_screen(ChoosePicturesScreen(self._person.status))

    def action_history(self) -> None:
        if self._person is not None:
            self.app.push_screen(HistoryScreen(self._person.status))

    def action_remind(self) -> None:
        """Write reminders for everybody who has proofs and no picks."""
        if self._what is not WaitingFor.PICKS:
            self._wait_for(WaitingFor.PICKS)
            self.status_line.show_message(
                "These are the people who can be reminded. r once more: write their mails."
            )
            return
        due = due_for_picks(self.status_cache.statuses.values(), self._now)
        if not due.now:
            lately = f" {len(due.rested)} were reminded within a day." if due.rested else ""
            self.status_line.show_message(f"Nobody is to be reminded.{lately}")
            return
        question = f"Write {plural(len(due.now), 'reminder')}? Nothing is sent."
        self.app.push_screen(
            ConfirmScreen(question), lambda sure: self._write_reminders(due) if sure else None
        )

    def _write_reminders(self, due: DueReminders) -> None:
        shoot, station = self.shoot, self.onsite.station
        self.onsite.write(lambda: write_reminders(shoot, due, station), self._reminded)

    def _reminded(self, done: ReminderResult) -> None:
        if done.folder is None:
            return
        where = done.folder.relative_to(self.shoot.folder)
        without = f" In the table alone, without an address: {len(done.without_address)}."
        said = f"{plural(done.mails, 'mail')} written to {where}. Nothing was sent."
        said += without if done.without_address else ""
        self.onsite.show_message(said)
