"""People as lines of a list: number, name, group, stage by shape and word, and waiting time.

A stage's shape is a cell that fills from below until the person is photographed, then a circle that fills as
the picture is finished.
"""

from __future__ import annotations

from rich.text import Text

from onsite.checkin.waiting_people import WaitingPerson
from onsite.core.times import format_duration
from onsite.status.person_status import PersonStatus, Stage, stage_word
from onsite.tui.widgets.virtual_list import Cell, Ink, cells_line

_A_DAYS_QUEUE = 16 * 3600
_STAGE = 12  # cells of the longest word of a stage
_FOR_WORD, _FOR_GROUP, _FOR_SLOT = 36, 56, 60  # widths in cells from which word, group and slot have room


def person_line(status: PersonStatus, width: int, ink: Ink, over: bool = False) -> Text:
    """A person in one line, with the stage as shape and word. `over` says that the shoot is over."""
    person = status.person
    cells = [
        Cell(str(person.sequence or ""), 4, ink.quiet, right=True),
        Cell(SHAPES[status.stage], 1, ink.quiet),
        Cell(person.name, 0, ink.quiet if person.withdrawn else ink.plain),
    ]
    if width >= _FOR_GROUP:
        cells.append(Cell(person.group, group_width(width), ink.quiet))
    if width >= _FOR_WORD:
        cells.append(Cell(stage_word(status, over), _STAGE, ink.quiet))
    return cells_line(width, cells, ink)


def found_line(status: PersonStatus, width: int, ink: Ink, came: str = "") -> Text:
    """A person in one line at the Door, where group, slot and number tell people of the same name apart.

    `came` is the time at which they came, for a list of arrivals: it stands in the slot's place.
    """
    person = status.person
    fixed = [
        Cell(str(person.sequence or ""), 4, ink.quiet, right=True),
        Cell(SHAPES[status.stage], 1, ink.quiet),
    ]
    aside = [Cell("withdrawn" if person.withdrawn else person.group, group_width(width), ink.quiet)]
    if width >= _FOR_SLOT:
        aside += [Cell(came or status.slot, 5, ink.quiet), Cell(stage_word(status, False), _STAGE, ink.quiet)]
    name = Cell(person.name, 0, ink.quiet if person.withdrawn else ink.strong)
    return cells_line(width, [*fixed, name, *aside] if width >= _FOR_WORD else [*fixed, name], ink)


def waiting_line(waiting: WaitingPerson[PersonStatus], width: int, ink: Ink) -> Text:
    """A person who has arrived and was not photographed yet, with their waiting time."""
    person = waiting.status.person
    cells = [
        Cell(str(person.sequence or ""), 4, ink.quiet, right=True),
        Cell(person.name, 0, ink.plain),
    ]
    if width >= _FOR_GROUP:
        cells.append(Cell(person.group, group_width(width), ink.quiet))
    cells.append(Cell(waiting_text(waiting), 10, ink.quiet, right=True))
    return cells_line(width, cells, ink)


def late_line(status: PersonStatus, width: int, ink: Ink) -> Text:
    """A person who is not here yet, with their group and slot."""
    cells = [
        Cell(status.person.name, 0, ink.plain),
        Cell(status.person.group, group_width(width), ink.quiet),
        Cell(status.slot, min(max(len(status.slot), 5), 11), ink.quiet, right=True),
    ]
    return cells_line(width, cells, ink)


def waiting_text(waiting: WaitingPerson[PersonStatus]) -> str:
    """The waiting time in minutes; after most of a day, the day of arrival instead."""
    if waiting.seconds < 60:
        return "now"
    if waiting.seconds > _A_DAYS_QUEUE and waiting.status.arrived is not None:
        return f"{waiting.status.arrived.day} {waiting.status.arrived:%b}"
    return format_duration(waiting.seconds // 60 * 60)


def group_width(width: int) -> int:
    """The cells of a group's name in a line of `width` cells, which a number, a name and a word share."""
    return min(max(width * 2 // 7, 10), 24)


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
