"""The commands `onsite check`, `onsite verify`, `onsite backup`, `onsite restore` and `onsite undo`."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from typer import Argument, Option

from onsite.cli.common_options import chosen_folder, open_chosen_shoot, station
from onsite.cli.output import (
    print_answer,
    print_answer_with_names,
    print_table,
    print_text,
    show_progress,
)
from onsite.core.text import plural

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from onsite.frames.verify_frames import CardState, VerifiedFiles
    from onsite.status.check_machine_and_shoot import Finding
    from onsite.store.events import Event
    from onsite.store.restore_backup import BackupContent, Restored
    from onsite.store.shoot import Shoot

_LISTED = 20
"""Lost events that are printed; --json has all."""


def check() -> None:
    """Check whether this computer is ready and this shoot is sound."""
    from onsite.core.errors import Problem
    from onsite.status.check_machine_and_shoot import check_machine, check_shoot

    try:
        folder = chosen_folder()
    except Problem:  # no shoot here: the machine alone
        folder = None
    machine = check_machine(folder or Path.cwd())
    shoot: list[Finding] = []
    if folder is not None:
        shoot = check_shoot(open_chosen_shoot())
    open_points = [finding for finding in (*machine, *shoot) if finding.remedy]
    data = {
        "shoot_folder": folder and str(folder),
        "machine": machine,
        "shoot": shoot,
        "to_do": len(open_points),
    }
    print_answer(data, lambda: _print_findings(machine, shoot, open_points))


def _print_findings(
    machine: Sequence[Finding], shoot: Sequence[Finding], open_points: Sequence[Finding]
) -> None:
    for heading, findings in (("This machine", machine), ("This shoot", shoot)):
        if findings:
            print_text(heading, "bold")
        for finding in findings:
            print_text(f"  {'!' if finding.remedy else ' '} {finding.what}: {finding.says}")
    for finding in open_points:
        print_text(finding.remedy)
    if not open_points:
        print_text("All is well." if shoot else "This machine is ready. There is no shoot in this folder.")


def verify(
    copies: Annotated[
        bool, Option("--copies", help="Only the copies: the memory cards are not here.")
    ] = False,
) -> None:
    """Read every file again. Shows what is missing or changed, and which memory cards are safe to format."""
    from onsite.frames.verify_frames import verify_files

    shoot = open_chosen_shoot()
    with show_progress("reading files again") as step:
        done = verify_files(shoot, copies, step)
    no_manifest = any(card.manifest is None for card in done.cards)
    in_part = bool(done.missing or done.changed or done.unreadable or no_manifest)
    print_answer(done, lambda: _print_verified(done), in_part)


def _print_verified(done: VerifiedFiles) -> None:
    print_text(f"Read back whole: {plural(done.whole, 'file')}, copies included.")
    for changed in done.changed:
        print_text(f"  changed: {changed.file}: its SHA-256 was {changed.was} and is {changed.now}")
        print_text(f"    whole at {changed.good}" if changed.good else "    no whole copy of it is left")
    for missing in done.missing:
        print_text(f"  missing: {missing}")
    for extra in done.extra:
        print_text(f"  extra, not in the shoot: {extra}")
    for file, reason in done.unreadable:
        print_text(f"  cannot be read: {file}: {reason}")
    for card in done.cards:
        print_text(f"{card.card}: {_format_answer(card)}")
        written = card.manifest or "cannot be written, free some space in the shoot's folder"
        print_text(f"  its manifest: {written}")


def _format_answer(card: CardState) -> str:
    """Whether a card may be formatted, and why not."""
    files = plural(card.files, "picture")
    if not card.safe_to_format:
        return f"do not format, {card.unsafe:,} of {files} at fewer than two other places."
    safe = "safe to format, each picture reads back at two other places."
    if card.one_disk:
        safe = (
            "safe to format once a copy is on another disk, too. Each picture reads back at two other places,"
            f" but all those of {card.one_disk:,} of {files} are on one disk."
        )
    return f"{safe} {_others_text(card)}".rstrip()


def _others_text(card: CardState) -> str:
    """What else is on a card that is lost with it."""
    if card.others is None:
        return "It is not here: what else is on it is not known."
    listed = ", ".join(f"{number:,} {ending}" for ending, number in sorted(card.others.items()))
    return f"Also on it, and not in the shoot: {listed}." if listed else ""


def backup(
    folder: Annotated[
        Path | None, Argument(metavar="DIR", help="Another folder for it, such as one on another disk.")
    ] = None,
) -> None:
    """Back up the shoot's record now. Every ten minutes it is done by itself."""
    from onsite.core.errors import Problem
    from onsite.store.backups import back_up, make_backup

    shoot = open_chosen_shoot()
    if shoot.settings.store:
        raise Problem(
            "This shoot's store is a PostgreSQL server.", "Back it up there, for instance with: pg_dump"
        )
    now = datetime.now(UTC)
    if folder is None:
        made = back_up(shoot.folder, shoot.backups_elsewhere, now)
    else:
        made = [make_backup(shoot.folder, folder, now)]
    files = [str(one.path) for one in made]
    print_answer({"backups": files}, f"Backed up: {', '.join(files)}")


