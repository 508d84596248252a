"""The dialog for choosing a person, and the search behind it and behind the Door's field."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from onsite.core.text import shown
from onsite.roster.find_people import IN_PART, SearchHit
from onsite.roster.name_spellings import GROUP, RosterPerson
from onsite.status.person_status import PersonStatus
from onsite.status.status_cache import StatusCache
from onsite.tui.screen_host import host_of
from onsite.tui.widgets.input_form import EntryField
from onsite.tui.widgets.person_lines import person_line
from onsite.tui.widgets.virtual_list import VirtualList

_NOTHING_TYPED = "Type part of a name, or a number."
_KEYS = "Enter: choose. Up, down: another. Esc: back."


class ChoosePersonScreen(ModalScreen[int | None]):
    """Somebody by name, key, code or number. Enter takes who is marked, once that is clear."""

    CSS = """
    ChoosePersonScreen { align: center middle; background: $ground; }
    ChoosePersonScreen Vertical {
        width: 76; max-width: 100%; height: 20; max-height: 100%; padding: 1 2; background: $raised;
    }
    ChoosePersonScreen Input { background: $ground; margin: 1 0; }
    ChoosePersonScreen #asked { height: auto; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "step(-1)", "Up", show=False, priority=True),
        Binding("down", "step(1)", "Down", show=False, priority=True),
        Binding("escape", "dismiss", "Back"),
    ]

    def __init__(self, question: str) -> None:
        super().__init__()
        self._question = question
        self._search = PersonSearch()

    def compose(self) -> ComposeResult:
        with Vertical():
            yield Static(Text(shown(self._question)), markup=False)
            yield EntryField(self._entered, hint="name, key, code or number")
            yield VirtualList[PersonStatus](person_line, lambda s: s.person.id, empty=_NOTHING_TYPED)
            yield Static(_KEYS, id="asked", markup=False)

    @property
    def _found(self) -> VirtualList[PersonStatus]:
        return self.query_one(VirtualList)

    def on_input_changed(self, event: Input.Changed) -> None:
        if event.value != self._search.text:
            self._find(event.value)

    def _find(self, text: str) -> None:
        if text != self._search.text:
            self.query_one("#asked", Static).update(_KEYS)  # it was asked about another text
        found = self._search.look(text, host_of(self).status_cache)
        self._found.show(found, at=0, empty="nobody of that name" if text.strip() else _NOTHING_TYPED)

    def _entered(self, text: str) -> bool:
        if text != self._search.text:
            self._find(text)
        status = self._found.item
        if status is not None and self._search.is_meant_by_enter(status.person):
            self.dismiss(status.person.id)
        elif status is not None:
            self.query_one("#asked", Static).update(Text(shown(is_it_question(status))))
        return False

    def on_virtual_list_selected(self, event: VirtualList.Selected[PersonStatus]) -> None:
        self.dismiss(event.item.person.id)

    def action_step(self, by: int) -> None:
        self._search.moved = True
        self._found.action_step(by)


_EXACT = ("key", "code", "sequence number")
_GUESSES = ("typo", "initials", "group", IN_PART)
_CLEAR_MARGIN = 20.0
"""The least lead in score, of 100, of the best hit over the next.

Own choice: another matching word gives it, two spellings of one name do not.
"""


def is_unambiguous(hits: Sequence[SearchHit]) -> bool:
    """Whether the first hit is certain enough that one key may check the person in.

    A guessed typo, initials, a word that is not theirs, or two people who match nearly as well need a second
    look: a wrong name is worse than a second key.
    """
    if not hits or hits[0].person.withdrawn:
        return False
    first, rest = hits[0], hits[1:]
    if first.why in _EXACT:
        return not any(hit.why in _EXACT and hit.score >= first.score for hit in rest)
    if any(guess in first.why for guess in _GUESSES):
        return False
    return all(first.score - hit.score >= _CLEAR_MARGIN for hit in rest)


class PersonSearch:
    """The text typed so far and the people found for it.

    `moved` says that the user has moved the cursor. With `expected_first`, of people who match equally well
    the expected ones come first.
    """

    def __init__(self, expected_first: bool = False) -> None:
        self._expected_first = expected_first
        self.text = ""
        self.moved = False
        self._hits: list[SearchHit] = []
        self._asked: tuple[int, str] | None = None

    def look(self, text: str, everybody: StatusCache) -> list[PersonStatus]:
        """The people who match the text, best first; nobody for an empty text."""
        if text != self.text:
            self.moved = False
            self._asked = None
        self.text = text
        self._hits = everybody.finder.find(text) if text.strip() else []
        statuses = everybody.statuses
        if self._expected_first:
            self._hits.sort(key=lambda hit: _place(hit, statuses.get(hit.person.id)))
        return [statuses[hit.person.id] for hit in self._hits if hit.person.id in statuses]

    def is_meant_by_enter(self, person: RosterPerson) -> bool:
        """Whether Enter chooses the person under the cursor.

        It does where the user moved there, where the match is unambiguous, and at the second Enter on the
        same text and person.
        """
        sure = self.moved or self._asked == (person.id, self.text) or is_unambiguous(self._hits)
        self._asked = person.id, self.text
        return sure


def _place(hit: SearchHit, status: PersonStatus | None) -> tuple[int, bool, bool]:
    """The sort key: score in whole points, the same for all of a group, then withdrawn people last, then
    expected people first."""
    score = 0 if hit.why.startswith(GROUP) else -round(hit.score)
    return score, hit.person.withdrawn, status is not None and status.arrived is not None


def is_it_question(status: PersonStatus) -> str:
    """The question to ask where the match is ambiguous, with what tells people of one name apart."""
    person = status.person
    number = f"number {person.sequence}" if person.sequence else "no number yet"
    facts = [person.group or person.key, status.role, status.slot, number]
    gone = ", who is no longer on the list" if person.withdrawn else ""
    about = ", ".join(fact for fact in facts if fact)
    return f"Is it {person.name} ({about}){gone}? Enter: yes. Up, down: another."
