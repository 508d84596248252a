"""Deck cards: making them, finding one, and their assignments to people over time."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Collection
from datetime import datetime

from sqlmodel import Session, func, select

from onsite.core.codes import new_code, parse_slate_code
from onsite.core.errors import Problem
from onsite.core.text import escaped
from onsite.roster.read_people import codes_taken
from onsite.store.events import IS_UNDONE
from onsite.store.schema import CardHolder, DeckCard, EventRow, Person
from onsite.store.shoot import Shoot

LARGEST_DECK = 9999
"""Cards: four digits, as a deck card prints its number."""


def make_deck(shoot: Shoot, number: int) -> list[DeckCard]:
    """The deck cards 1 to `number`; missing ones are made, the others keep their code. Raises Problem."""
    if not 1 <= number <= LARGEST_DECK:
        raise Problem(f"A deck of {number} cards cannot be made.", f"Ask for 1 to {LARGEST_DECK} cards.")
    with shoot.writing() as session:
        taken = codes_taken(session)
        there = set(session.exec(select(DeckCard.number)))
        for missing in sorted(set(range(1, number + 1)) - there):
            code = new_code(shoot.mark, taken)
            taken.add(code)
            session.add(DeckCard(number=missing, code=code))
        session.flush()
        return list(session.exec(select(DeckCard).where(DeckCard.number <= number).order_by(DeckCard.number)))


def read_card_assignments(
    session: Session, codes: Collection[str] | None = None
) -> dict[str, list[tuple[datetime, int]]]:
    """Card code -> assignments (from when, person id) in time order, without undone ones; of all deck cards,
    or of those with these codes.

    A card that was never assigned is not in it.
    """
    wanted = (
        select(DeckCard.code, EventRow.at, EventRow.person_id)
        .join(EventRow, EventRow.card_id == DeckCard.id)
        .where(~IS_UNDONE)
        .order_by(EventRow.at, EventRow.id)
    )
    tied: dict[str, list[tuple[datetime, int]]] = defaultdict(list)
    for code, at, person in session.exec(wanted if codes is None else wanted.where(DeckCard.code.in_(codes))):
        if person is not None:
            tied[code].append((at, person))
    return dict(tied)


def find_deck_card(session: Session, text: str | int) -> DeckCard:
    """The deck card with that number or code. Raises Problem if there is none."""
    typed = str(text).strip()
    if typed.isdecimal() and len(typed) < 10:
        card = session.exec(select(DeckCard).where(DeckCard.number == int(typed))).first()
    else:
        code = parse_slate_code(typed)
        card = session.exec(select(DeckCard).where(DeckCard.code == code.text)).first() if code else None
    if card is None:
        last = session.exec(select(func.max(DeckCard.number))).one()
        remedy = f"Cards have the numbers 1 to {last}." if last else "Make cards with: onsite slates deck"
        raise Problem(f"There is no card {escaped(typed)}", remedy)
    return card


def whose_now(session: Session, card_ids: Collection[int]) -> str:
    """Whose these deck cards are after something was taken back, a sentence each."""
    wanted = (
        select(DeckCard.number, Person.name)
        .outerjoin(CardHolder, CardHolder.card_id == DeckCard.id)
        .outerjoin(Person, Person.id == CardHolder.person_id)
        .where(DeckCard.id.in_(card_ids))
        .order_by(DeckCard.number)
    )
    holders = [(number, f"{escaped(name)}'s" if name else "free") for number, name in session.exec(wanted)]
    return " ".join(f"Card {number} is {whose}." for number, whose in holders)


def holder_at(tied: list[tuple[datetime, int]], at: datetime) -> int | None:
    """The id of the person who holds a deck card at that time, from its assignments."""
    place = bisect_right(tied, at, key=lambda tie: tie[0])
    return tied[place - 1][1] if place else None
