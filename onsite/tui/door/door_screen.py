"""The Door screen: the search field, the selected person, the waiting queue, and the pace."""

from __future__ import annotations

from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.widgets import Static

from onsite.checkin.arrivals_at_door import Arrival, WaitingPerson, waiting_people
from onsite.checkin.check_in import assign_deck_card
from onsite.checkin.scanned_codes import ScanKind, interpret_scan
from onsite.checkin.undo_at_door import undo_last_act
from onsite.checkin.walk_ins_and_corrections import confirm_person
from onsite.core.errors import Problem
from onsite.roster.find_people import RosterPerson
from onsite.roster.person_names import fold_name
from onsite.status.forecast import day_forecast, forecast_text
from onsite.status.person_status import PersonStatus
from onsite.tui.background_workers import background_worker
from onsite.tui.dialogs.choose_person import PersonSearch, is_it_question
from onsite.tui.dialogs.full_screen import CodeScreen, SlateScreen, record_slate
from onsite.tui.dialogs.question_dialogs import AskScreen, ConfirmScreen
from onsite.tui.door.door_forms import DoorForms, typed_name
from onsite.tui.door.door_messages import arrival_message, card_assigned_message
from onsite.tui.mode_screen import ModeScreen
from onsite.tui.widgets.input_form import EntryField
from onsite.tui.widgets.person_lines import found_line, waiting_line, waiting_text
from onsite.tui.widgets.person_panel import PersonPanel
from onsite.tui.widgets.virtual_list import VirtualList

_HINT = "Type a name, a key or a number, or scan a ticket. Enter checks in."
_READING = "reading the list …"
_LATEST = 50  # arrivals listed while nothing is typed, newest first


