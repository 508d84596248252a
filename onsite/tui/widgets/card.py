"""Somebody's card: everything that whoever stands before them needs to know."""

from __future__ import annotations

from collections.abc import Iterator
from zoneinfo import ZoneInfo

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from onsite.progress.stage import Standing
from onsite.roster.consent import Consent
from onsite.roster.publication import Publication, Reason
from onsite.slate.code import spaced
from onsite.times import clock_time
from onsite.tui.widgets.number import Number
from onsite.tui.widgets.stages import SHAPES
from onsite.words import shown

_LOUD = {
    Reason.REFUSED: "MUST NOT BE PUBLISHED",
    Reason.UNCLEAR: "CONSENT UNCLEAR",
    Reason.NO_ANSWER: "NOT PUBLISHED: no answer about consent",
    Reason.WALK_IN: "NOT PUBLISHED: a walk-in who was not asked",
    Reason.WITHDRAWN: "NOT PUBLISHED: no longer on the client's list",
}


def warning(standing: Standing) -> str:
    """Why somebody may not be published, with what is written about it; empty where they may."""
    reason = standing.publication.reason
    if reason is None:
        return ""
    written = f" ({shown(standing.consent)})" if standing.consent.strip() else ""
    return f"! {_LOUD[reason]}{written}"


class PersonCard(VerticalScroll, can_focus=False):
    """The sequence number large, the name to confirm, and what is known; a no to publishing stands out."""

    DEFAULT_CSS = """
    PersonCard {
        padding: 0 1;
        border-left: heavy $line;
        & > Number { display: none; margin: 0 0 1 0; }
        &.-numbered > Number { display: block; }
        & > Static { width: 100%; height: auto; color: $ink; }
        & > .card--consent { display: none; }
        & > .card--consent.-loud { display: block; background: $alert; color: $on-alert; text-style: bold; }
    }
    """

    def __init__(self, zone: ZoneInfo, id: str | None = None) -> None:
        super().__init__(id=id)
        self._zone = zone
        self._shows: tuple[Standing | None, str] | None = None

    def compose(self) -> ComposeResult:
        yield Number()
        yield Static("", classes="card--name", markup=False)
        yield Static("", classes="card--consent", markup=False)
        yield Static("", classes="card--facts", markup=False)

    def show(self, standing: Standing | None, hint: str = "") -> None:
        """Shows somebody; a hint where nobody is meant. What stands there already is not laid out anew."""
        if (standing, hint) == self._shows:
            return
        self._shows = standing, hint
        number = standing.person.sequence if standing is not None else None
        self.set_class(bool(number), "-numbered")
        self.query_one(Number).value = str(number or "")
        consent = self.query_one(".card--consent", Static)
        name = self.query_one(".card--name", Static)
        if standing is None:
            name.update("")
            consent.remove_class("-loud")
            self.query_one(".card--facts", Static).update(Text(hint))
            return
        name.update(_name(standing))
        consent.set_class(not standing.publication.allowed, "-loud")
        consent.update(Text(f" {warning(standing)}"))
        self.query_one(".card--facts", Static).update(Text("\n").join(self._facts(standing)))

    def _facts(self, standing: Standing) -> Iterator[Text]:
        person = standing.person
        where = " · ".join(shown(part) for part in (person.group, standing.role, standing.slot) if part)
        if where:
            yield Text(where)
        if person.withdrawn:
            yield Text("! no longer on the client's list", "bold")
        yield Text(f"{SHAPES[standing.stage]} {standing.stage.value}{self._since(standing)}")
        if standing.frames:
            yield Text(f"{standing.frames} frame{'s' if standing.frames > 1 else ''}")
        if standing.card is not None:
            yield Text(f"deck card {standing.card}")
        if standing.note:
            yield Text(f"note: {shown(standing.note)}")
        if standing.publication.allowed:
            yield Text(_may_be_published(standing.publication))
        yield Text(f"code {spaced(person.code)} · key {shown(person.key)}")

    def _since(self, standing: Standing) -> str:
        if standing.arrived is None:
            return ""
        at = f" at {shown(standing.station)}" if standing.station else ""
        return f", came {clock_time(standing.arrived, self._zone)}{at}"


def _name(standing: Standing) -> Text:
    said = f"  say: {shown(standing.spoken)}" if standing.spoken else ""
    checked = "  spelling confirmed" if standing.confirmed else ""
    return Text.assemble((shown(standing.person.name), "bold underline"), said, checked)


def _may_be_published(may: Publication) -> str:
    return "may be published" if may.consent is Consent.YES else "the list says nothing about consent"
