"""Who is to be written a mail about their proofs, and what to write. Nothing is sent here, or anywhere."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from onsite.messages.catalogue import Catalogue
from onsite.status.person_status import PersonStatus, WaitingFor, open_work_of

RESTS = timedelta(days=1)
"""For so long after one mail nobody is reminded, unless that is asked for. Own choice."""


@dataclass(frozen=True, slots=True)
class DueReminders:
    """Who is to be written to, and who was written to already, or so lately that they are left alone."""

    now: tuple[PersonStatus, ...]
    rested: tuple[PersonStatus, ...]


@dataclass(frozen=True, slots=True)
class Letter:
    """What is the same in every letter: the shoot's name and day, how many pictures may be picked, by when
    the answer is wanted, if that was said, the address under which the pages lie, if it is known, and who
    writes. `ready` says that the proofs are there; else it reminds."""

    shoot: str
    picks: int
    by: date | None = None
    at: str = ""
    day: str = ""
    studio: str = ""
    reply_to: str = ""
    ready: bool = False


@dataclass(frozen=True, slots=True)
class ProofMail:
    """`with_sheet` where the contact sheet belongs with it."""

    subject: str
    text: str
    with_sheet: bool = False


def due_for_picks(everybody: Iterable[PersonStatus], now: datetime, again: bool = False) -> DueReminders:
    """Whose proofs are out without an answer, of everybody given; nobody who is withdrawn. `again` takes
    those in who were written to a moment ago. `now` is aware."""

    def lately(status: PersonStatus) -> bool:
        last = max(filter(None, (status.pictures.reminded, status.pictures.invited)), default=None)
        return last is not None and now - last < RESTS

    return _due(everybody, lately, again)


def due_for_proofs(everybody: Iterable[PersonStatus], again: bool = False) -> DueReminders:
    """The same people, but those who were written to since their proofs were last made; with `again`
    everybody."""

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
    """Where a page can be opened; empty where there is none, or nobody said where the pages lie."""
    return f"{letter.at}/{page}" if page and letter.at else ""


def proof_mail(status: PersonStatus, letter: Letter, words: Catalogue) -> ProofMail:
    """The letter to one person, in plain text, in the language of `words`."""
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