class DoorScreen(ModeScreen):
    """The door: checking people in"""

    CSS_PATH = "screen.tcss"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (110, "-wide")]  # noqa: RUF012
    VERTICAL_BREAKPOINTS = [(0, "-low"), (23, "-high")]  # noqa: RUF012
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "enter", "Check in who is marked", show=False),
        Binding("up", "step(-1)", "Up and down the list", show=False, priority=True),
        Binding("down", "step(1)", "Up and down the list", show=False, priority=True),
        Binding("pageup", "queue(-1)", "Through those who wait", show=False, priority=True),
        Binding("pagedown", "queue(1)", "Through those who wait", show=False, priority=True),
        Binding("escape", "clear", "Empty the field", show=False),
        Binding("f6", "slate", "Slate", key_display="F6"),
        Binding("f7", "code", "Code", key_display="F7"),
        Binding("f8", "walk_in", "Walk-in", key_display="F8"),
        Binding("f9", "take_back", "Undo", key_display="F9"),
        Binding("ctrl+t", "card", "Card"),
        Binding("ctrl+n", "confirm", "Name ok"),
        Binding("ctrl+o", "correct", "Correct"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._search = PersonSearch(expected_first=True)
        self._early: list[str] = []
        self._person: int | None = None
        self._kept: int | None = None
        self._forms = DoorForms(self, self._has_arrived, self._check_in, self._taken_up)

    def body(self) -> ComposeResult:
        yield EntryField(self._entered, hint="who is it?", longest=100_000, id="who")
        with Horizontal(id="people"):
            yield VirtualList[PersonStatus](found_line, lambda s: s.person.id, id="found", empty=_READING)
            yield PersonPanel(self.shoot.zone, id="card")
            with Vertical(id="line"):
                yield Static("", classes="heading", id="line-heading", markup=False)
                yield VirtualList[WaitingPerson[PersonStatus]](
                    waiting_line,
                    lambda w: w.status.person.id,
                    empty="nobody waits",
                    marked=False,
                    id="queue",
                )
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
        early, self._early = self._early, []
        for text in early:
            if not self._entered(text):
                self.query_one(EntryField).value = text

    def _find(self, text: str) -> None:
        """Show the people who match the text, or the latest arrivals for an empty text."""
        found, typed = self._search.look(text, self.status_cache), bool(text.strip())
        rows = found if typed else self.status_cache.latest(_LATEST)
        nobody = "nobody of that name. F8: a walk-in" if typed else "nobody has come yet"
        self._found.show(
            rows, at=None if self._search.moved else 0, empty=nobody if self.onsite.ready else _READING
        )
        self._show_person(self._found.item if typed else self.status_cache.statuses.get(self._kept or 0))

    def _show_person(self, status: PersonStatus | None) -> None:
        self._person = status.person.id if status is not None else None
        self.query_one(PersonPanel).show(status, "" if self._typed else _HINT)

    @background_worker("Counting who waits", exclusive=True)
    def _show_line(self) -> None:
        """Count who waits, and the pace, in a worker thread: too slow for the drawing thread."""
        now = self.shoot.now()
        statuses = self.status_cache.statuses.values()
        line = waiting_people(statuses, now)
        pace = forecast_text(day_forecast(statuses, self.shoot.settings.ends, now))
        self.onsite.call_later_from_anywhere(self._put_line, line, pace)

    def _put_line(self, line: list[WaitingPerson[PersonStatus]], pace: str) -> None:
        first = f", the first {waiting_text(line[0])}" if line else ""
        self.query_one("#queue", VirtualList).show(line)
        self.query_one("#line-heading", Static).update(f"{len(line)} waiting{first}")
        self.query_one("#pace", Static).update(Text(pace))

    @property
    def _found(self) -> VirtualList[PersonStatus]:
        return self.query_one("#found", VirtualList)

    @property
    def _typed(self) -> str:
        return self.query_one(EntryField).value

    @property
    def _shown(self) -> PersonStatus | None:
        """The person whose details are shown."""
        return self.status_cache.statuses.get(self._person or 0)

    # Keys in the field

    def _typed_on(self, text: str) -> None:
        if text != self._search.text:
            self.status_line.drop_question()
            self._find(text)

    def on_virtual_list_highlighted(self, event: VirtualList.Highlighted[PersonStatus]) -> None:
        if event.virtual_list is self._found and (self._typed or self._search.moved):
            self._show_person(event.item)

    def action_step(self, by: int) -> None:
        self._search.moved = True
        self._found.action_step(by)
        self._show_person(self._found.item)
        self._kept = self._person

    def action_queue(self, by: int) -> None:
        self.query_one("#queue", VirtualList).action_page(by)

    def action_clear(self) -> None:
        self.status_line.drop_question()
        self._kept = None
        self.query_one(EntryField).value = ""
        self._search.moved = False
        self._find("")

    def _entered(self, text: str) -> bool:
        """Handle Enter in the field; return True where the field is to be emptied."""
        if not self.onsite.ready:
            self._early.append(text)  # typed before the list was read: handled as soon as it is
            return True
        if self._scanned(text):
            return True
        if text != self._search.text:
            self._find(text)  # the list must belong to the text, however fast it was typed
        status = self._found.item
        if not text.strip() or status is None:
            return False
        if not self._search.is_meant_by_enter(status.person):
            self.status_line.ask(is_it_question(status.person))
            return False
        self._check_in(status.person)
        return True

    def _scanned(self, text: str) -> bool:
        """Act on a scanned code; return False where the text is not one."""
        scan = interpret_scan(text, self.shoot.mark, self.status_cache)
        if scan.kind is ScanKind.PERSON and scan.person is not None:
            self._check_in(scan.person)
        elif scan.kind is ScanKind.CARD and scan.card is not None:
            self._offer_card(scan.card)
        elif scan.problem is not None:
            self.status_line.show_problem(scan.problem)
        else:
            return False
        return True

    def _check_in(self, person: RosterPerson, card: str | None = None) -> None:
        self._kept = person.id
        self.status_line.show_message(f"{person.name} …")
        self.onsite.write(
            lambda: self.onsite.door.check_in(person, self.onsite.station, card), self._has_arrived
        )

    def _has_arrived(self, arrival: Arrival) -> None:
        self.status_cache.arrived(arrival)
        namesakes = self._expected_of_that_name(arrival.person) if arrival.is_repeated else []
        self.status_line.show_message(arrival_message(arrival, self.shoot.zone, namesakes))
        self._kept = arrival.person.id
        self.renew(frozenset({arrival.person.id}), False)

    def _expected_of_that_name(self, person: RosterPerson) -> list[RosterPerson]:
        statuses, name = self.status_cache.statuses, fold_name(person.name)
        found = [hit.person for hit in self.status_cache.finder.find(person.name)]
        return [
            other
            for other in found
            if other.id != person.id
            and fold_name(other.name) == name
            and not other.withdrawn
            and (status := statuses.get(other.id)) is not None
            and status.arrived is None
        ]

    def _offer_card(self, card: int) -> None:
        status = self.status_cache.statuses.get(self._kept or 0)
        if status is None or status.arrived is None:
            self.status_line.show_problem(
                Problem(f"Card {card}: for whom?", "Check its person in first, then scan it.")
            )
            return

        def answered(yes: bool | None) -> None:
            if yes:
                self._assign_card(status.person.id, card)

        number = f", number {status.person.sequence}" if status.person.sequence else ""
        self.app.push_screen(ConfirmScreen(f"Card {card} for {status.person.name}{number}?"), answered)

    def _assign_card(self, person: int, card: int | str) -> None:
        self.onsite.write(
            lambda: assign_deck_card(self.shoot, person, card, self.onsite.station),
            lambda tied: self.status_line.show_message(card_assigned_message(tied)),
        )

    # Keys for the person shown

    def action_slate(self) -> None:
        if (status := self._selected()) is not None:
            self.app.push_screen(SlateScreen(status.person, self._slate_shown))

    def _slate_shown(self, person: RosterPerson) -> None:
        self.onsite.write(
            lambda: record_slate(self.onsite.door, person, self.onsite.station), self.status_line.show_message
        )

    def action_code(self) -> None:
        if (status := self._selected()) is not None:
            self.app.push_screen(CodeScreen(status.person))

    def action_take_back(self) -> None:
        if (status := self._selected()) is not None:
            self.onsite.write(
                lambda: undo_last_act(self.shoot, status.person.id, self.onsite.station),
                self.status_line.show_message,
            )

    def action_card(self) -> None:
        if (status := self._selected()) is None:
            return

        def answered(card: str | None) -> None:
            if card and status.arrived is not None:
                self._assign_card(status.person.id, card)
            elif card:
                self._check_in(status.person, card)

        self.app.push_screen(
            AskScreen(f"Which deck card for {status.person.name}?", hint="its number"), answered
        )

    def action_confirm(self) -> None:
        if (status := self._selected()) is not None:
            self.onsite.write(
                lambda: confirm_person(self.shoot, status.person.id, self.onsite.station),
                lambda _: self.status_line.show_message(f"{status.person.name}: spelling confirmed"),
            )

    def action_correct(self) -> None:
        if (status := self._selected()) is not None:
            self._forms.correct(status)

    def action_walk_in(self) -> None:
        self._forms.walk_in(typed_name(self._typed))

    def _taken_up(self) -> None:
        """Empty the search field, whose text has become a walk-in."""
        self.query_one(EntryField).value = ""

    def _selected(self) -> PersonStatus | None:
        status = self._shown
        if status is None:
            self.status_line.show_problem(Problem("Nobody's card is shown.", "Find somebody first."))
        return status
