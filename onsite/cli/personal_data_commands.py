"""The commands `onsite forget` and `onsite retain`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from typer import Argument, Option

from onsite.cli.common_options import open_chosen_shoot, station
from onsite.cli.output import print_answer, print_text
from onsite.core.text import format_iso_date, listed, plural

if TYPE_CHECKING:
    from onsite.core.errors import FileReason
    from onsite.personal_data.forget_person import Forgotten
    from onsite.store.shoot import Shoot


def forget(
    who: Annotated[
        str, Argument(metavar="WHO", help="A name that fits one person, a number, a code or a key.")
    ],
    dry_run: Annotated[bool, Option("--dry-run", help="Only show where their data is.")] = False,
) -> None:
    """Remove a person's data. It cannot be undone: earlier backups go too."""
    from onsite.personal_data.forget_person import forget_person

    done = forget_person(open_chosen_shoot(), who, station(None), dry_run)
    print_answer({"dry_run": dry_run, **_data(done)}, lambda: _print_forgotten(done, dry_run))


def _data(done: Forgotten) -> dict[str, object]:
    return {name: getattr(done, name) for name in type(done).__dataclass_fields__}


def _print_forgotten(done: Forgotten, dry_run: bool) -> None:
    """Print what is left for a person to delete, then in counts what the program does."""
    if done.recorded:
        print_text(done.recorded)
    who = f"{done.name} ({done.key})" if done.name else done.key
    print_text(f"{who}: what you must delete yourself, since it is out of reach:", "bold")
    for line in _places_of(done.beyond):
        print_text(f"  {line}")
    would = "would be " if dry_run else ""
    print_text(f"What {'would be' if dry_run else 'was'} done here:", "bold")
    print_text(f"  name, contacts and answers {would}removed from the list of people")
    print_text(f"  {plural(done.events, 'event')} of the record {would}blanked")
    print_text(f"  {plural(len(done.frames), 'frame')} {would}set aside")
    for heading, paths in (
        ("deleted", done.deleted),
        ("rewritten without them", done.blanked),
        ("deleted, with earlier states of the record", done.backups),
    ):
        if paths:
            print_text(f"  {plural(len(paths), 'file')} {would}{heading}")


def _places_of(beyond: Iterable[FileReason]) -> Iterator[str]:
    """The places out of reach, those of one folder and reason on one line."""
    named: dict[tuple[Path, str], list[str]] = {}
    for file, what in beyond:
        path = Path(file)
        named.setdefault((path.parent, what), []).append(path.name if file else "")
    for (folder, what), names in named.items():
        where = f" in {folder}" if folder != Path() else ""
        yield f"{listed(names)}{where}: {what}" if names[0] else what


@dataclass(frozen=True, slots=True)
class _Retention:
    """A shoot and the agreed end of keeping its data."""

    folder: Path
    keep_until: str
    """ISO 8601, or empty where no day is agreed."""
    is_past: bool
    people: int
    """Everybody whose data is still there."""
    frames: int
    files: int
    """Originals and copies that the shoot knows."""


def _read_retention(shoot: Shoot) -> _Retention:
    """What the shoot still holds, and whether the agreed day is past."""
    from datetime import date

    from sqlmodel import func, select

    from onsite.store.schema import FilePlace, Frame, Person, PersonState

    until = shoot.settings.agreed.keep_until
    with shoot.reading() as session:
        gone = select(PersonState.person_id).where(PersonState.removed)
        people = session.exec(select(func.count(Person.id)).where(Person.id.not_in(gone))).one()
        frames = session.exec(select(func.count(Frame.id))).one()
        files = session.exec(select(func.count(FilePlace.id))).one()
    is_past = bool(until) and date.fromisoformat(until) < shoot.now().date()
    return _Retention(shoot.folder, until, is_past, people, frames, files)


def retain() -> None:
    """Show whose data is still here, and whether it may be kept."""
    held = _read_retention(open_chosen_shoot())
    counts = f"{plural(held.people, 'person', 'people')}, {plural(held.frames, 'frame')}, " + plural(
        held.files, "original or copy", "originals and copies"
    )
    if not held.keep_until:
        text = (
            f'No day is agreed: put keep_until = "2027-06-30" under [agreed] in shoot.toml. Held: {counts}.'
        )
    elif held.is_past:
        text = (
            f"Past since {format_iso_date(held.keep_until)}: {counts}. Delete the originals and copies"
            f" (onsite verify lists their folders), the backups, and then {held.folder}."
        )
    else:
        text = f"May be kept until {format_iso_date(held.keep_until)}: {counts}."
    print_answer(held, text)
