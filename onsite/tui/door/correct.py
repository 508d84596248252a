"""Correcting at the door what the client's list has of somebody."""

from __future__ import annotations

from collections.abc import Iterable

from onsite.progress.stage import Standing
from onsite.tui.widgets.form import Entry, FormScreen


class CorrectScreen(FormScreen):
    """What is known of somebody, as they say it is. It stays when the list is loaded again."""

    def __init__(self, standing: Standing, groups: Iterable[str]) -> None:
        person = standing.person
        super().__init__(
            f"{person.name}: what is right?",
            (
                Entry("given", "given name", person.given),
                Entry("family", "family name", person.family),
                Entry("spoken", "how to say it", standing.spoken),
                Entry("group", "group", person.group, tuple(sorted(set(groups)))),
                Entry("consent", "consent", standing.consent),
                Entry("note", "note", standing.note),
            ),
        )
