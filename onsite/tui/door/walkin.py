"""A walk-in: somebody who is not on the list."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, cast

from textual.widgets import Input

from onsite.tui.widgets.form import Entry, FormScreen

if TYPE_CHECKING:
    from onsite.tui.app import OnsiteApp

_LOOKS_ALIKE = 80.0  # of 100: from here somebody on the list may be the one who stands there


class WalkInScreen(FormScreen):
    """Somebody who is not on the list. Whoever has such a name already is shown while it is typed."""

    def __init__(self, groups: Iterable[str], typed: str = "") -> None:
        given, _, family = typed.strip().partition(" ")
        super().__init__(
            "A walk-in: somebody who is not on the list",
            (
                Entry("given", "given name", given),
                Entry("family", "family name", family.strip()),
                Entry("group", "group", known=tuple(sorted(set(groups)))),
                Entry("email", "e-mail"),
                Entry("card", "deck card"),
            ),
        )

    def on_input_changed(self, _: Input.Changed) -> None:
        values = self.values
        name = f"{values['given']} {values['family']}".strip()
        finder = cast("OnsiteApp", self.app).everybody.finder
        alike = [hit.someone for hit in finder.find(name, limit=3) if hit.score >= _LOOKS_ALIKE]
        listed = ", ".join(f"{someone.name} ({someone.group or someone.key})" for someone in alike)
        self.beside(f"On the list: {listed}" if listed else "")
