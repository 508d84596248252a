"""Reminders written into the shoot's folder, for whoever sends them, and into the record."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from sqlmodel import Session, col, select

from onsite.files.saving import draft_folder
from onsite.files.tables import write_csv
from onsite.problems import Problem
from onsite.progress.stage import Standing
from onsite.report.reminders import Due, Letter, Mail, mail_for, page_at
from onsite.roster.publication import Reason
from onsite.store.record import Kind, add
from onsite.store.shoot import Shoot
from onsite.store.tables import Person
from onsite.times import not_past

FOLDER = "reminders"
COLUMNS = ("key", "name", "given", "family", "group", "email", "page", "proofed", "subject", "text")
"""Of the table for a mail merge."""

OF_PICKS = "picks"

_PLAIN_ADDRESS = re.compile(r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~.-]+@[A-Za-z0-9-]+(\.[A-Za-z0-9-]+)+")
"""The addresses that mails are made for: RFC 5321's dot-string before an ordinary domain."""

_WEB = re.compile(r"https?://[^\s<>\"'/]+(/[^\s<>\"']*)?", re.IGNORECASE)
"""Where pages can lie (RFC 3986, 3, without what would break out of a line of a mail)."""

_FOR_ONE_QUERY = 500


@dataclass(frozen=True, slots=True)
class Reminded:
    """What was written: the folder, None where nobody was due; for whom; of these, who has no address that a
    mail could be made for; and who was left alone, since they were reminded a moment ago."""

    folder: Path | None
    people: tuple[Standing, ...]
    without_address: tuple[Standing, ...]
    rested: tuple[Standing, ...]

    @property
    def mails(self) -> int:
        """Those that were made: the others stand in the table alone."""
        return len(self.people) - len(self.without_address)


def write_reminders(shoot: Shoot, due: Due, station: str, by: date | None = None, at: str = "") -> Reminded:
    """Writes a mail for each person and a table for a mail merge, whole or not at all, and records it.

    In `reminders/` of the shoot's folder: `merge.csv` and `mails/`, one RFC 5322 message a file. `at` is the
    address under which the folder with the pages lies on its host; else that which was agreed, if any. Raises
    Problem where they cannot be written, where `by` is past or where `at` is no address.
    """
    now = shoot.now()
    if by is not None:
        not_past(by, now.date(), "An answer")
    at = _address_of_pages(at or shoot.settings.agreed.pages)
    if not due.now:
        return Reminded(None, (), (), due.rested)
    due = replace(due, now=tuple(map(_without_page, due.now)))
    letter = Letter(shoot.settings.name, shoot.settings.agreed.picks, by, at)
    with shoot.writing() as session:
        addresses = _addresses(session, [s.person.id for s in due.now])
        for standing in due.now:
            add(session, Kind.REMINDED, now, station=station, person_id=standing.person.id, of=OF_PICKS)
        session.flush()
        with _new_folder(shoot.folder / FOLDER, f"{now:%Y-%m-%d} {OF_PICKS}") as (draft, folder):
            mails = [mail_for(standing, letter) for standing in due.now]
            _write(draft, due.now, mails, addresses, letter)
    missing = tuple(s for s in due.now if not _plain_addresses(addresses[s.person.id]))
    return Reminded(folder, due.now, missing, due.rested)


def _without_page(standing: Standing) -> Standing:
    """Their page is taken away by the next `proofs build` where they refuse now: no mail leads there."""
    if standing.publication.reason not in (Reason.REFUSED, Reason.UNCLEAR):
        return standing
    return replace(standing, after=replace(standing.after, page=""))


def _address_of_pages(at: str) -> str:
    at = at.strip()
    if at and not _WEB.fullmatch(at):
        raise Problem(f"{at!r} is no address of a folder.", "Write it like https://example.org/proofs.")
    return at.rstrip("/")


@contextmanager
def _new_folder(parent: Path, name: str) -> Iterator[tuple[Path, Path]]:
    """A folder to write into, and what it will be called once it is whole: the name, with a number."""
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


def _write(
    folder: Path,
    people: Sequence[Standing],
    mails: Sequence[Mail],
    addresses: dict[int, str],
    letter: Letter,
) -> None:
    rows = []
    letters = folder / "mails"
    letters.mkdir()
    for number, (standing, mail) in enumerate(zip(people, mails, strict=True), start=1):
        address = addresses[standing.person.id]
        rows.append(_row(standing, mail, address, letter))
        if to := _plain_addresses(address):
            name = re.sub(r"[^A-Za-z0-9-]+", "-", standing.person.key)[:40]
            (letters / f"{number:04} {name}.eml").write_bytes(_message(mail, to))
    # Without the mark at its beginning some spreadsheets guess the encoding (from memory).
    write_csv(folder / "merge.csv", COLUMNS, rows, lines=("text",), encoding="utf-8-sig")


def _row(standing: Standing, mail: Mail, address: str, letter: Letter) -> tuple[str, ...]:
    person, after = standing.person, standing.after
    proofed = after.proofed.date().isoformat() if after.proofed else ""
    who = (person.key, person.name, person.given, person.family, person.group)
    page = page_at(after.page, letter) or after.page
    return (*who, address, page, proofed, mail.subject, mail.text)


def _plain_addresses(text: str) -> list[str]:
    """The addresses in a cell of the client's list, perhaps of both parents; none if one is not plain."""
    found = [part for part in re.split(r"[,; ]+", text) if part]
    return found if all(map(_PLAIN_ADDRESS.fullmatch, found)) else []


def _message(mail: Mail, to: Sequence[str]) -> bytes:
    from email.message import EmailMessage
    from email.policy import SMTP

    message = EmailMessage(SMTP)
    message["To"] = ", ".join(to)
    message["Subject"] = " ".join(mail.subject.split())  # a line break would begin another heading
    message["X-Unsent"] = "1"  # some mail programs then open it as a draft (from memory)
    message.set_content(mail.text)
    return message.as_bytes()


def _addresses(session: Session, ids: Collection[int]) -> dict[int, str]:
    listed, found = sorted(ids), dict[int, str]()
    for start in range(0, len(listed), _FOR_ONE_QUERY):
        some = col(Person.id).in_(listed[start : start + _FOR_ONE_QUERY])
        rows = session.exec(select(Person.id, Person.email).where(some))
        found |= {person: email.strip() for person, email in rows if person is not None}
    return found
