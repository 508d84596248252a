"""Writes mails about proofs, and reminders, into the shoot's folder for the user to send; records them."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from sqlmodel import Session, select

from onsite.core.errors import Problem
from onsite.core.times import require_not_past
from onsite.files.atomic_write import draft_folder
from onsite.files.write_tables import write_csv
from onsite.messages.languages import Languages
from onsite.messages.message_catalogue import catalogue
from onsite.picks.due_pick_reminders import DueReminders, Letter, ProofMail, page_at, proof_mail
from onsite.proofs.build_proofs import find_contact_sheets
from onsite.roster.publication_consent import WithholdingReason
from onsite.status.person_status import PersonStatus
from onsite.store.events import EventKind, add_event
from onsite.store.schema import Person
from onsite.store.settings import is_mail_address
from onsite.store.shoot import Shoot

FOLDER = "reminders"
COLUMNS = (
    "key", "name", "given", "family", "group", "email", "page", "proofed", "subject", "text", "language",
    "attachment",
)  # fmt: skip
"""Of the table for a mail merge."""

OF_PICKS, OF_PROOFS = "picks", "proofs"

_WEB = re.compile(r"https?://[^\s<>\"'/]+(/[^\s<>\"']*)?", re.IGNORECASE)
"""A URL of a folder (RFC 3986, 3), without characters that would break out of a line of a mail."""

_IDS_PER_QUERY = 500  # below 999, the most that older builds of SQLite take


@dataclass(frozen=True, slots=True)
class ReminderResult:
    """The mails written."""

    folder: Path | None  # None where nobody was due
    people: tuple[PersonStatus, ...]  # all who were due
    without_address: tuple[PersonStatus, ...]  # of these, in the table only: no mail can be addressed
    rested: tuple[PersonStatus, ...]  # left out, because they were written to already
    with_sheet: int = 0
    """Mails with a contact sheet attached."""

    @property
    def mails(self) -> int:
        """The number of mails; people without an address are in the table only."""
        return len(self.people) - len(self.without_address)


def write_reminders(
    shoot: Shoot, due: DueReminders, station: str, by: date | None = None, at: str = ""
) -> ReminderResult:
    """Writes a reminder for each person and a table for a mail merge, whole or not at all, and records it.

    They go to `reminders/` in the shoot's folder: `merge.csv` and `mails/`, one RFC 5322 message a file. `at`
    is the address of the folder with the pages; empty, it is the agreed one, if any. Raises Problem where
    they cannot be written, `by` is in the past or `at` is no address.
    """
    return _written(shoot, due, station, by, at, None)


def write_ready_mails(
    shoot: Shoot, due: DueReminders, station: str, proofs: Path, by: date | None = None, at: str = ""
) -> ReminderResult:
    """Writes mails that announce the proofs, in the same form. They link to the page where its address is
    known; else the contact sheet from the folder `proofs` is attached. Also raises Problem where that sheet
    is missing.
    """
    return _written(shoot, due, station, by, at, proofs)


def _written(
    shoot: Shoot, due: DueReminders, station: str, by: date | None, at: str, proofs: Path | None
) -> ReminderResult:
    now, agreed = shoot.now(), shoot.settings.agreed
    if by is not None:
        require_not_past(by, now.date(), "An answer")
    elif agreed.picks_due and date.fromisoformat(agreed.picks_due) >= now.date():
        by = date.fromisoformat(agreed.picks_due)
    at = _address_of_pages(at or agreed.pages)
    languages = Languages.of_shoot(shoot.settings)
    sheets = find_contact_sheets(proofs) if proofs is not None else {}
    if not due.now:
        return ReminderResult(None, (), (), due.rested)
    due = replace(due, now=tuple(map(_without_page, due.now)))
    letter = Letter(
        shoot.settings.name,
        agreed.picks,
        by,
        at,
        day=shoot.settings.date,
        studio=agreed.studio,
        reply_to=agreed.reply_to,
        ready=proofs is not None,
    )
    with shoot.writing() as session:
        addresses = _addresses(session, [s.person.id for s in due.now])
        letters = [_addressed_mail(s, addresses[s.person.id], letter, languages, sheets) for s in due.now]
        for status in due.now:
            if letter.ready:
                add_event(session, EventKind.INVITED, now, station=station, person_id=status.person.id)
            else:
                add_event(
                    session, EventKind.REMINDED, now, station=station, person_id=status.person.id, of=OF_PICKS
                )
        session.flush()
        name = f"{now:%Y-%m-%d} {OF_PROOFS if letter.ready else OF_PICKS}"
        with _new_folder(shoot.folder / FOLDER, name) as (draft, folder):
            _write(draft, letters, letter)
    missing = tuple(addressed.status for addressed in letters if not addressed.to)
    with_sheet = sum(addressed.sheet is not None for addressed in letters)
    return ReminderResult(folder, due.now, missing, due.rested, with_sheet)


@dataclass(frozen=True, slots=True)
class _AddressedMail:
    """A mail with its addresses: `listed` as in the client's list, `to` each by itself."""

    status: PersonStatus
    mail: ProofMail
    language: str
    listed: str
    to: Sequence[str]
    sheet: Path | None


