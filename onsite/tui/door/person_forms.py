"""The forms for a walk-in and for correcting a person's details."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from textual.widgets import Input

from onsite.core.errors import Problem
from onsite.roster.consent import Consent, parse_consent
from onsite.roster.groups import UnknownGroup
from onsite.status.person_status import PersonStatus
from onsite.tui.screen_host import host_of
from onsite.tui.widgets.input_form import CONSENT_HINT, FormEntry, FormScreen, group_entry

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
        finder = host_of(self).status_cache.finder
        alike = [hit.person for hit in finder.find(name, limit=3) if hit.score >= _LOOKS_ALIKE]
        listed = ", ".join(f"{person.name} ({person.group or person.key})" for person in alike)
        self.beside(f"On the list: {listed}" if listed else "")


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
            at=_trouble_at(problem, {} if known["consent"] == status.consent else known),
        )
