"""Who is due a mail about their proofs, and its text. Pure: nothing is sent here, or anywhere."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from onsite.messages.message_catalogue import Catalogue
from onsite.status.person_status import PersonStatus, WaitingFor, open_work_of

RESTS = timedelta(days=1)
"""The least time between two mails to a person, unless `again` overrules it. Our own choice."""


@dataclass(frozen=True, slots=True)
class DueReminders:
    """The people due a mail."""

    now: tuple[PersonStatus, ...]
    rested: tuple[PersonStatus, ...]  # left out, because they were written to already or too recently


@dataclass(frozen=True, slots=True)
class Letter:
    """What all mails of one run have in common."""

    shoot: str
    picks: int  # how many pictures may be picked
    by: date | None = None  # the deadline
    at: str = ""  # address of the folder with the pages, empty where it is not known
    day: str = ""  # of the shoot
    studio: str = ""
    reply_to: str = ""
    ready: bool = False  # announces the proofs; else it is a reminder


@dataclass(frozen=True, slots=True)
class ProofMail:
    """A mail to one person. `with_sheet` says that the contact sheet is to be attached."""

    subject: str
    text: str
    with_sheet: bool = False


def due_for_picks(everybody: Iterable[PersonStatus], now: datetime, again: bool = False) -> DueReminders:
    """People whose proofs are out and unanswered, except withdrawn ones. `again` includes people who were
    written to within `RESTS`. `now` is aware."""

    def lately(status: PersonStatus) -> bool:
        last = max(filter(None, (status.pictures.reminded, status.pictures.invited)), default=None)
        return last is not None and now - last < RESTS

    return _due(everybody, lately, again)


def due_for_proofs(everybody: Iterable[PersonStatus], again: bool = False) -> DueReminders:
    """The same people, except those who were written to since their proofs were last built; `again`
    includes them."""

    def written(status: PersonStatus) -> bool:
        after = status.pictures
        return after.invited is not None and (after.proofed is None or after.invited >= after.proofed)

    return _due(everybody, written, again)


def _due(
    everybody: Iterable[PersonStatus], rests: Callable[[PersonStatus], bool], again: bool
) -> DueReminders:
    wanted: list[PersonStatus] = []
    rested: list[PersonStatus] = []
    for person in everybody:
        waits = open_work_of(person)
        if waits is not None and waits.what is WaitingFor.PICKS and not person.person.withdrawn:
            (rested if rests(person) and not again else wanted).append(person)
    return DueReminders(tuple(wanted), tuple(rested))


def page_at(page: str, letter: Letter) -> str:
    """The URL of a page; empty where there is no page or the folder's address is not known."""
    return f"{letter.at}/{page}" if page and letter.at else ""


def proof_mail(status: PersonStatus, letter: Letter, words: Catalogue) -> ProofMail:
    """The mail to one person as plain text, in the language of `words`."""
    after, with_sheet = status.pictures, False
    about = {"shoot": letter.shoot, "day": words.day(letter.day) or "none"}
    if letter.ready or after.proofed is None:
        opening = words.text("mail-ready", **about)
    else:
        opening = words.text("mail-waiting", **about, since=words.day(after.proofed))
    if page := page_at(after.page, letter):
        how = [f"{words.text('mail-page')}\n{page}", words.text("mail-page-choose", picks=letter.picks)]
    elif after.page and not letter.ready:
        how = [words.text("mail-page-elsewhere", picks=letter.picks)]
    else:
        with_sheet = letter.ready
        sheet = words.text("mail-sheet-attached" if with_sheet else "mail-sheet")
        how = [sheet, words.text("mail-sheet-choose", picks=letter.picks)]
    parts = [words.text("mail-greeting", name=status.person.name), opening, *how]
    if letter.by:
        parts.append(words.text("mail-by", day=words.day(letter.by)))
    if not letter.ready:
        parts.append(words.text("mail-crossed"))
    if letter.studio or letter.reply_to:
        signed = (words.text("mail-regards"), letter.studio, letter.reply_to)
        parts.append("\n".join(filter(None, signed)))
    subject = "mail-ready-subject" if letter.ready else "mail-remind-subject"
    subject_text = words.text(
        subject, shoot=letter.shoot, **({} if letter.ready else {"picks": letter.picks})
    )
    return ProofMail(subject_text, "\n\n".join(parts) + "\n", with_sheet)
