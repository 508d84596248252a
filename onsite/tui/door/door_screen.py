"""The Door screen: finding people, checking them in, and what else is done for one person."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual.binding import BindingType

from onsite.checkin.check_in import assign_deck_card
from onsite.checkin.scanned_codes import ScanKind, interpret_scan
from onsite.checkin.undo_check_in import undo_last_act
from onsite.checkin.waiting_people import Arrival
from onsite.checkin.walk_ins_and_corrections import confirm_person
from onsite.core.errors import Problem
from onsite.roster.find_people import RosterPerson
from onsite.roster.person_names import fold_name
from onsite.status.person_status import PersonStatus
from onsite.tui import key_grammar as keys
from onsite.tui.dialogs.full_screen import CodeScreen, SlateScreen, record_slate
from onsite.tui.dialogs.question_dialogs import AskScreen, ConfirmScreen
from onsite.tui.door.door_forms import DoorForms, typed_name
from onsite.tui.door.door_messages import (
    arrival_message,
    card_assigned_message,
    card_question,
    here_already_answer,
)
from onsite.tui.door.door_view import DoorView
from onsite.tui.widgets.input_form import EntryField
from onsite.tui.widgets.virtual_list import VirtualList


class DoorScreen(DoorView):
    """The door: checking people in"""

    CSS_PATH = "screen.tcss"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (110, "-wide")]  # noqa: RUF012
    VERTICAL_BREAKPOINTS = [(0, "-low"), (23, "-high")]  # noqa: RUF012
    BINDINGS: ClassVar[list[BindingType]] = [
        keys.ENTER.says("Check in"),
        keys.UP.says(priority=True),
        keys.DOWN.says("Another person", show=False, priority=True),
        keys.PAGE_UP.says(priority=True),
        keys.PAGE_DOWN.says("Those who wait", show=False, priority=True),
        keys.BACK.says("Empty the field", show=False),
        keys.WALK_IN.says("Walk-in"),
        keys.SLATE.says("Slate"),
        keys.TICKET_CODE.says("Code", show=False),
        keys.UNDO.says("Undo", display="F9"),
        keys.CARD.says("Card"),
        keys.CORRECT.says("Consent"),
        keys.CONFIRM.says("The name is right", show=False),
    ]
    SIGNS = (
        ("▁ ▄ ▇", "expected, here, photographed"),
        ("○ ◔ ◑ ◕ ●", "proofed, picked, at retouch, retouched, delivered"),
        ("late", "not here, though their time on the client's list is over"),
        ("an hour", "the pace lately; from it, when all are done and who still fits in"),
        ("slate", "the person's code full screen, to be photographed first: it names the frames that follow"),
        ("undo", "takes back what was done last with the person shown, and never a no to being published"),
        ("card", "a numbered deck card for somebody without a ticket; scan it right after the check-in"),
    )

    def __init__(self) -> None:
        super().__init__()
        self._forms = DoorForms(self, self._has_arrived, self._check_in, self._taken_up)

    # Keys in the field

    def action_enter(self) -> None:
        """Do what Enter does in the field, for a click on the footer."""
        field = self.query_one(EntryField)
        if self._entered(field.value):
            field.value = ""

    def action_step(self, by: int) -> None:
        if not self._search.moved and not self._typed:
            by = 0  # the first key marks the latest arrival
        self._search.moved = True
        self._found.mark(True)
        self._found.action_step(by)
        self._show_person(self._found.item)
        self._keep(self._person, "Selected")

    def _keep(self, person: int | None, title: str, answer: str = "") -> None:
        """Keep showing this person, under a title, while nothing is typed."""
        self._kept, self._kept_title, self._answer = person, title, answer

    def action_queue(self, by: int) -> None:
        self.query_one("#queue", VirtualList).action_page(by)

    def on_screen_suspend(self) -> None:
        """Leave no letters behind in another mode: whoever comes back types a new name."""
        if self.app.current_mode != "door" and self.query_one(EntryField).value:
            self.action_clear()

    def action_clear(self) -> None:
        self._ask(None)
        self._keep(None, "")
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
        if text.strip() and status is not None and self._search.is_meant_by_enter(status.person):
            self._check_in(status.person)
            return True
        if text.strip() and status is not None:
            self._ask(status)
        self.query_one(EntryField).select_all()  # what is typed or scanned next takes its place
        return False

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
        self._ask(None)
        self._keep(person.id, "Selected")
        self.status_line.show_message(f"{person.name} …")
        self.onsite.write(
            lambda: self.onsite.door.check_in(person, self.onsite.station, card), self._has_arrived
        )

    def _has_arrived(self, arrival: Arrival) -> None:
        self.status_cache.arrived(arrival)
        namesakes = self._expected_of_that_name(arrival.person) if arrival.is_repeated else []
        self.status_line.show_message(arrival_message(arrival, self.shoot.zone, namesakes))
        title = "Already here" if arrival.is_repeated else "Checked in last"
        self._keep(arrival.person.id, title, here_already_answer(arrival, self.shoot.zone))
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
                Problem(f"Deck card {card}: for whom?", "Check its person in first, then scan it.")
            )
            return

        self._ask_card(status, card, lambda: self._assign_card(status.person.id, card))

    def _ask_card(self, status: PersonStatus, card: int | str, then: Callable[[], None]) -> None:
        """Ask whether the deck card is theirs now, and say who waits with it."""
        holder = self.status_cache.waits_with(card)
        question = card_question(card, status.person, holder if holder is not status else None)
        self.app.push_screen(ConfirmScreen(question), lambda yes: then() if yes else None)

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

    def action_undo(self) -> None:
        if (status := self._selected()) is not None:
            self._keep(status.person.id, "Selected")
            self.onsite.write(
                lambda: undo_last_act(self.shoot, status.person.id, self.onsite.station),
                self.status_line.show_message,
            )

    def action_card(self) -> None:
        if (status := self._selected()) is None:
            return

        def given(card: str) -> None:
            if status.arrived is not None:
                self._assign_card(status.person.id, card)
            else:
                self._check_in(status.person, card)

        def answered(card: str | None) -> None:
            if card and self.status_cache.waits_with(card) not in (None, status):
                self._ask_card(status, card, lambda: given(card))
            elif card:
                given(card)

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
        status = self.person_in_front
        if status is None:
            self.status_line.show_problem(Problem("Nobody is selected.", "Type a name first."))
        return status
