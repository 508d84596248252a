"""People as lines of a list: number, name, group, stage; and how long somebody waits."""

from __future__ import annotations

from rich.text import Text

from onsite.checkin.queue import Waiting
from onsite.progress.absent import word_of
from onsite.progress.stage import Standing
from onsite.times import duration
from onsite.tui.widgets.cells import Cell, Ink, line
from onsite.tui.widgets.stages import SHAPES

_A_DAYS_QUEUE = 16 * 3600
_FOR_WORD, _FOR_GROUP = 36, 56  # cells from which the stage's word and the group have room


def person_line(standing: Standing, width: int, ink: Ink, over: bool = False) -> Text:
    """Somebody in one line; the stage as shape and word. `over`: the shoot is."""
    person = standing.person
    cells = [
        Cell(str(person.sequence or ""), 4, ink.quiet, right=True),
        Cell(SHAPES[standing.stage], 1, ink.quiet),
        Cell(person.name, 0, ink.quiet if person.withdrawn else ink.plain),
    ]
    if width >= _FOR_GROUP:
        cells.append(Cell(person.group, min(width // 4, 24), ink.quiet))
    if width >= _FOR_WORD:
        cells.append(Cell(word_of(standing, over), 12, ink.quiet))
    return line(width, cells, ink)


def found_line(standing: Standing, width: int, ink: Ink) -> Text:
    """Somebody in one line at the door, where the group tells people of one name apart."""
    if width >= _FOR_GROUP:
        return person_line(standing, width, ink)
    person = standing.person
    cells = [
        Cell(str(person.sequence or ""), 4, ink.quiet, right=True),
        Cell(SHAPES[standing.stage], 1, ink.quiet),
        Cell(person.name, 0, ink.quiet if person.withdrawn else ink.plain),
    ]
    if width >= _FOR_WORD:
        cells.append(Cell("withdrawn" if person.withdrawn else person.group, width // 3, ink.quiet))
    return line(width, cells, ink)


def waiting_line(waiting: Waiting[Standing], width: int, ink: Ink) -> Text:
    """Somebody who has arrived and was not photographed, with how long they have waited."""
    person = waiting.standing.person
    cells = [
        Cell(str(person.sequence or ""), 4, ink.quiet, right=True),
        Cell(person.name, 0, ink.plain),
    ]
    if width >= _FOR_GROUP:
        cells.append(Cell(person.group, min(width // 4, 24), ink.quiet))
    cells.append(Cell(waited(waiting), 10, ink.quiet, right=True))
    return line(width, cells, ink)


def waited(waiting: Waiting[Standing]) -> str:
    """How long, in minutes; since which day where it is not today's queue any more."""
    if waiting.seconds < 60:
        return "now"
    if waiting.seconds > _A_DAYS_QUEUE and waiting.standing.arrived is not None:
        return f"{waiting.standing.arrived.day} {waiting.standing.arrived:%b}"
    return duration(waiting.seconds // 60 * 60)
