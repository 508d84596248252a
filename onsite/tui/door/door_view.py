"""What the Door shows: the field, who is found, the person, those who wait, and the pace."""

from __future__ import annotations

from collections.abc import Sequence

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Container, Vertical
from textual.widgets import Static

from onsite.checkin.waiting_people import WaitingPerson, waiting_people
from onsite.core.text import shown
from onsite.core.times import format_clock_time
from onsite.status.forecast import day_forecast, forecast_text, late_people
from onsite.status.person_status import PersonStatus
from onsite.tui.background_workers import background_worker
from onsite.tui.dialogs.choose_person import PersonSearch, is_it_question
from onsite.tui.mode_screen import ModeScreen
from onsite.tui.widgets.input_form import EntryField
from onsite.tui.widgets.person_lines import found_line, late_line, waiting_line, waiting_text
from onsite.tui.widgets.person_panel import PersonPanel
from onsite.tui.widgets.virtual_list import Ink, VirtualList

_HINT = "Type a name, a key or a number, or scan a ticket. Enter checks in."
_READING = "reading the list …"
_MOST_FOUND = 20  # people that a text finds at most
_LATEST = 50  # arrivals listed while nothing is typed, newest first


def _counted(found: Sequence[PersonStatus]) -> str:
    return str(len(found)) if len(found) < _MOST_FOUND else f"the first {len(found)}"


class DoorView(ModeScreen):
    """Shows the people found for the text in the field, and what is known of the selected one."""

    def __init__(self) -> None:
        super().__init__()
        self._search = PersonSearch(expected_first=True)
        self._early: list[str] = []
        """Texts entered before the list was read."""
        self._person: int | None = None
        self._asked: PersonStatus | None = None
        """Who is asked about under the field."""
        self._kept: int | None = None
        self._answer = ""
        """The loud answer to the last check-in, about the person kept."""
        self._kept_title = "Selected"
        """The title over the person kept."""

    def _entered(self, text: str) -> bool:
        """Handle Enter in the field; return True where the field is to be emptied."""
        raise NotImplementedError

    def body(self) -> ComposeResult:
        yield EntryField(self._entered, hint="who is it?", longest=100_000, id="who")
        yield Static("", id="asked", markup=False)
        with Container(id="people"):
            with Vertical(id="found-panel", classes="panel"):
                yield VirtualList[PersonStatus](self._line, lambda s: s.person.id, id="found", empty=_READING)
            with Vertical(id="card-panel", classes="panel"):
                yield PersonPanel(self.shoot.zone, id="card")
            with Vertical(id="line", classes="panel"):
                yield VirtualList[WaitingPerson[PersonStatus]](
                    waiting_line,
                    lambda w: w.status.person.id,
                    empty="nobody waits",
                    marked=False,
                    id="queue",
                )
            with Vertical(id="late-panel", classes="panel"):
                yield VirtualList[PersonStatus](late_line, lambda s: s.person.id, marked=False, id="late")
        yield Static("", id="pace", markup=False)

    def on_mount(self) -> None:
        for virtual_list in self.query(VirtualList):
            virtual_list.can_focus = False
        field = self.query_one(EntryField)
        field.focus()
        self.watch(field, "value", self._typed_on, init=False)  # at once: a message would miss the next frame
        self.set_interval(10, self._show_line)

    # Showing

    def renew(self, people: frozenset[int] | None, matched: bool) -> None:  # noqa: ARG002
        if people is None or people:
            self._find(self._typed)
            self._show_line()
            self.say_next(self._next())
        early, self._early = self._early, []
        for text in early:
            if not self._entered(text):
                field = self.query_one(EntryField)
                field.value = text
                field.select_all()  # what is typed next takes its place, as after any Enter

    def _next(self) -> str:
        statuses = self.status_cache.statuses.values()
        if not statuses:
            return "load the client's list. Press Ctrl+P and type: list"
        if all(status.arrived is not None or not status.counts for status in statuses):
            return "everybody is here. Press F2 for the set"
        return ""

    def _find(self, text: str) -> None:
        """Show the people who match the text, or the latest arrivals for an empty text."""
        found, typed = self._search.look(text, self.status_cache), bool(text.strip())
        rows = found if typed else self.status_cache.latest(_LATEST)
        nobody = "Nobody of that name. Try their group, or F8: a walk-in" if typed else "nobody has come yet"
        self._found.mark(typed or self._search.moved)
        self.set_class(typed, "-typed")
        self.name_panel("#found-panel", f"On the list: {_counted(rows)}" if typed else "Came last")
        self._found.show(
            rows, at=None if self._search.moved else 0, empty=nobody if self.onsite.ready else _READING
        )
        self._show_person(self._found.item if typed else self.status_cache.statuses.get(self._kept or 0))

    def _line(self, status: PersonStatus, width: int, ink: Ink) -> Text:
        """A person found, with their slot, or of those who came last, with the time at which they came."""
        at = None if self._typed.strip() else status.arrived
        return found_line(status, width, ink, format_clock_time(at, self.shoot.zone) if at else "")

    def _show_person(self, status: PersonStatus | None) -> None:
        self._person = status.person.id if status is not None else None
        kept = self._person is not None and self._person == self._kept
        self.name_panel("#card-panel", self._kept_title if kept else "Selected")
        answer = self._answer if kept and not self._typed else ""
        self.query_one(PersonPanel).show(status, "" if self._typed else _HINT, answer)

    @background_worker("Counting who waits", exclusive=True)
    def _show_line(self) -> None:
        """Find who waits, who is late and the pace, in a worker thread: too slow for the drawing thread."""
        now = self.shoot.now()
        statuses = self.status_cache.statuses.values()
        line = waiting_people(statuses, now)
        pace = forecast_text(day_forecast(statuses, self.shoot.settings.ends, now))
        late = late_people(statuses, now, self.shoot.settings.date)
        self.onsite.call_later_from_anywhere(self._put_line, line, late, pace)

    def _put_line(self, line: list[WaitingPerson[PersonStatus]], late: list[PersonStatus], pace: str) -> None:
        first = f", the first {waiting_text(line[0])}" if line else ""
        self.query_one("#queue", VirtualList).show(line)
        self.name_panel("#line", f"{len(line)} waiting{first}")
        self.query_one("#pace", Static).update(Text(pace))
        self.query_one("#late", VirtualList).show(late)
        self.name_panel("#late-panel", f"{len(late):,} late, by their slots")
        self.set_class(not late, "-punctual")

    @property
    def _found(self) -> VirtualList[PersonStatus]:
        return self.query_one("#found", VirtualList)

    @property
    def _typed(self) -> str:
        return self.query_one(EntryField).value

    @property
    def person_in_front(self) -> PersonStatus | None:
        """The person whose details are shown."""
        return self.status_cache.statuses.get(self._person or 0)

    def _ask(self, status: PersonStatus | None) -> None:
        """Ask under the field whether it is this person; None takes the question away."""
        self._asked = status
        asked = self.query_one("#asked", Static)
        asked.set_class(status is not None, "-asks")
        asked.update(Text(shown(is_it_question(status)) if status is not None else ""))

    def _typed_on(self, text: str) -> None:
        if text != self._search.text:
            if self._asked is not None:
                self.status_line.show_message(f"{self._asked.person.name} is not checked in")
            self._ask(None)
            self._find(text)

    def on_virtual_list_highlighted(self, event: VirtualList.Highlighted[PersonStatus]) -> None:
        if event.virtual_list is self._found and (self._typed or self._search.moved):
            self._show_person(event.item)
