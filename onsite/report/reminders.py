"""Whom to remind of their picks, and what to write to them. Nothing is sent here, or anywhere."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from onsite.progress.stage import Standing
from onsite.progress.waits import Wait, wait_of
from onsite.words import day_told

RESTS = timedelta(days=1)
"""For so long after one reminder nobody is written another, unless that is asked for. Own choice."""


@dataclass(frozen=True, slots=True)
class Due:
    """Who is to be reminded, and who was reminded so lately that they are left alone."""

    now: tuple[Standing, ...]
    rested: tuple[Standing, ...]


@dataclass(frozen=True, slots=True)
class Letter:
    """What is the same in every letter: the shoot's name, how many pictures may be picked, by when the
    answer is wanted, if that was said, and the address under which the pages lie, if it is known."""

    shoot: str
    picks: int
    by: date | None = None
    at: str = ""


@dataclass(frozen=True, slots=True)
class Mail:
    subject: str
    text: str


def due_for_picks(everybody: Iterable[Standing], now: datetime, again: bool = False) -> Due:
    """Whose proofs are out without an answer, of everybody given; nobody who is withdrawn. `again` takes
    those in who were reminded a moment ago. `now` is aware."""
    wanted: list[Standing] = []
    rested: list[Standing] = []
    for standing in everybody:
        waits = wait_of(standing)
        if waits is None or waits.what is not Wait.PICKS or standing.person.withdrawn:
            continue
        last = standing.after.reminded
        lately = last is not None and now - last < RESTS and not again
        (rested if lately else wanted).append(standing)
    return Due(tuple(wanted), tuple(rested))


def page_at(page: str, letter: Letter) -> str:
    """Where a page can be opened; empty where there is none, or nobody said where the pages lie."""
    return f"{letter.at}/{page}" if page and letter.at else ""


def mail_for(standing: Standing, letter: Letter) -> Mail:
    """The letter to one person, in plain text."""
    person, after = standing.person, standing.after
    proofs = "The proofs of your pictures"
    since = f" have been ready since {day_told(after.proofed)}" if after.proofed else " are ready"
    many = "one picture" if letter.picks == 1 else f"up to {letter.picks} pictures"
    if page := page_at(after.page, letter):
        how = f"Please open your page, {page} , choose {many}, and send back the pick code that it shows."
    elif after.page:
        how = (
            f"Please open your page, whose address is in the mail that you had with it, choose {many}, and"
            " send back the pick code that it shows."
        )
    else:
        how = f"Please look at your proof sheet, choose {many}, and send back the numbers under them."
    by = f" We need your answer by {day_told(letter.by)}." if letter.by else ""
    lines = (
        f"Dear {person.name},",
        f"{proofs} from {letter.shoot}{since}, and you have not chosen yet.",
        f"{how}{by}",
        "If you have answered in the meantime, please take no notice of this letter.",
    )
    return Mail(f"{letter.shoot}: please choose your picture", "\n\n".join(lines) + "\n")
