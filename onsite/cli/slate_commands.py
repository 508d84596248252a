"""The commands `onsite slates images`, `sheet`, `deck`, `show` and `clock`."""

from __future__ import annotations

import os
import shutil
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from typer import Argument, Option

from onsite.cli.common_options import common_options, open_chosen_shoot, station
from onsite.cli.output import (
    names_in_latin,
    print_answer,
    print_answer_with_names,
    print_latin_notice,
    print_text,
    show_progress,
)
from onsite.core.errors import Problem
from onsite.core.text import plural

if TYPE_CHECKING:
    from onsite.roster.find_people import RosterPerson
    from onsite.slates.slate_layout import Ticket
    from onsite.store.shoot import Shoot


def images(folder: Annotated[Path, Argument(metavar="DIR", help="The folder to write into.")]) -> None:
    """Make a picture of each person's slate, and slates.csv."""
    from onsite.files.write_tables import write_csv
    from onsite.slates.slate_image import write_images

    cards, keys = _person_cards(None)
    with show_progress("drawing slates") as step:
        written = write_images(cards, folder, step)
    rows = [(key, card.name, card.code, name) for key, (card, name) in zip(keys, written, strict=True)]
    write_csv(folder / "slates.csv", ("key", "name", "code", "file"), rows)
    latin = _in_latin(cards)
    data = {"slates": len(rows), "folder": str(folder), "in_latin": latin}

    def text() -> None:
        print_text(f"{len(rows)} slates in {folder}, listed in slates.csv.")
        print_latin_notice(latin)

    print_answer(data, text)


def sheet(
    file: Annotated[Path, Argument(metavar="FILE.pdf", help="The file to write.")],
    paper: Annotated[str, Option(metavar="a4|letter", help="The paper.")] = "a4",
    up: Annotated[int, Option(metavar="1|2|4|8", help="How many on a page.")] = 4,
    group: Annotated[str | None, Option(metavar="GROUP", help="Only this group.")] = None,
    who: Annotated[
        str | None, Option(metavar="WHO", help="Only this person, such as one who has lost their ticket.")
    ] = None,
    new: Annotated[
        bool, Option("--new", help="Only people who were not on the list when all tickets were last made.")
    ] = False,
) -> None:
    """Make tickets to print and cut: for everybody, a group, one person, or whoever is new."""
    from onsite.roster.read_people import record_tickets_made
    from onsite.slates.ticket_pdf import write_tickets
    from onsite.store.events import newest_event_id

    shoot = open_chosen_shoot()
    with shoot.reading() as session:
        until = newest_event_id(session)
    cards, _ = _person_cards(group, who, new)
    with show_progress("drawing tickets") as step:
        write_tickets(cards, file, paper=paper, up=up, progress=step)
    if group is None and who is None:
        with shoot.writing() as session:
            record_tickets_made(session, until)
    latin = _in_latin(cards)
    data = {"tickets": len(cards), "file": str(file), "in_latin": latin}

    def text() -> None:
        print_text(f"{plural(len(cards), 'ticket')} in {file}. Print at full size on matte paper.")
        print_latin_notice(latin)

    print_answer(data, text)


def deck(
    file: Annotated[Path, Argument(metavar="FILE.pdf", help="The file to write.")],
    cards: Annotated[int, Option(min=1, max=9999, help="How many cards.")],
    images: Annotated[
        Path | None, Option(metavar="DIR", help="Also write pictures and deck.csv, into this folder.")
    ] = None,
    paper: Annotated[str, Option(metavar="a4|letter", help="The paper.")] = "a4",
    up: Annotated[int, Option(metavar="1|2|4|8", help="How many on a page.")] = 4,
) -> None:
    """Make reusable deck cards to print and cut."""
    from onsite.checkin.deck_cards import make_deck
    from onsite.files.write_tables import write_csv
    from onsite.slates.slate_image import write_images
    from onsite.slates.slate_layout import Ticket
    from onsite.slates.ticket_pdf import sheet, write_tickets

    sheet(paper, up)  # refuse a wrong size before any card is made
    shoot = open_chosen_shoot()
    made = make_deck(shoot, cards)
    faces = [
        Ticket(c.code, f"Card {c.number}", number=str(c.number), shoot=shoot.settings.name) for c in made
    ]
    with show_progress("drawing cards") as step:
        write_tickets(faces, file, paper=paper, up=up, progress=step)
    if images is not None:
        written = write_images(faces, images)
        rows = [(str(card.number), card.code, name) for card, (_, name) in zip(made, written, strict=True)]
        write_csv(images / "deck.csv", ("card", "code", "file"), rows)
    latin = _in_latin(faces)

    def text() -> None:
        print_text(f"{len(made)} deck cards in {file}.")
        print_latin_notice(latin)

    print_answer({"cards": len(made), "file": str(file), "in_latin": latin}, text)