def _addressed_mail(
    status: PersonStatus, listed: str, letter: Letter, languages: Languages, sheets: Mapping[str, Path]
) -> _AddressedMail:
    language = languages.language_for(status.language, status.person.group)
    mail = proof_mail(status, letter, catalogue(language))
    sheet = sheets.get(status.person.code) if mail.with_sheet else None
    if mail.with_sheet and (sheet is None or not sheet.is_file()):
        raise Problem(
            f"The proof sheet of {status.person.name} is not in that folder.",
            "Name the folder that they were made in, or make them again: onsite proofs build DIR",
        )
    return _AddressedMail(status, mail, language, listed, _plain_addresses(listed), sheet)


def _without_page(status: PersonStatus) -> PersonStatus:
    """The status without a page where the person refuses now: the next `proofs build` deletes that page."""
    if status.publication.reason not in (WithholdingReason.REFUSED, WithholdingReason.UNCLEAR):
        return status
    return replace(status, pictures=replace(status.pictures, page=""))


def _address_of_pages(at: str) -> str:
    at = at.strip()
    if at and not _WEB.fullmatch(at):
        raise Problem(f"{at!r} is no address of a folder.", "Write it like https://example.org/proofs.")
    return at.rstrip("/")


@contextmanager
def _new_folder(parent: Path, name: str) -> Iterator[tuple[Path, Path]]:
    """(draft folder to write into, its name once it is complete: `name` and a number)."""
    draft = parent / f".{name}.part"
    try:
        parent.mkdir(exist_ok=True)
        with draft_folder(draft):
            folder = next(
                place for number in range(1, 10_000) if not (place := parent / f"{name} {number}").exists()
            )
            yield draft, folder
            draft.replace(folder)
    except OSError as error:
        raise Problem(
            f"{parent} cannot be written: {error.strerror or error}", "Free the disk; nothing was recorded."
        ) from error


def _write(folder: Path, letters: Sequence[_AddressedMail], letter: Letter) -> None:
    mails = folder / "mails"
    mails.mkdir()
    for number, addressed in enumerate(letters, start=1):
        if addressed.to:
            name = re.sub(r"[^A-Za-z0-9-]+", "-", addressed.status.person.key)[:40]
            (mails / f"{number:04} {name}.eml").write_bytes(_message(addressed, letter))
    rows = [_row(addressed, letter) for addressed in letters]
    # Without a byte order mark some spreadsheets guess the encoding (from memory).
    write_csv(folder / "merge.csv", COLUMNS, rows, lines=("text",), encoding="utf-8-sig")


def _row(addressed: _AddressedMail, letter: Letter) -> tuple[str, ...]:
    person, after = addressed.status.person, addressed.status.pictures
    proofed = after.proofed.date().isoformat() if after.proofed else ""
    who = (person.key, person.name, person.given, person.family, person.group)
    page = page_at(after.page, letter) or after.page
    sheet = str(addressed.sheet.resolve()) if addressed.sheet else ""
    return (
        *who,
        addressed.listed,
        page,
        proofed,
        addressed.mail.subject,
        addressed.mail.text,
        addressed.language,
        sheet,
    )


def _plain_addresses(text: str) -> list[str]:
    """The addresses in a cell of the client's list, perhaps of both parents; none if any is not plain."""
    found = [part for part in re.split(r"[,; ]+", text) if part]
    return found if all(map(is_mail_address, found)) else []


def _message(addressed: _AddressedMail, letter: Letter) -> bytes:
    from email.message import EmailMessage
    from email.policy import SMTP

    message = EmailMessage(SMTP)
    message["To"] = ", ".join(addressed.to)
    if letter.reply_to:
        message["Reply-To"] = letter.reply_to
    message["Subject"] = re.sub(
        r"[\r\n]+", " ", addressed.mail.subject
    )  # a line break would begin another header field
    message["X-Unsent"] = "1"  # some mail programs then open it as a draft (from memory)
    message.set_content(addressed.mail.text)
    message["Content-Language"] = addressed.language  # RFC 3282
    if addressed.sheet is not None:
        message.add_attachment(
            addressed.sheet.read_bytes(), maintype="application", subtype="pdf", filename="proofs.pdf"
        )
    return message.as_bytes()


def _addresses(session: Session, ids: Collection[int]) -> dict[int, str]:
    listed, found = sorted(ids), dict[int, str]()
    for start in range(0, len(listed), _IDS_PER_QUERY):
        chunk = Person.id.in_(listed[start : start + _IDS_PER_QUERY])
        rows = session.exec(select(Person.id, Person.email).where(chunk))
        found |= {person: email.strip() for person, email in rows if person is not None}
    return found
