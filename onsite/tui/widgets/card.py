"""Somebody's card: everything that whoever stands before them needs to know."""

from __future__ import annotations

from collections.abc import Iterator
from zoneinfo import ZoneInfo

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from onsite.progress.stage import PersonStatus
from onsite.roster.consent import Consent
from onsite.roster.publication import Publication, WithholdingReason
from onsite.slate.code import spaced_code
from onsite.times import format_clock_time
from onsite.tui.widgets.number import LargeNumber
from onsite.tui.widgets.stages import SHAPES
from onsite.words import shown

_LOUD = {
    WithholdingReason.REFUSED: "MUST NOT BE PUBLISHED",
    WithholdingReason.UNCLEAR: "CONSENT UNCLEAR",
    WithholdingReason.NO_ANSWER: "NOT PUBLISHED: no answer about consent",
    WithholdingReason.WALK_IN: "NOT PUBLISHED: a walk-in who was not asked",
    WithholdingReason.WITHDRAWN: "NOT PUBLISHED: no longer on the client's list",
}


def publication_warning(status: PersonStatus) -> str:
    """Why somebody may not be published, with what is written about it; empty where they may."""
    reason = status.publication.reason
    if reason is None:
        return ""
    written = f" ({shown(status.consent)})" if status.consent.strip() else ""
    return f"! {_LOUD[reason]}{written}"


class PersonPanel(VerticalScroll, can_focus=False):
    """The sequence number large, the name to confirm, and what is known; a no to publishing stands out."""

    DEFAULT_CSS = """
    PersonPanel {
        padding: 0 1;
        border-left: heavy $line;
        & > LargeNumber { display: none; margin: 0 0 1 0; }
        &.-numbered > LargeNumber { display: block; }
        & > Static { width: 100%; height: auto; color: $ink; }
        & > .card--consent { display: none; }
        & > .card--consent.-loud { display: block; background: $alert; color: $on-alert; text-style: bold; }
    }
    """

    def __init__(self, zone: ZoneInfo, id: str | None = None) -> None:
        super().__init__(id=id)
        self._zone = zone
        self._shows: tuple[PersonStatus | None, str] | None = None

    def compose(self) -> ComposeResult:
        yield LargeNumber()
        yield Static("", classes="card--name", markup=False)
        yield Static("", classes="card--consent", markup=False)
        yield Static("", classes="card--facts", markup=False)

    def show(self, status: PersonStatus | None, hint: str = "") -> None:
        """Shows somebody; a hint where nobody is meant. What stands there already is not laid out anew."""
        if (status, hint) == self._shows:
            return
        self._shows = status, hint
        number = status.person.sequence if status is not None else None
        self.set_class(bool(number), "-numbered")
        self.query_one(LargeNumber).value = str(number or "")
        consent = self.query_one(".card--consent", Static)
        name = self.query_one(".card--name", Static)
        if status is None:
            name.update("")
            consent.remove_class("-loud")
            self.query_one(".card--facts", Static).update(Text(hint))
            return
        name.update(_name(status))
        consent.set_class(not status.publication.allowed, "-loud")
        consent.update(Text(f" {publication_warning(status)}"))
        self.query_one(".card--facts", Static).update(Text("\n").join(self._facts(status)))

    def _facts(self, status: PersonStatus) -> Iterator[Text]:
        person = status.person
        where = " · ".join(shown(part) for part in (person.group, status.role, status.slot) if part)
        if where:
            yield Text(where)
        if person.withdrawn:
            yield Text("! no longer on the client's list", "bold")
        yield Text(f"{SHAPES[status.stage]} {status.stage.value}{self._since(status)}")
        if status.frames:
            yield Text(f"{status.frames} frame{'s' if status.frames > 1 else ''}")
        if status.card is not None:
            yield Text(f"deck card {status.card}")
        if status.note:
            yield Text(f"note: {shown(status.note)}")
        if status.publication.allowed:
            yield Text(_may_be_published(status.publication))
        yield Text(f"code {spaced_code(person.code)} · key {shown(person.key)}")

    def _since(self, status: PersonStatus) -> str:
        if status.arrived is None:
            return ""
        at = f" at {shown(status.station)}" if status.station else ""
        return f", came {format_clock_time(status.arrived, self._zone)}{at}"


def _name(status: PersonStatus) -> Text:
    said = f"  say: {shown(status.spoken)}" if status.spoken else ""
    checked = "  spelling confirmed" if status.confirmed else ""
    return Text.assemble((shown(status.person.name), "bold underline"), said, checked)


def _may_be_published(may: Publication) -> str:
    return "may be published" if may.consent is Consent.YES else "the list says nothing about consent"
