"""The flow of the Door's forms, with their questions before anything is written."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from textual.widgets import Input

from onsite.checkin.waiting_people import Arrival
from onsite.checkin.walk_ins_and_corrections import correct_person
from onsite.core.errors import Problem
from onsite.roster.find_people import RosterPerson
from onsite.roster.parse_consent import Consent, parse_consent
from onsite.roster.person_names import fold_name, full_name
from onsite.roster.roster_groups import UnknownGroup
from onsite.status.person_status import PersonStatus
from onsite.tui.dialogs.question_dialogs import ChoiceScreen
from onsite.tui.door.door_messages import corrected_message, known_person_message
from onsite.tui.mode_screen import ModeScreen
from onsite.tui.screen_host import host_of
from onsite.tui.widgets.input_form import CONSENT_HINT, FormEntry, FormScreen, group_entry

_NEARLY_ONE = 90.0  # score of 100 from which it is asked whether they are one
_LOOKS_ALIKE = 80.0  # score of 100 from which a person on the list may be the walk-in


def typed_name(text: str) -> dict[str, str]:
    """The text typed at the Door, split into names for the walk-in form."""
    given, _, family = text.strip().partition(" ")
    return {"given": given, "family": family.strip()}


class WalkInScreen(FormScreen):
    """Somebody who is not on the list. Whoever has such a name already is shown while it is typed."""

    def __init__(
        self, groups: Iterable[str], values: Mapping[str, str], problem: Problem | None = None
    ) -> None:
        """`values` are the initial values, `problem` is why they could not be written."""
        super().__init__(
            "A walk-in: somebody who is not on the list",
            (
                FormEntry("given", "given name", values.get("given", "")),
                FormEntry("family", "family name", values.get("family", "")),
                group_entry(values.get("group", ""), groups),
                FormEntry("consent", "may publish", values.get("consent", ""), hint=CONSENT_HINT),
                FormEntry("email", "e-mail", values.get("email", "")),
                FormEntry("card", "deck card", values.get("card", "")),
            ),
            problem,
            at=_trouble_at(problem, values),
        )

    def on_input_changed(self, _: Input.Changed) -> None:
        values = self.values
        name = f"{values['given']} {values['family']}".strip()
        known = host_of(self).status_cache
        alike = [hit.person for hit in known.finder.find(name, limit=3) if hit.score >= _LOOKS_ALIKE]
        listed = ", ".join(f"{person.name} ({person.group or person.key})" for person in alike)
        holder = known.waits_with(values["card"].strip())
        held = f"{holder.person.name} waits with deck card {values['card'].strip()}" if holder else ""
        self.beside(held or (f"On the list: {listed}" if listed else ""))


def _trouble_at(problem: Problem | None, values: Mapping[str, str]) -> str:
    """The field that a problem is about."""
    if problem is None:
        return ""
    if isinstance(problem, UnknownGroup):
        return "group"
    if parse_consent(values.get("consent", "")) is Consent.UNCLEAR:
        return "consent"
    return "card" if values.get("card") else ""


class CorrectScreen(FormScreen):
    """What is known of somebody, as they say it is. It stays when the list is loaded again."""

    def __init__(
        self,
        status: PersonStatus,
        groups: Iterable[str],
        values: Mapping[str, str] | None = None,
        problem: Problem | None = None,
    ) -> None:
        """`values` are what was typed already, `problem` is why it could not be written."""
        person = status.person
        known = {
            "given": person.given,
            "family": person.family,
            "spoken": status.spoken,
            "group": person.group,
            "consent": status.consent,
            "note": status.note,
        } | dict(values or {})
        super().__init__(
            f"{person.name}: what is right?",
            (
                FormEntry("given", "given name", known["given"]),
                FormEntry("family", "family name", known["family"]),
                FormEntry("spoken", "how to say it", known["spoken"]),
                group_entry(known["group"], groups),
                FormEntry("consent", "may publish", known["consent"], hint=CONSENT_HINT),
                FormEntry("note", "note", known["note"]),
            ),
            problem,
            at=_trouble_at(problem, {} if known["consent"] == status.consent else known) or "consent",
        )


class DoorForms:
    """Opens the forms for a walk-in and a correction; a refused form opens again with the reason."""

    def __init__(
        self,
        screen: ModeScreen,
        arrived: Callable[[Arrival], None] = lambda _: None,
        check_in: Callable[[RosterPerson, str | None], None] = lambda *_: None,
        taken_up: Callable[[], None] = lambda: None,
    ) -> None:
        """Take the functions by which the forms of walk-ins act on the Door screen.

        `arrived` shows a walk-in that was written; `check_in` checks in a person on the list instead, with a
        deck card; `taken_up` empties the search field that a walk-in was begun from.
        """
        self._screen = screen
        self._arrived = arrived
        self._check_in = check_in
        self._taken_up = taken_up

    def correct(
        self, status: PersonStatus, filled: dict[str, str] | None = None, problem: Problem | None = None
    ) -> None:
        """Open the form of a person's details; again, with what was typed, after a refusal."""

        def answered(values: dict[str, str] | None) -> None:
            if values is not None:
                self._correct(status, values)

        self._screen.app.push_screen(
            CorrectScreen(status, self._screen.status_cache.groups, filled, problem), answered
        )

    def _correct(self, status: PersonStatus, values: dict[str, str], new_group: bool = False) -> None:
        asked = self._screen.status_cache.asks_consent

        def write() -> RosterPerson | Problem:
            try:
                return correct_person(
                    self._screen.shoot, status.person.id, values, self._screen.onsite.station, new_group
                )
            except Problem as problem:
                return problem

        def told(outcome: RosterPerson | Problem) -> None:
            if isinstance(outcome, RosterPerson):
                self._screen.status_line.show_message(corrected_message(outcome, status, values, asked))
            elif isinstance(outcome, UnknownGroup):
                self._ask_for_group(
                    outcome,
                    lambda: self._correct(status, values, new_group=True),
                    lambda: self.correct(status, values),
                )
            else:
                self.correct(status, values, outcome)

        self._screen.onsite.write(write, told)

    def walk_in(self, filled: dict[str, str], problem: Problem | None = None) -> None:
        """Open the walk-in form; again, with what was typed, after a refusal."""

        def answered(values: dict[str, str] | None) -> None:
            if values is None:
                return
            if problem is None:  # on a second try the search field may hold another person's name
                self._taken_up()
            known = self._of_that_name(full_name(values["given"], values["family"]))
            if known:
                self._ask_for_another(values, known)
            else:
                self._let_in(values)

        self._screen.app.push_screen(
            WalkInScreen(self._screen.status_cache.groups, filled, problem), answered
        )

    def _of_that_name(self, name: str) -> list[PersonStatus]:
        """People of a name, or else somebody on the list whose name it nearly is."""
        cache = self._screen.status_cache
        listed = [s for s in cache.statuses.values() if not s.person.withdrawn]
        near = {hit.person.id for hit in cache.finder.find(name, limit=3) if hit.score >= _NEARLY_ONE}
        same = [s for s in listed if fold_name(s.person.name) == fold_name(name)]
        return same or [s for s in listed if s.person.id in near]

    def _ask_for_another(self, values: dict[str, str], known: list[PersonStatus]) -> None:
        """Ask whether a walk-in is the person of that name on the list, or another."""
        first = known[0]

        def answered(letter: str | None) -> None:
            if letter == "a":
                self._let_in(values)
            elif letter == "c":
                self._check_in(first.person, values["card"] or None)
            else:
                self.walk_in(values)

        self._screen.app.push_screen(ChoiceScreen(*known_person_message(known)), answered)

    def _ask_for_group(
        self, problem: UnknownGroup, make: Callable[[], None], again: Callable[[], None]
    ) -> None:
        choices = {"n": f"make the new group {problem.group}"}
        question = f"{problem.what} {problem.remedy}"
        self._screen.app.push_screen(
            ChoiceScreen(question, choices), lambda letter: make() if letter == "n" else again()
        )

    def _let_in(self, values: dict[str, str], new_group: bool = False) -> None:
        def write() -> Arrival | Problem:
            try:
                onsite = self._screen.onsite
                return onsite.door.walk_in(values, onsite.station, self._screen.status_cache, new_group)
            except Problem as problem:
                return problem

        def told(outcome: Arrival | Problem) -> None:
            if isinstance(outcome, Arrival):
                self._arrived(outcome)
            elif isinstance(outcome, UnknownGroup):
                self._ask_for_group(
                    outcome,
                    lambda: self._let_in(values, new_group=True),
                    lambda: self.walk_in(values, outcome),
                )
            else:
                self.walk_in(values, outcome)

        self._screen.onsite.write(write, told)
