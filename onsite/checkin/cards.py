"""Deck cards: making them, finding one, and whose they are when."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from datetime import datetime

from sqlmodel import Session, col, func, select

from onsite.checkin.taken_back import taken_back
from onsite.problems import Problem
from onsite.roster.people import codes_taken
from onsite.slate.code import new_code, parse
from onsite.store.record import Kind, happened
from onsite.store.shoot import Shoot
from onsite.store.tables import Card, Event
from onsite.words import escaped

LARGEST_DECK = 9999


def make_deck(shoot: Shoot, number: int) -> list[Card]:
    """The cards 1 to `number`; those that are not there yet are made, the others keep their code."""
    if not 1 <= number <= LARGEST_DECK:
        raise Problem(f"A deck of {number} cards cannot be made.", f"Ask for 1 to {LARGEST_DECK} cards.")
    with shoot.writing() as session:
        taken = codes_taken(session)
        there = set(session.exec(select(Card.number)))
        for missing in sorted(set(range(1, number + 1)) - there):
            code = new_code(shoot.mark, taken)
            taken.add(code)
            session.add(Card(number=missing, code=code))
        session.flush()
        return list(session.exec(select(Card).where(col(Card.number) <= number).order_by(col(Card.number))))


def ties(session: Session) -> dict[str, list[tuple[datetime, int]]]:
    """Card code -> (from when, person id) in time order, without what was undone. A card that was never tied
    is not there."""
    codes = dict(session.exec(select(Card.id, Card.code)).all())
    tied: dict[str, list[tuple[datetime, int]]] = defaultdict(list)
    for happening in happened(session, (Kind.CARD_TIED,)):
        if happening.card_id is not None and happening.person_id is not None:
            tied[codes[happening.card_id]].append((happening.at, happening.person_id))
    return dict(tied)


def ties_of(session: Session, card_id: int) -> list[tuple[datetime, int]]:
    """The same of one card, without going through those of the others."""
    undone = taken_back(session)
    wanted = (
        select(Event.id, Event.at, Event.person_id)
        .where(Event.kind == Kind.CARD_TIED.value, Event.card_id == card_id)
        .order_by(col(Event.at), col(Event.id))
    )
    return [
        (at, person)
        for event_id, at, person in session.exec(wanted)
        if event_id not in undone and person is not None
    ]


def find_card(session: Session, text: str | int) -> Card:
    """The card of that number or code; Problem when there is none."""
    typed = str(text).strip()
    if typed.isdecimal() and len(typed) < 10:
        card = session.exec(select(Card).where(col(Card.number) == int(typed))).first()
    else:
        code = parse(typed)
        card = session.exec(select(Card).where(col(Card.code) == code.text)).first() if code else None
    if card is None:
        last = session.exec(select(func.max(Card.number))).one()
        remedy = f"Cards have the numbers 1 to {last}." if last else "Make cards with: onsite slates deck"
        raise Problem(f"There is no card {escaped(typed)}", remedy)
    return card


def holder_at(tied: list[tuple[datetime, int]], at: datetime) -> int | None:
    """The id of the person whose card it is at that time."""
    place = bisect_right(tied, at, key=lambda tie: tie[0])
    return tied[place - 1][1] if place else None
