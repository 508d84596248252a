"""The Desk screen: who waits for what, since when, and the batches at retouch."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from pathlib import Path
from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, Vertical
from textual.widgets import Static

from onsite.core.text import plural
from onsite.picks.due_pick_reminders import DueReminders, due_for_picks
from onsite.picks.pick_reminders import ReminderResult, write_reminders
from onsite.reconcile.frame_ownership import frames_of_person
from onsite.retouch.retouch_folder import read_held_files
from onsite.retouch.undo_after_shoot import undo_after_shoot
from onsite.status.batch_status import Batch, most_urgent_first, newest_change, read_batches
from onsite.status.person_status import OpenWork, PersonStatus, Stage, WaitingFor, open_work
from onsite.status.picture_status import delivered_before_a_no
from onsite.tui import key_grammar as keys
from onsite.tui.background_workers import background_worker
from onsite.tui.desk.choose_pictures import ChoosePicturesScreen
from onsite.tui.desk.desk_rows import (
    BY_COMMAND,
    LOOK_AT,
    TEXTS,
    DeskTask,
    Work,
    batch_line,
    desk_tasks,
    task_line,
    waits_line,
    with_unwritten,
)
from onsite.tui.desk.held_returns import HeldReturnsScreen
from onsite.tui.dialogs.person_history_screen import HistoryScreen
from onsite.tui.dialogs.question_dialogs import ConfirmScreen
from onsite.tui.mode_screen import ModeScreen
from onsite.tui.widgets.frame_picture import FramePicture
from onsite.tui.widgets.pictures_side_by_side import preview_place_of
from onsite.tui.widgets.virtual_list import Ink, VirtualList

_HELD_SECONDS = 3.0


class DeskScreen(ModeScreen):
    """The desk: what there is to do after the shoot, and for whom"""

    CSS_PATH = "screen.tcss"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (110, "-wide")]  # noqa: RUF012
    BINDINGS: ClassVar[list[BindingType]] = [
        keys.ENTER.says("Do it"),
        keys.TURN.says("Kind of work"),
        keys.TURN_BACK.says(),
        keys.REMIND.says("Remind all"),
        keys.UNDO.says("Undo"),
        keys.HISTORY.says("History"),
        keys.PICTURE.says("Pictures"),
    ]
    SIGNS = (
        ("▇ ○ ◔ ◑ ◕ ●", "photographed, proofed, picked, at retouch, retouched, delivered"),
        ("since 6 d", "how long the first of them has waited"),
        ("! due", "the day that was agreed has passed"),
        ("pick", "a picture that somebody has chosen; Enter on a person chooses for them"),
        ("3/4 back", "files of a batch that came back; “again”: to be done again"),
    )

    def __init__(self) -> None:
        super().__init__()
        self._work: Work = WaitingFor.PICKS
        self._has_chosen = False
        """Whether somebody has chosen the row; else it is one with something to do."""
        self._waits: dict[Work, list[OpenWork]] = {what: [] for what in WaitingFor}
        self._tasks: list[DeskTask] = []
        self._held = 0
        self._batches: list[Batch] = []
        self._batches_until = -1
        self._asked = 0
        self._to_remove = 0
        """People who took their consent back after the delivery."""
        self._pictured: PersonStatus | None = None
        """The person whose picture is shown."""

    def body(self) -> ComposeResult:
        yield Static("", id="state", markup=False)
        with Container(id="desk"):
            with Vertical(id="tasks-panel", classes="panel"):
                yield VirtualList[DeskTask](
                    task_line, lambda task: task.work, id="tasks", marked_in_focus_only=True
                )
            with Vertical(id="people-panel", classes="panel"):
                yield VirtualList[OpenWork](
                    self._line, lambda w: w.status.person.id, id="people", marked_in_focus_only=True
                )
            with Vertical(id="batches-panel", classes="panel"):
                yield VirtualList[Batch](
                    self._batch_line,
                    lambda batch: batch.name,
                    id="batches",
                    empty="none yet",
                    marked_in_focus_only=True,
                )
            yield FramePicture(id="picture")

    def on_mount(self) -> None:
        self.name_panel("#tasks-panel", "To do")
        self.name_panel("#batches-panel", "Batches at retouch")
        self.query_one("#tasks").focus()
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
        later, now = self.onsite.call_later_from_anywhere, self._now
        refused = [
            s.person.id for s in statuses.values() if s.pictures.delivered and not s.publication.allowed
        ]
        with self.shoot.reading() as session:
            to_remove = len(delivered_before_a_no(session, refused)) if refused else 0
            newest = newest_change(session)
            batches = read_batches(session) if newest != self._batches_until else None
        later(self._have_waits, open_work(statuses.values(), now), to_remove, asked)
        if batches is not None:
            later(self._have_batches, batches, newest)

    @background_worker("Reading what is held", exclusive=True, group="held")
    def _read_held(self) -> None:
        """Read the returned files that wait for a decision; a timer calls this, as no event reports them."""
        held = len(read_held_files(self.shoot))
        self.onsite.call_later_from_anywhere(self._have_held, held)

    def _have_held(self, held: int) -> None:
        if self.is_mounted and held != self._held:
            self._held = held
            self._show_anew()

    def _have_waits(self, waits: dict[WaitingFor, list[OpenWork]], to_remove: int, asked: int) -> None:
        if asked == self._asked and self.is_mounted:  # else a newer reading is on its way
            self._waits, self._to_remove = with_unwritten(waits), to_remove
            self._show_anew()

    def _have_batches(self, batches: list[Batch], newest: int) -> None:
        if newest > self._batches_until and self.is_mounted:
            self._batches_until = newest
            self._batches = most_urgent_first(batches, self._today)
            self.query_one("#batches", VirtualList).show(self._batches)
            self._show_anew()

    @property
    def _now(self) -> datetime:
        return self.shoot.now()

    @property
    def _today(self) -> date:
        return self._now.date()

    # Showing

    def _show_anew(self) -> None:
        """Show what was read. The row under the cursor stays the chosen one, also where the key that moved
        there has not been answered yet."""
        task = self.query_one("#tasks", VirtualList).item
        if isinstance(task, DeskTask) and task.work != self._work:
            self._work, self._has_chosen = task.work, True
        self._show()

    def _show(self) -> None:
        agreed = self.shoot.settings.agreed
        self._tasks = desk_tasks(self._waits, self._held, self._batches, agreed, self._now)
        works = [task.work for task in self._tasks]
        open_tasks = [task.work for task in self._tasks if task.count]
        if self._work not in works or (open_tasks and not self._has_chosen and self._work not in open_tasks):
            self._work = (open_tasks or works)[0]
        self.query_one("#tasks", VirtualList).show(self._tasks, at=works.index(self._work))
        people = self._waits.get(self._work, [])
        count = self._tasks[works.index(self._work)].count
        what = f"{plural(count, 'file')} to look at" if self._work == LOOK_AT else TEXTS[self._work]
        self.name_panel(
            "#people-panel", what if self._work == LOOK_AT else f"{plural(count, 'person', 'people')} {what}"
        )
        empty = "Enter: look at the files" if self._work == LOOK_AT else "nobody"
        self.query_one("#people", VirtualList).show(people, empty=empty)
        self._show_state()
        self.say_next(self._next())

    def _next(self) -> str:
        if any(task.count for task in self._tasks):
            return ""
        if any(status.frames for status in self.status_cache.statuses.values()):
            return "nothing is left to do here. Press F4 to see where everybody is"
        return "photograph somebody first. Press F2"

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
        if self._to_remove:
            parts.insert(0, f"! {self._to_remove:,} took consent back after delivery: tell the client")
        self.query_one("#state", Static).update(Text(" · ".join(parts)))

    def _line(self, waits: OpenWork, width: int, ink: Ink) -> Text:
        return waits_line(waits, self._now, width, ink)

    def _batch_line(self, batch: Batch, width: int, ink: Ink) -> Text:
        return batch_line(batch, self._today, width, ink)

    def on_virtual_list_highlighted(self, event: VirtualList.Highlighted[DeskTask]) -> None:
        task = event.virtual_list.item  # the message may be a key late
        if isinstance(task, DeskTask) and task.work != self._work:
            self._choose_work(task.work)
        elif event.virtual_list.id == "people":
            self._show_picture()

    def _show_picture(self) -> None:
        """Show the picture of the person under the cursor, where there is room for one."""
        status = self.person_in_front
        if status is not self._pictured and self.query_one(FramePicture).display:
            self._pictured = status
            self.query_one(FramePicture).show(None, missing="")
            if status is not None:
                self._find_picture(status)

    @background_worker("Finding the picture", exclusive=True, group="picture")
    def _find_picture(self, status: PersonStatus) -> None:
        """Find a person's first pick, else their first frame."""
        with self.shoot.reading() as session:
            frames = {owned.frame: owned.name for owned in frames_of_person(session, status.person.id)}
        picks = [pick.frame for pick in status.pictures.picks if pick.frame in frames]
        frame = next(iter([*picks, *frames]), None)
        path = preview_place_of(self.shoot, frame) if frame is not None else None
        under = f"{status.person.name}, {frames[frame]}{', their pick' if picks else ''}" if frame else ""
        self.onsite.call_later_from_anywhere(self._have_picture, status, path, under)

    def _have_picture(self, status: PersonStatus, path: Path | None, under: str) -> None:
        if self.is_mounted and status is self._pictured:  # else another person was chosen meanwhile
            self.query_one(FramePicture).show(path, under)

    def on_virtual_list_selected(
        self, event: VirtualList.Selected[DeskTask] | VirtualList.Selected[OpenWork]
    ) -> None:
        if isinstance(event.item, DeskTask):
            self._choose_work(event.item.work)
            self.action_enter()
        elif event.virtual_list.id == "people":
            self._choose_pictures()
        else:
            self.onsite.start(BY_COMMAND[WaitingFor.RETOUCH])

    # Keys

    def _choose_work(self, work: Work) -> None:
        self._work, self._has_chosen = work, True
        self._show()

    def action_turn(self, by: int) -> None:
        """Move to the next or previous kind of open work at once, before the next key acts: Enter does it."""
        self.query_one("#tasks").focus()
        works = [task.work for task in self._tasks]
        place = works.index(self._work) if self._work in works else 0
        self._choose_work(works[max(0, min(place + by, len(works) - 1))])

    def action_enter(self) -> None:
        """Do the work of the row: look at held files, remind, or open the form of the command for it."""
        if self._work == LOOK_AT:
            self.app.push_screen(HeldReturnsScreen())
        elif self._work is WaitingFor.PICKS:
            self.action_remind()
        else:
            self.onsite.start(BY_COMMAND[self._work])

    @property
    def person_in_front(self) -> PersonStatus | None:
        item: OpenWork | None = self.query_one("#people", VirtualList).item
        return item.status if item is not None else None

    def _choose_pictures(self) -> None:
        if (status := self.person_in_front) is not None:
            self.app.push_screen(ChoosePicturesScreen(status))

    def action_picture(self) -> None:
        if (status := self.person_in_front) is not None:
            self.open_pictures_of(status)

    def action_history(self) -> None:
        if (status := self.person_in_front) is not None:
            self.app.push_screen(HistoryScreen(status))

    def action_undo(self) -> None:
        """Take back what this station did last after the shoot."""
        shoot, station = self.shoot, self.onsite.station
        self.onsite.write(lambda: undo_after_shoot(shoot, station), self._undone)

    def _undone(self, said: str) -> None:
        self.onsite.show_message(f"undone: {said}")
        self._read_held()

    def action_remind(self) -> None:
        """Write reminders for everybody who has proofs and no picks."""
        if self._work is not WaitingFor.PICKS:
            self._choose_work(WaitingFor.PICKS)
            due = self._due()
            if due.now:
                many = plural(len(due.now), "person has", "people have")
                self.status_line.show_message(f"{many} not picked. R: write their reminders.")
                return
        due = self._due()
        if not due.now:
            lately = (
                f" {plural(len(due.rested), 'person', 'people')} had a mail within a day."
                if due.rested
                else ""
            )
            self.status_line.show_message(f"Nobody is to be reminded now.{lately}")
            return
        question = f"Write {plural(len(due.now), 'reminder')}? Nothing is sent."
        self.app.push_screen(
            ConfirmScreen(question), lambda sure: self._write_reminders(due) if sure else None
        )

    def _due(self) -> DueReminders:
        """Who of those without picks can be reminded now."""
        return due_for_picks([waits.status for waits in self._waits[WaitingFor.PICKS]], self._now)

    def _write_reminders(self, due: DueReminders) -> None:
        shoot, station = self.shoot, self.onsite.station
        self.onsite.write(lambda: write_reminders(shoot, due, station), self._reminded)

    def _reminded(self, done: ReminderResult) -> None:
        if done.folder is None:
            return
        where = done.folder.relative_to(self.shoot.folder)
        without = f" Without an address, in the table only: {len(done.without_address)}."
        said = f"{plural(done.mails, 'mail')} written to {where}. Nothing was sent."
        said += without if done.without_address else ""
        self.onsite.show_message(said)