def show(
    who: Annotated[
        list[str], Argument(metavar="WHO", help="A name that fits one person, a number, a code or a key.")
    ],
    at: Annotated[
        str | None, Option(metavar="TIME", help="When, such as 2027-06-12T14:05; else now.")
    ] = None,
    at_station: Annotated[
        str | None, Option("--station", metavar="STATION", help="The station, such as set-A.")
    ] = None,
) -> None:
    """Show a person's slate on this screen. That it was shown is recorded."""
    from onsite.checkin.check_in import show_and_record_slate
    from onsite.reconcile.shoot_times import outside_hours_notice
    from onsite.slates.terminal_slate import slate_ansi, slate_lines

    shoot = open_chosen_shoot()
    columns, rows = shutil.get_terminal_size()
    drawn: list[str] = []

    def draw(person: RosterPerson) -> None:
        if not common_options.as_json:
            drawn.append(slate_ansi(person.code, person.name, columns, rows - 1))

    person, moment = show_and_record_slate(shoot, " ".join(who), at, station(at_station), draw)
    data = {
        "key": person.key,
        "name": person.name,
        "code": person.code,
        "at": moment.isoformat(),
        "lines": slate_lines(person.code),
    }
    outside = outside_hours_notice(shoot, moment)
    data["outside"] = outside

    def text() -> None:
        print(*drawn)
        if outside:
            print_text(outside)

    print_answer_with_names(shoot, data, text)


def clock(
    at_station: Annotated[
        str | None, Option("--station", metavar="STATION", help="The station, such as set-A.")
    ] = None,
) -> None:
    """Show the clock slate, for each camera to photograph once. Ctrl-C ends it."""
    from onsite.slates.clock_slate import ClockSlate

    shoot = open_chosen_shoot()
    where = station(at_station)
    if sys.stdout.isatty() and not common_options.as_json:
        _run_clock(shoot)
        return
    slate = ClockSlate(shoot.mark, shoot.now())
    at = slate.moment.isoformat(timespec="seconds")
    data = {"code": slate.code, "at": at, "station": where, "lines": slate.symbol()}
    print_answer(data, f"{slate.code} {at} {where}")


def _run_clock(shoot: Shoot) -> None:
    """Draw the clock slate anew at the beginning of every second, on a screen of its own, until Ctrl-C."""
    from onsite.slates.clock_slate import ClockSlate

    size = shutil.get_terminal_size()
    try:
        sys.stdout.write(f"{ALTERNATE_SCREEN}{HIDE_CURSOR}")
        while True:
            now = shoot.now()
            columns, rows = shutil.get_terminal_size()
            clear = CLEAR if (columns, rows) != size else ""
            size = os.terminal_size((columns, rows))
            drawn = ClockSlate(shoot.mark, now).ansi(columns, rows - 1)
            sys.stdout.write(f"{clear}{HOME}{drawn}")
            sys.stdout.flush()
            time.sleep(1 - now.microsecond / 1_000_000)
    except KeyboardInterrupt:
        pass
    finally:
        sys.stdout.write(f"{SHOW_CURSOR}{MAIN_SCREEN}")
        sys.stdout.flush()


ALTERNATE_SCREEN, MAIN_SCREEN = "\x1b[?1049h", "\x1b[?1049l"
HIDE_CURSOR, SHOW_CURSOR = "\x1b[?25l", "\x1b[?25h"
CLEAR, HOME = "\x1b[2J", "\x1b[H"
"""Control sequences of every terminal since xterm (ECMA-48; 1049 and 25 are xterm's private modes)."""


def _person_cards(
    group: str | None, who: str | None = None, new: bool = False
) -> tuple[list[Ticket], list[str]]:
    """The tickets of everybody on the list, of one group or person, or of the `new` among them; and the
    people's keys in the same order."""
    from onsite.roster.person_lookup import resolve_person
    from onsite.roster.read_people import read_people, without_ticket
    from onsite.roster.roster_groups import in_group
    from onsite.slates.slate_layout import Ticket

    shoot = open_chosen_shoot()
    with shoot.reading() as session:
        everybody = [p for p in read_people(session) if not p.withdrawn]
        fresh = without_ticket(session) if new else set()
    if not everybody:
        raise Problem("There is nobody on the roster yet.", "Load a list first: onsite roster load FILE")
    chosen = in_group(everybody, group, lambda p: p.group)
    if who is not None:
        chosen = [resolve_person(who, chosen)]
    if new:
        chosen = [p for p in chosen if p.id in fresh]
        if not chosen:
            raise Problem("Nobody is new since tickets were made.", "Leave --new out to make all of them.")
    cards = [Ticket(p.code, p.name, p.group, shoot=shoot.settings.name) for p in chosen]
    return cards, [p.key for p in chosen]


def _in_latin(cards: list[Ticket]) -> list[str]:
    return names_in_latin([text for card in cards for text in (card.name, card.group, card.shoot)])
