"""A walk-in: somebody who is not on the list."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from textual.widgets import Input

from onsite.problems import Problem
from onsite.roster.consent import Consent, consent_of
from onsite.roster.groups import NoSuchGroup
from onsite.tui.screen_host import host_of
from onsite.tui.widgets.form import CONSENT_HINT, Entry, FormScreen, group_entry

_LOOKS_ALIKE = 80.0  # of 100: from here somebody on the list may be the one who stands there


def typed_name(text: str) -> dict[str, str]:
    """What was typed at the door, as the beginning of a walk-in."""
    given, _, family = text.strip().partition(" ")
    return {"given": given, "family": family.strip()}


class WalkInScreen(FormScreen):
    """Somebody who is not on the list. Whoever has such a name already is shown while it is typed."""

    def __init__(
        self, groups: Iterable[str], values: Mapping[str, str], problem: Problem | None = None
    ) -> None:
        """`values` are what is filled in already, and `problem` is why they could not be written."""
        super().__init__(
            "A walk-in: somebody who is not on the list",
            (
                Entry("given", "given name", values.get("given", "")),
                Entry("family", "family name", values.get("family", "")),
                group_entry(values.get("group", ""), groups),
                Entry("consent", "may publish", values.get("consent", ""), hint=CONSENT_HINT),
                Entry("email", "e-mail", values.get("email", "")),
                Entry("card", "deck card", values.get("card", "")),
            ),
            problem,
            at=_trouble_at(problem, values),
        )

    def on_input_changed(self, _: Input.Changed) -> None:
        values = self.values
        name = f"{values['given']} {values['family']}".strip()
        finder = host_of(self).everybody.finder
        alike = [hit.someone for hit in finder.find(name, limit=3) if hit.score >= _LOOKS_ALIKE]
        listed = ", ".join(f"{someone.name} ({someone.group or someone.key})" for someone in alike)
        self.beside(f"On the list: {listed}" if listed else "")


def _trouble_at(problem: Problem | None, values: Mapping[str, str]) -> str:
    """The field that a problem is about."""
    if problem is None:
        return ""
    if isinstance(problem, NoSuchGroup):
        return "group"
    if consent_of(values.get("consent", "")) is Consent.UNCLEAR:
        return "consent"
    return "card" if values.get("card") else ""
