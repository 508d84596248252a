"""People as lines of a list: number, name, group, stage; and how long somebody waits."""

from __future__ import annotations

from rich.text import Text

from onsite.checkin.waiting_queue import WaitingPerson
from onsite.core.times import format_duration
from onsite.status.person_status import PersonStatus, Stage, stage_word
from onsite.tui.widgets.virtual_list import Cell, Ink, cells_line

_A_DAYS_QUEUE = 16 * 3600
_FOR_WORD, _FOR_GROUP = 36, 56  # cells from which the stage's word and the group have room


def person_line(status: PersonStatus, width: int, ink: Ink, over: bool = False) -> Text:
    """Somebody in one line; the stage as shape and word. `over`: the shoot is."""
    person = status.person
    cells = [
        Cell(str(person.sequence or ""), 4, ink.quiet, right=True),
        Cell(SHAPES[status.stage], 1, ink.quiet),
        Cell(person.name, 0, ink.quiet if person.withdrawn else ink.plain),
    ]
    if width >= _FOR_GROUP:
        cells.append(Cell(person.group, min(width // 4, 24), ink.quiet))
    if width >= _FOR_WORD:
        cells.append(Cell(stage_word(status, over), 12, ink.quiet))
    return cells_line(width, cells, ink)


def found_line(status: PersonStatus, width: int, ink: Ink) -> Text:
    """Somebody in one line at the door, where the group tells people of one name apart."""
    if width >= _FOR_GROUP:
        return person_line(status, width, ink)
    person = status.person
    cells = [
        Cell(str(person.sequence or ""), 4, ink.quiet, right=True),
        Cell(SHAPES[status.stage], 1, ink.quiet),
        Cell(person.name, 0, ink.quiet if person.withdrawn else ink.plain),
    ]
    if width >= _FOR_WORD:
        cells.append(Cell("withdrawn" if person.withdrawn else person.group, width // 3, ink.quiet))
    return cells_line(width, cells, ink)


def waiting_line(waiting: WaitingPerson[PersonStatus], width: int, ink: Ink) -> Text:
    """Somebody who has arrived and was not photographed, with how long they have waited."""
    person = waiting.status.person
    cells = [
        Cell(str(person.sequence or ""), 4, ink.quiet, right=True),
        Cell(person.name, 0, ink.plain),
    ]
    if width >= _FOR_GROUP:
        cells.append(Cell(person.group, min(width // 4, 24), ink.quiet))
    cells.append(Cell(waiting_text(waiting), 10, ink.quiet, right=True))
    return cells_line(width, cells, ink)


def waiting_text(waiting: WaitingPerson[PersonStatus]) -> str:
    """How long, in minutes; since which day where it is not today's queue any more."""
    if waiting.seconds < 60:
        return "now"
    if waiting.seconds > _A_DAYS_QUEUE and waiting.status.arrived is not None:
        return f"{waiting.status.arrived.day} {waiting.status.arrived:%b}"
    return format_duration(waiting.seconds // 60 * 60)


# TODO Stages by shape: a cell that fills from below until somebody is photographed, then a round that fills
# as TODO their picture gets further. The word stands beside it.

SHAPES = {
    Stage.EXPECTED: "▁",
    Stage.ARRIVED: "▄",
    Stage.PHOTOGRAPHED: "▇",
    Stage.PROOFED: "○",
    Stage.PICKED: "◔",
    Stage.AT_RETOUCH: "◑",
    Stage.RETOUCHED: "◕",
    Stage.DELIVERED: "●",
}
