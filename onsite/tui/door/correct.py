"""Correcting at the door what the client's list has of somebody."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from onsite.problems import Problem
from onsite.progress.stage import PersonStatus
from onsite.tui.widgets.form import CONSENT_HINT, FormEntry, FormScreen, group_entry


class CorrectScreen(FormScreen):
    """What is known of somebody, as they say it is. It stays when the list is loaded again."""

    def __init__(
        self,
        status: PersonStatus,
        groups: Iterable[str],
        values: Mapping[str, str] | None = None,
        problem: Problem | None = None,
    ) -> None:
        """`values` are what was typed already, and `problem` is why it could not be written."""
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
        )
