"""Who is on: what the photographer needs to know of them, large."""

from __future__ import annotations

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Digits, Static

from onsite.progress.stage import Standing
from onsite.roster.consent import Consent, consent_of
from onsite.slate.lettering import shown
from onsite.tui.widgets.card import CONSENT


class OnNow(Vertical):
    """Number and name, how it is said, whether the picture may be published, group, note, and the count."""

    DEFAULT_CSS = """
    OnNow {
        height: auto;
        & > Digits { width: 100%; text-style: bold; display: none; }
        & > Static { width: 100%; height: auto; display: none; }
        & > Static.-said { display: block; }
        & > .on--name { text-style: bold; }
        & > .on--consent { background: $alert; color: $on-alert; text-style: bold; }
    }
    """

    def compose(self) -> ComposeResult:
        yield Digits("")
        for part in ("name", "spoken", "consent", "group", "note", "count"):
            yield Static("", classes=f"on--{part}", markup=False)

    def show(self, standing: Standing | None, instead: str, count: str) -> None:
        """Somebody with the count of their frames, or a text `instead` of anybody."""
        number = str(standing.person.sequence or "") if standing is not None else ""
        self.query_one(Digits).update(number)
        self.set_class(bool(number), "-numbered")
        consent = ""
        if standing is None:
            self._say("name", instead)
            spoken = group = note = ""
        else:
            meaning = consent_of(standing.consent)
            self._say("name", f"{number}  {standing.person.name}" if number else standing.person.name)
            spoken = f"say: {standing.spoken}" if standing.spoken else ""
            if meaning in (Consent.NO, Consent.UNCLEAR):
                consent = f"! {CONSENT[meaning]} ({shown(standing.consent)})"
            group = " · ".join(part for part in (standing.person.group, standing.role) if part)
            note = f"note: {standing.note}" if standing.note else ""
        for part, text in (
            ("spoken", spoken),
            ("consent", consent),
            ("group", group),
            ("note", note),
            ("count", count),
        ):
            self._say(part, text)

    def _say(self, part: str, text: str) -> None:
        field = self.query_one(f".on--{part}", Static)
        field.set_class(bool(text), "-said")
        field.update(Text(shown(text)))
