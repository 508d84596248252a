"""The commands `onsite proofs mails`, `onsite remind` and `onsite report`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from typer import Argument, Option

from onsite.cli.common_options import open_chosen_shoot, station
from onsite.cli.output import (
    missing_agreement,
    print_answer,
    print_missing_agreement,
    print_text,
    show_progress,
)
from onsite.core.errors import Problem

if TYPE_CHECKING:
    from onsite.picks.pick_reminders import ReminderResult
    from onsite.store.shoot import Shoot


def remind(
    group: Annotated[str | None, Option(help="Only this group.")] = None,
    of: Annotated[str, Option(metavar="picks", help="What they are reminded of.")] = "picks",
    by: Annotated[str, Option(metavar="DATE", help="The day by which you want an answer.")] = "",
    again: Annotated[
        bool, Option("--again", help="Also people who were reminded within the last day.")
    ] = False,
    at: Annotated[
        str, Option(metavar="URL", help="The web address of the folder with the pages; else the agreed one.")
    ] = "",
) -> None:
    """Write reminders to people who have not picked yet: mails, and a table. Nothing is sent."""
    from onsite.core.times import parse_date
    from onsite.picks.due_pick_reminders import due_for_picks
    from onsite.picks.pick_reminders import OF_PICKS, write_reminders
    from onsite.roster.roster_groups import in_group
    from onsite.status.read_status import read_person_statuses

    if of != OF_PICKS:
        raise Problem(f"Nobody can be reminded of {of!r}.", f"Reminders: {OF_PICKS}.")
    until = parse_date(by) if by else None
    shoot = open_chosen_shoot()
    everybody = in_group(read_person_statuses(shoot), group, lambda s: s.person.group)
    due = due_for_picks(everybody, shoot.now(), again)
    written = write_reminders(shoot, due, station(None), until, at)
    _answer_mails(shoot, of, written)


def proof_mails(
    folder: Annotated[Path, Argument(metavar="DIR", help="The folder of the proofs.")],
    group: Annotated[str | None, Option(help="Only this group.")] = None,
    by: Annotated[
        str, Option(metavar="DATE", help="The day by which you want an answer; else the agreed one.")
    ] = "",
    again: Annotated[bool, Option("--again", help="Also people who were written to before.")] = False,
    at: Annotated[
        str, Option(metavar="URL", help="The web address of the folder with the pages; else the agreed one.")
    ] = "",
) -> None:
    """Write mails that proofs are ready, and a table for a mail merge. Nothing is sent."""
    from onsite.core.times import parse_date
    from onsite.picks.due_pick_reminders import due_for_proofs
    from onsite.picks.pick_reminders import OF_PROOFS, write_ready_mails
    from onsite.roster.roster_groups import in_group
    from onsite.status.read_status import read_person_statuses

    until = parse_date(by) if by else None
    shoot = open_chosen_shoot()
    everybody = in_group(read_person_statuses(shoot), group, lambda s: s.person.group)
    due = due_for_proofs(everybody, again)
    _answer_mails(shoot, OF_PROOFS, write_ready_mails(shoot, due, station(None), folder, until, at))


def _answer_mails(shoot: Shoot, of: str, written: ReminderResult) -> None:
    from onsite.core.text import listed, plural

    data = {
        "of": of,
        "folder": str(written.folder) if written.folder else None,
        "people": [s.person.key for s in written.people],
        "mails": written.mails,
        "without_address": [s.person.key for s in written.without_address],
        "reminded_lately": [s.person.key for s in written.rested],
        "with_sheet": written.with_sheet,
        "not_agreed": missing_agreement(shoot.settings.agreed),
    }
    proofs = of == "proofs"

    def text() -> None:
        if written.folder is None:
            print_text("Nobody is to be written to." if proofs else "Nobody is to be reminded.")
        else:
            print_text(f"{plural(written.mails, 'mail')} written to {written.folder}. Nothing was sent.")
            print_missing_agreement(shoot.settings.agreed)
        if written.with_sheet:
            print_text(
                f"With the proof sheet, where no address of a page is known (--at): {written.with_sheet}."
            )
        if written.without_address:
            names = [s.person.name for s in written.without_address]
            print_text(f"No address to write to, so in merge.csv alone: {listed(names)}")
        if written.rested:
            when = "Written to already" if proofs else "Reminded within a day"
            print_text(f"{when}, so left alone: {len(written.rested)} (--again takes them in).")

    print_answer(data, text)


def report(
    file: Annotated[
        Path, Argument(metavar="FILE", help="The file to write: .html to read and print, .csv or .json.")
    ],
    books: Annotated[
        bool, Option("--books", help="Your own books, with costs and retouchers; not for the client.")
    ] = False,
) -> None:
    """Write the report for the client, or your own books."""
    from onsite.core.text import plural
    from onsite.report.write_report import write_report

    shoot = open_chosen_shoot()
    with show_progress("making the report") as step:
        people = write_report(shoot, file, step, books)
    what = "Books" if books else "Report for the client"
    print_answer(
        {"file": str(file), "people": people, "report": "books" if books else "client"},
        f"{what}, of {plural(people, 'person', 'people')}, in {file}.",
    )
