"""The desk: who waits for what since when, and the batches at retouch."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, Vertical
from textual.widgets import Static

from onsite.frames.called import frame_labels
from onsite.progress.batches import Batch, most_urgent_first, newest_change, read_batches
from onsite.progress.stage import Stage, Standing
from onsite.progress.waits import TOLD, Wait, Waits, who_waits
from onsite.report.remind import Reminded, write_reminders
from onsite.report.reminders import Due, due_for_picks
from onsite.retouch.memory import held
from onsite.tui.around.ask import SureScreen
from onsite.tui.board.history import HistoryScreen
from onsite.tui.desk.choosing import ChooseScreen
from onsite.tui.desk.rows import Group, age, batch_line, group_line, held_told, waits_line
from onsite.tui.mode import ModeScreen
from onsite.tui.widgets.cells import Ink
from onsite.tui.widgets.roll import Roll
from onsite.tui.workers import worker
from onsite.words import counted

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
        self._what = Wait.PICKS
        self._waits: dict[Wait, list[Waits]] = {what: [] for what in Wait}
        self._batches: list[Batch] = []
        self._batches_until = -1
        self._asked = 0

    def body(self) -> ComposeResult:
        yield Static("", id="state", markup=False)
        with Container(id="desk"):
            with Vertical(id="waits-side"):
                yield Roll[Group](group_line, lambda group: group.what, id="groups")
                yield Static("", classes="heading", id="heading", markup=False)
                yield Roll[Waits](self._line, lambda waits: waits.standing.person.id, id="people")
            with Vertical(id="batches-side"):
                yield Static("batches at retouch", classes="heading", markup=False)
                yield Roll[Batch](
                    self._batch_line,
                    lambda batch: batch.name,
                    id="batches",
                    empty="none yet",
                    marked_in_focus_only=True,
                )
                yield Static("", id="held", markup=False)

    def on_mount(self) -> None:
        self.query_one("#groups", Roll).can_focus = False
        self.query_one("#people").focus()
        self.set_interval(_HELD_SECONDS, self._read_held)

    # Reading

    def renew(self, people: frozenset[int] | None, matched: bool) -> None:  # noqa: ARG002
        if people is not None and not people:
            return
        self._asked += 1
        self._read_held()
        self._read(self.everybody.standings, self._asked)

    @worker("Reading who waits")
    def _read(self, standings: Mapping[int, Standing], asked: int) -> None:
        """Off the thread that draws: sorting 10,000 people takes longer than a key may wait."""
        later = self.onsite.call_later_from_anywhere
        later(self._have_waits, who_waits(standings.values(), self._now), asked)
        with self.shoot.reading() as session:
            newest = newest_change(session)
            batches = read_batches(session) if newest != self._batches_until else None
        if batches is not None:
            later(self._have_batches, batches, newest)

    @worker("Reading what is held", exclusive=True, group="held")
    def _read_held(self) -> None:
        """Files that are held are no events, so nobody tells of them."""
        with self.shoot.reading() as session:
            files = held(self.shoot)
            labels = frame_labels(session) if files else {}
        names = list(dict.fromkeys(labels.get(one.frame, one.path) for one in files))
        self.onsite.call_later_from_anywhere(self._have_held, len(files), names)

    def _have_held(self, files: int, names: list[str]) -> None:
        if self.is_mounted:
            told = self.query_one("#held", Static)
            told.display = files > 0
            told.update(held_told(files, names))

    def _have_waits(self, waits: dict[Wait, list[Waits]], asked: int) -> None:
        if asked == self._asked and self.is_mounted:  # else something newer is on its way
            self._waits = waits
            self._show()

    def _have_batches(self, batches: list[Batch], newest: int) -> None:
        if newest > self._batches_until and self.is_mounted:
            self._batches_until = newest
            self._batches = most_urgent_first(batches, self._today)
            self.query_one("#batches", Roll).show(self._batches)
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
            Group(what, len(those), age(those[0].since, now) if those else "")
            for what, those in self._waits.items()
        ]
        self.query_one("#groups", Roll).show(groups, at=list(Wait).index(self._what))
        those = self._waits[self._what]
        self.query_one("#heading", Static).update(
            f"{counted(len(those), 'person', 'people')}: {TOLD[self._what]}"
        )
        self.query_one("#people", Roll).show(those, empty="nobody")
        self._show_state()

    def _show_state(self) -> None:
        waiting = sum(len(those) for those in self._waits.values())
        done = sum(s.stage is Stage.DELIVERED for s in self.everybody.standings.values())
        out = [batch for batch in self._batches if batch.out]
        late = sum(batch.overdue(self._today) for batch in out)
        parts = [
            f"{counted(done, 'person has', 'people have')} everything",
            f"{waiting:,} {'waits' if waiting == 1 else 'wait'}",
            f"{counted(len(out), 'batch', 'batches')} out" + (f", {late} overdue" if late else ""),
        ]
        self.query_one("#state", Static).update(Text(" · ".join(parts)))

    def _line(self, waits: Waits, width: int, ink: Ink) -> Text:
        return waits_line(waits, self._now, width, ink)

    def _batch_line(self, batch: Batch, width: int, ink: Ink) -> Text:
        return batch_line(batch, self._today, width, ink)

    def on_roll_moved(self, event: Roll.Moved[Group]) -> None:
        group = event.roll.item if event.roll.id == "groups" else None  # the message may be a key late
        if group is not None and group.what is not self._what:
            self._wait_for(group.what)

    def on_roll_chosen(self, event: Roll.Chosen[Waits]) -> None:
        if event.roll.id == "people":
            self.action_choose()

    # Keys

    def _wait_for(self, what: Wait) -> None:
        self._what = what
        self._show()

    def action_group(self, by: int) -> None:
        """To what is waited for next or before, at once: the next key is meant for the people shown then."""
        whats = list(Wait)
        self._wait_for(whats[max(0, min(whats.index(self._what) + by, len(whats) - 1))])

    @property
    def _person(self) -> Waits | None:
        item: Waits | None = self.query_one("#people", Roll).item
        return item

    def action_choose(self) -> None:
        if self._person is not None:
            self.app.push_screen(ChooseScreen(self._person.standing))

    def action_history(self) -> None:
        if self._person is not None:
            self.app.push_screen(HistoryScreen(self._person.standing))

    def action_remind(self) -> None:
        """Writes reminders for everybody whose proofs are out without picks."""
        if self._what is not Wait.PICKS:
            self._wait_for(Wait.PICKS)
            self.told.say("These are the people who can be reminded. r once more: write their mails.")
            return
        due = due_for_picks(self.everybody.standings.values(), self._now)
        if not due.now:
            lately = f" {len(due.rested)} were reminded within a day." if due.rested else ""
            self.told.say(f"Nobody is to be reminded.{lately}")
            return
        question = f"Write {counted(len(due.now), 'reminder')}? Nothing is sent."
        self.app.push_screen(SureScreen(question), lambda sure: self._write_reminders(due) if sure else None)

    def _write_reminders(self, due: Due) -> None:
        shoot, station = self.shoot, self.onsite.station
        self.onsite.write(lambda: write_reminders(shoot, due, station), self._reminded)

    def _reminded(self, done: Reminded) -> None:
        if done.folder is None:
            return
        where = done.folder.relative_to(self.shoot.folder)
        without = f" In the table alone, without an address: {len(done.without_address)}."
        said = f"{counted(done.mails, 'mail')} written to {where}. Nothing was sent."
        said += without if done.without_address else ""
        self.onsite.tell(said)
