"""`onsite remind`, `onsite report`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from typer import Argument, Option

from onsite.cli.options import station, the_shoot
from onsite.cli.output import answer, progress, say
from onsite.problems import Problem

_NAMED = 10
"""People whose names are told one by one."""


def remind(
    group: Annotated[str | None, Option(help="Only this group.")] = None,
    of: Annotated[str, Option(help="What of: picks.")] = "picks",
    by: Annotated[str, Option(metavar="DATE", help="When the answer is wanted.")] = "",
    again: Annotated[bool, Option("--again", help="Also who was reminded within a day.")] = False,
    at: Annotated[
        str, Option(metavar="URL", help="Where the folder with the pages lies; else pages under [agreed].")
    ] = "",
) -> None:
    """Writes mails to people who have not picked yet, and a table for a mail merge. Sends nothing."""
    from onsite.progress.stage import standings
    from onsite.report.remind import OF_PICKS, write_reminders
    from onsite.report.reminders import due_for_picks
    from onsite.roster.groups import in_group
    from onsite.times import parse_date
    from onsite.words import counted

    if of != OF_PICKS:
        raise Problem(f"Nobody can be reminded of {of!r}.", f"Reminders: {OF_PICKS}.")
    until = parse_date(by) if by else None
    shoot = the_shoot()
    everybody = in_group(standings(shoot), group, lambda s: s.person.group)
    due = due_for_picks(everybody, shoot.now(), again)
    written = write_reminders(shoot, due, station(None), until, at)
    data = {
        "of": of,
        "folder": str(written.folder) if written.folder else None,
        "people": [s.person.key for s in written.people],
        "mails": written.mails,
        "without_address": [s.person.key for s in written.without_address],
        "reminded_lately": [s.person.key for s in written.rested],
    }

    def text() -> None:
        if written.folder is None:
            say("Nobody is to be reminded.")
        else:
            say(f"{counted(written.mails, 'mail')} written to {written.folder}. Nothing was sent.")
        if written.without_address:
            names = [s.person.name for s in written.without_address]
            more = f" and {len(names) - _NAMED:,} more, see merge.csv" if len(names) > _NAMED else ""
            say(f"No address to write to, so in merge.csv alone: {', '.join(names[:_NAMED])}{more}")
        if written.rested:
            say(f"Reminded within a day, so left alone: {len(written.rested)} (--again takes them in).")

    answer(data, text)


def report(
    file: Annotated[Path, Argument(metavar="FILE", help="Its ending says the kind: .html, .csv or .json.")],
) -> None:
    """The report on the shoot, to read, to print, or for other programs."""
    from onsite.report.write import write_report
    from onsite.words import counted

    shoot = the_shoot()
    with progress("making the report") as step:
        people = write_report(shoot, file, step)
    answer(
        {"file": str(file), "people": people}, f"Report on {counted(people, 'person', 'people')} in {file}."
    )
