"""The panel of a person's details, with the sequence number in digits readable from across a table."""

from __future__ import annotations

from collections.abc import Iterator
from zoneinfo import ZoneInfo

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from onsite.core.codes import spaced_code
from onsite.core.text import plural, shown
from onsite.core.times import format_clock_time
from onsite.roster.parse_consent import Consent
from onsite.roster.publication_consent import Publication, WithholdingReason
from onsite.status.person_status import PersonStatus
from onsite.tui.widgets.block_text import BlockText
from onsite.tui.widgets.person_lines import SHAPES

_LOUD = {
    WithholdingReason.REFUSED: "MUST NOT BE PUBLISHED",
    WithholdingReason.UNCLEAR: "CONSENT UNCLEAR",
    WithholdingReason.NO_ANSWER: "NOT PUBLISHED: no answer about consent",
    WithholdingReason.WALK_IN: "NOT PUBLISHED: a walk-in who was not asked",
    WithholdingReason.WITHDRAWN: "NOT PUBLISHED: no longer on the client's list",
}


def publication_warning(status: PersonStatus) -> str:
    """Why a person may not be published, with what is written about it; empty where they may."""
    reason = status.publication.reason
    if reason is None:
        return ""
    written = f" ({shown(status.consent)})" if status.consent.strip() else ""
    return f"! {_LOUD[reason]}{written}"


class PersonPanel(VerticalScroll, can_focus=False):
    """The sequence number large, the name to confirm, and further details; a refusal stands out.

    An answer, such as that somebody was here already, stands above all in a tall bar instead of the large
    number: nobody takes one for the other.
    """

    DEFAULT_CSS = """
    PersonPanel {
        scrollbar-size: 0 0;
        & > Static { width: 100%; height: auto; color: $ink; }
        & > .card--said { display: none; text-style: bold; }
        & > .card--said.-there { display: block; }
        & > .card--answer { display: none; }
        & > .card--answer.-loud {
            display: block; padding: 1 2; margin: 0 0 1 0;
            background: $alert; color: $on-alert; text-style: bold;
        }
        & > .card--consent { display: none; }
        & > .card--consent.-loud { display: block; background: $alert; color: $on-alert; text-style: bold; }
    }
    """

    def __init__(self, zone: ZoneInfo, id: str | None = None) -> None:
        super().__init__(id=id)
        self._zone = zone
        self._shows: tuple[PersonStatus | None, str, str] | None = None

    def compose(self) -> ComposeResult:
        yield Static("", classes="card--answer", markup=False)
        yield BlockText(4, spare=-8, classes="card--number")  # so that details have room below
        yield BlockText(4, spare=20, classes="card--name")
        yield Static("", classes="card--said", markup=False)
        yield Static("", classes="card--consent", markup=False)
        yield Static("", classes="card--facts", markup=False)

    def show(self, status: PersonStatus | None, hint: str = "", answer: str = "") -> None:
        """Show a person, or `hint` where nobody is selected; an answer takes the place of the large number.

        What is shown already is not laid out again.
        """
        if (status, hint, answer) == self._shows:
            return
        self._shows = status, hint, answer
        is_here = status is not None and status.arrived is not None and not answer
        number = status.person.sequence if status is not None and is_here else None
        self.query_one(".card--number", BlockText).show(str(number or ""))
        bar = self.query_one(".card--answer", Static)
        bar.set_class(bool(answer), "-loud")
        bar.update(Text("\n".join(map(shown, answer.splitlines()))))
        consent = self.query_one(".card--consent", Static)
        said = " · ".join(_said(status)) if status is not None else ""
        beside = self.query_one(".card--said", Static)
        beside.set_class(bool(said), "-there")
        beside.update(Text(said))
        self.query_one(".card--name", BlockText).show(status.person.name if status is not None else "")
        if status is None:
            consent.remove_class("-loud")
            self.query_one(".card--facts", Static).update(Text(hint))
            return
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
        yield Text(f"{SHAPES[status.stage]} {status.stage.word}{self._since(status)}")
        if status.frames:
            yield Text(plural(status.frames, "frame"))
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


def _said(status: PersonStatus) -> Iterator[str]:
    """How the name is said, and whether its spelling was confirmed."""
    if status.spoken:
        yield f"say: {shown(status.spoken)}"
    if status.confirmed:
        yield "spelling confirmed"


def _may_be_published(may: Publication) -> str:
    return "may be published" if may.consent is Consent.YES else "the list says nothing about consent"
