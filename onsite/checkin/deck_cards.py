"""Deck cards: making them, finding one, and their assignments to people over time."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from datetime import datetime

from sqlmodel import Session, func, select

from onsite.core.codes import new_code, parse_slate_code
from onsite.core.errors import Problem
from onsite.core.text import escaped
from onsite.roster.people_in_store import codes_taken
from onsite.store.events import EventKind, read_events, undone_event_ids
from onsite.store.schema import DeckCard, EventRow
from onsite.store.shoot import Shoot

LARGEST_DECK = 9999


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


def read_card_assignments(session: Session) -> dict[str, list[tuple[datetime, int]]]:
    """Card code -> assignments (from when, person id) in time order, without undone ones.

    A card that was never assigned is not in it.
    """
    codes = dict(session.exec(select(DeckCard.id, DeckCard.code)).all())
    tied: dict[str, list[tuple[datetime, int]]] = defaultdict(list)
    for happening in read_events(session, (EventKind.CARD_TIED,)):
        if happening.card_id is not None and happening.person_id is not None:
            tied[codes[happening.card_id]].append((happening.at, happening.person_id))
    return dict(tied)


def card_assignments(session: Session, card_id: int) -> list[tuple[datetime, int]]:
    """The assignments of one deck card, without reading those of the others."""
    undone = undone_event_ids(session)
    wanted = (
        select(EventRow.id, EventRow.at, EventRow.person_id)
        .where(EventRow.kind == EventKind.CARD_TIED.value, EventRow.card_id == card_id)
        .order_by(EventRow.at, EventRow.id)
    )
    return [
        (at, person)
        for event_id, at, person in session.exec(wanted)
        if event_id not in undone and person is not None
    ]


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


def holder_at(tied: list[tuple[datetime, int]], at: datetime) -> int | None:
    """The id of the person who holds a deck card at that time, from its assignments."""
    place = bisect_right(tied, at, key=lambda tie: tie[0])
    return tied[place - 1][1] if place else None