def undo() -> None:
    """Undo what this station did last: at the door, by hand, or after the shoot."""
    from onsite.checkin.undo_check_in import undo_last_act
    from onsite.core.errors import Problem
    from onsite.reconcile.overrides import undo_last_override
    from onsite.retouch.undo_after_shoot import undo_after_shoot
    from onsite.store.events import AFTERWARDS

    here, shoot = station(None), open_chosen_shoot()
    last = _last_act(shoot, here)
    if last is None:
        raise Problem(
            f"Nothing that was done at {here} is left to undo.", "What another station did is undone there."
        )
    if last.kind in AFTERWARDS:
        undone = undo_after_shoot(shoot, here)
    elif last.frame_id is None and last.person_id is not None:
        undone = undo_last_act(shoot, last.person_id, here)
    else:
        override = undo_last_override(shoot, here)
        undone = override.text if override is not None else ""
    print_answer_with_names(shoot, {"undone": undone}, f"Undone: {undone.rstrip('.')}.")


def _last_act(shoot: Shoot, here: str) -> Event | None:
    """The newest event of a station that can be undone; None where there is none. What was done with people
    who are no longer in the shoot cannot, but for frames given to them."""
    from onsite.checkin.undo_check_in import is_made_at_door
    from onsite.reconcile.gather_evidence import OVERRIDE_KINDS
    from onsite.roster.read_people import removed_ids
    from onsite.store.events import AFTERWARDS, read_events
    from onsite.store.schema import EventRow

    with shoot.reading() as session:
        done, gone = read_events(session, (), EventRow.station == here), removed_ids(session)
    there = [e for e in done if e.kind in OVERRIDE_KINDS or e.person_id not in gone]
    acts = [e for e in there if e.kind in AFTERWARDS or e.kind in OVERRIDE_KINDS or is_made_at_door(e)]
    return max(acts, key=lambda event: event.id, default=None)


def restore(
    backup: Annotated[
        str, Argument(metavar="BACKUP", help="Its number in the list, or its file. Without it: the list.")
    ] = "",
) -> None:
    """List the backups, or go back to one. What it replaces is kept."""
    from onsite.core.errors import Problem
    from onsite.store.backups import FOLDER, list_backups
    from onsite.store.restore_backup import find_backup, read_backup, restore_backup
    from onsite.store.settings import read_settings

    folder = chosen_folder()
    settings = read_settings(folder)
    if settings.store:
        raise Problem("This shoot's store is a PostgreSQL server.", "Go back to a backup of the server.")
    if backup:
        done = restore_backup(folder, find_backup(folder, backup), datetime.now(UTC))
        print_answer(_restored_data(done), lambda: _print_restored(done, settings.zone))
        return
    held = [read_backup(one) for one in list_backups(folder / FOLDER)]
    rows = [_backup_row(number, content, settings.zone) for number, content in enumerate(held, 1)]
    data = {"backups": [_content_data(number, content) for number, content in enumerate(held, 1)]}
    if not rows:
        print_answer(data, "There is no backup yet.")
        return
    headings = ("", "made", "people", "arrivals", "frames", "")
    print_answer(data, lambda: print_table(headings, rows))


def _content_data(number: int, content: BackupContent) -> dict[str, object]:
    return {
        "number": number,
        "file": content.backup.path,
        "made": content.backup.made,
        "newest_event": content.backup.newest_event,
        "people": content.people,
        "arrivals": content.arrivals,
        "frames": content.frames,
        "damage": content.damage,
    }


def _backup_row(number: int, content: BackupContent, zone: ZoneInfo) -> tuple[str, ...]:
    made = f"{content.backup.made.astimezone(zone):%Y-%m-%d %H:%M:%S}"
    if content.damage:
        return (str(number), made, "", "", "", f"damaged: {content.damage}")
    counts = (content.people, content.arrivals, content.frames)
    return (str(number), made, *(f"{count:,}" for count in counts), "")


def _restored_data(done: Restored) -> dict[str, object]:
    return {
        "backup": done.backup.path,
        "made": done.backup.made,
        "aside": done.aside,
        "lost_known": done.lost is not None,
        "lost": done.lost or (),
        "unnamed": done.unnamed,
    }


def _print_restored(done: Restored, zone: ZoneInfo) -> None:
    at = done.backup.made.astimezone(zone)
    print_text(f"The shoot is as it was at {at:%H:%M:%S} on {at:%Y-%m-%d}.")
    print_text(f"What stood there before is kept in {done.aside}")
    if done.lost is None:
        print_text("What was recorded later cannot be read: see the paper list, and ingest the cards again.")
    elif done.lost:
        print_text(f"No longer recorded: {plural(len(done.lost), 'event')}. Do these again:")
        for lost in done.lost[:_LISTED]:
            print_text(f"  {lost.at.astimezone(zone):%H:%M:%S} {lost.kind} {lost.name}".rstrip())
        if len(done.lost) > _LISTED:
            print_text(f"  and {len(done.lost) - _LISTED:,} more; --json lists all")
    elif not done.unnamed:
        print_text("Nothing was recorded after it.")
    if done.lost is not None and done.unnamed:
        gone = plural(done.unnamed, "later event")
        print_text(f"No file holds {gone} any more: see the paper list, and ingest the cards again.")
