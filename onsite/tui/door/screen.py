"""The door: one field, the person's card, who waits, and the pace."""

from __future__ import annotations

from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.widgets import Static

from onsite.checkin.correct import confirm
from onsite.checkin.desk import Arrival
from onsite.checkin.door import check_in_person, spoken_taken_back, tie_card, undo_person
from onsite.checkin.queue import Waiting, waiting
from onsite.checkin.scan import ScanKind, scanned
from onsite.problems import Problem
from onsite.progress.forecast import day_forecast, spoken_forecast
from onsite.progress.stage import Standing
from onsite.roster.find import Someone
from onsite.roster.names import fold
from onsite.tui.around.ask import AskScreen, SureScreen
from onsite.tui.around.slate import CodeScreen, SlateScreen, note_slate
from onsite.tui.door.answers import arrived, card_tied
from onsite.tui.door.forms import DoorForms
from onsite.tui.door.walkin import typed_name
from onsite.tui.mode import ModeScreen
from onsite.tui.search import Search, is_it
from onsite.tui.widgets.card import PersonCard
from onsite.tui.widgets.field import Field
from onsite.tui.widgets.people import found_line, waited, waiting_line
from onsite.tui.widgets.roll import Roll
from onsite.tui.workers import worker

_HINT = "Type a name, a key or a number, or scan a ticket. Enter checks in."
_READING = "reading the list …"
_LATEST = 50  # arrivals listed while nothing is typed, the last one first


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
        self._search = Search(expected_first=True)
        self._early: list[str] = []
        self._person: int | None = None
        self._kept: int | None = None
        self._forms = DoorForms(self, self._has_arrived, self._check_in, self._taken_up)

    def body(self) -> ComposeResult:
        yield Field(self._entered, hint="who is it?", longest=100_000, id="who")
        with Horizontal(id="people"):
            yield Roll[Standing](found_line, lambda s: s.person.id, id="found", empty=_READING)
            yield PersonCard(self.shoot.zone, id="card")
            with Vertical(id="line"):
                yield Static("", classes="heading", id="line-heading", markup=False)
                yield Roll[Waiting[Standing]](
                    waiting_line,
                    lambda w: w.standing.person.id,
                    empty="nobody waits",
                    marked=False,
                    id="queue",
                )
        yield Static("", id="pace", markup=False)

    def on_mount(self) -> None:
        for roll in self.query(Roll):
            roll.can_focus = False
        field = self.query_one(Field)
        field.focus()
        self.watch(field, "value", self._typed_on, init=False)  # at once: a message would miss the next frame
        self.set_interval(10, self._show_line)

    # What is shown

    def renew(self, people: frozenset[int] | None, matched: bool) -> None:  # noqa: ARG002
        if people is None or people:
            self._find(self._typed)
            self._show_line()
        early, self._early = self._early, []
        for text in early:
            if not self._entered(text):
                self.query_one(Field).value = text

    def _find(self, text: str) -> None:
        """Whom the text may mean; the latest arrivals while nothing is typed."""
        found, typed = self._search.look(text, self.everybody), bool(text.strip())
        rows = found if typed else self.everybody.latest(_LATEST)
        nobody = "nobody of that name. F8: a walk-in" if typed else "nobody has come yet"
        self._found.show(
            rows, at=None if self._search.moved else 0, empty=nobody if self.onsite.ready else _READING
        )
        self._show_card(self._found.item if typed else self.everybody.standings.get(self._kept or 0))

    def _show_card(self, standing: Standing | None) -> None:
        self._person = standing.person.id if standing is not None else None
        self.query_one(PersonCard).show(standing, "" if self._typed else _HINT)

    @worker("Counting who waits", exclusive=True)
    def _show_line(self) -> None:
        """Who waits and the pace: of 10,000 people that is too long for the thread that draws."""
        now = self.shoot.now()
        standings = self.everybody.standings.values()
        line = waiting(standings, now)
        pace = spoken_forecast(day_forecast(standings, self.shoot.settings.ends, now))
        self.onsite.call_later_from_anywhere(self._put_line, line, pace)

    def _put_line(self, line: list[Waiting[Standing]], pace: str) -> None:
        first = f", the first {waited(line[0])}" if line else ""
        self.query_one("#queue", Roll).show(line)
        self.query_one("#line-heading", Static).update(f"{len(line)} waiting{first}")
        self.query_one("#pace", Static).update(Text(pace))

    @property
    def _found(self) -> Roll[Standing]:
        return self.query_one("#found", Roll)

    @property
    def _typed(self) -> str:
        return self.query_one(Field).value

    @property
    def _shown(self) -> Standing | None:
        """Whose card is shown."""
        return self.everybody.standings.get(self._person or 0)

    # What is pressed

    def _typed_on(self, text: str) -> None:
        if text != self._search.text:
            self.told.drop_question()
            self._find(text)

    def on_roll_moved(self, event: Roll.Moved[Standing]) -> None:
        if event.roll is self._found and (self._typed or self._search.moved):
            self._show_card(event.item)

    def action_step(self, by: int) -> None:
        self._search.moved = True
        self._found.action_step(by)
        self._show_card(self._found.item)
        self._kept = self._person

    def action_queue(self, by: int) -> None:
        self.query_one("#queue", Roll).action_page(by)

    def action_clear(self) -> None:
        self.told.drop_question()
        self._kept = None
        self.query_one(Field).value = ""
        self._search.moved = False
        self._find("")

    def _entered(self, text: str) -> bool:
        """Enter in the field; True where the text has done its work."""
        if not self.onsite.ready:
            self._early.append(text)  # typed before the list was read: done as soon as it is
            return True
        if self._scanned(text):
            return True
        if text != self._search.text:
            self._find(text)  # what is marked belongs to what is typed, however quick the hand
        standing = self._found.item
        if not text.strip() or standing is None:
            return False
        if not self._search.means(standing.person):
            self.told.ask(is_it(standing.person))
            return False
        self._check_in(standing.person)
        return True

    def _scanned(self, text: str) -> bool:
        """Does what a scanned code asks for; False where the text is none."""
        scan = scanned(text, self.shoot.mark, self.everybody)
        if scan.kind is ScanKind.PERSON and scan.person is not None:
            self._check_in(scan.person)
        elif scan.kind is ScanKind.CARD and scan.card is not None:
            self._offer_card(scan.card)
        elif scan.problem is not None:
            self.told.problem(scan.problem)
        else:
            return False
        return True

    def _check_in(self, someone: Someone, card: str | None = None) -> None:
        self._kept = someone.id
        self.told.say(f"{someone.name} …")
        self.onsite.write(
            lambda: check_in_person(self.shoot, someone.id, self.onsite.station, card), self._has_arrived
        )

    def _has_arrived(self, arrival: Arrival) -> None:
        self.everybody.arrived(arrival)
        namesakes = self._expected_of_that_name(arrival.person) if arrival.already else []
        self.told.say(arrived(arrival, self.shoot.zone, namesakes))
        self._kept = arrival.person.id
        self.renew(frozenset({arrival.person.id}), False)

    def _expected_of_that_name(self, someone: Someone) -> list[Someone]:
        standings, name = self.everybody.standings, fold(someone.name)
        found = [hit.someone for hit in self.everybody.finder.find(someone.name)]
        return [
            other
            for other in found
            if other.id != someone.id
            and fold(other.name) == name
            and not other.withdrawn
            and (standing := standings.get(other.id)) is not None
            and standing.arrived is None
        ]

    def _offer_card(self, card: int) -> None:
        standing = self.everybody.standings.get(self._kept or 0)
        if standing is None or standing.arrived is None:
            self.told.problem(Problem(f"Card {card}: for whom?", "Check its person in first, then scan it."))
            return

        def answered(yes: bool | None) -> None:
            if yes:
                self._tie(standing.person.id, card)

        number = f", number {standing.person.sequence}" if standing.person.sequence else ""
        self.app.push_screen(SureScreen(f"Card {card} for {standing.person.name}{number}?"), answered)

    def _tie(self, person: int, card: int | str) -> None:
        self.onsite.write(
            lambda: tie_card(self.shoot, person, card, self.onsite.station),
            lambda tied: self.told.say(card_tied(tied)),
        )

    # Keys for whose card is shown

    def action_slate(self) -> None:
        if (standing := self._meant()) is not None:
            self.app.push_screen(SlateScreen(standing.person, self._slate_shown))

    def _slate_shown(self, someone: Someone) -> None:
        self.onsite.write(lambda: note_slate(self.shoot, someone, self.onsite.station), self.told.say)

    def action_code(self) -> None:
        if (standing := self._meant()) is not None:
            self.app.push_screen(CodeScreen(standing.person))

    def action_take_back(self) -> None:
        if (standing := self._meant()) is not None:
            self.onsite.write(
                lambda: undo_person(self.shoot, standing.person.id, self.onsite.station),
                lambda back: self.told.say(spoken_taken_back(back)),
            )

    def action_card(self) -> None:
        if (standing := self._meant()) is None:
            return

        def answered(card: str | None) -> None:
            if card and standing.arrived is not None:
                self._tie(standing.person.id, card)
            elif card:
                self._check_in(standing.person, card)

        self.app.push_screen(
            AskScreen(f"Which deck card for {standing.person.name}?", hint="its number"), answered
        )

    def action_confirm(self) -> None:
        if (standing := self._meant()) is not None:
            self.onsite.write(
                lambda: confirm(self.shoot, standing.person.id, self.onsite.station),
                lambda _: self.told.say(f"{standing.person.name}: spelling confirmed"),
            )

    def action_correct(self) -> None:
        if (standing := self._meant()) is not None:
            self._forms.correct(standing)

    def action_walk_in(self) -> None:
        self._forms.walk_in(typed_name(self._typed))

    def _taken_up(self) -> None:
        """What was typed has become a walk-in."""
        self.query_one(Field).value = ""

    def _meant(self) -> Standing | None:
        standing = self._shown
        if standing is None:
            self.told.problem(Problem("Nobody's card is shown.", "Find somebody first."))
        return standing
