"""At the door: somebody of the list arrives, and it is taken back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from onsite.checkin.cards import find_card
from onsite.checkin.desk import Arrival, Desk, arrivals, moment
from onsite.problems import Problem
from onsite.roster.entry import shown
from onsite.roster.find import Someone, who
from onsite.roster.people import people, person_of
from onsite.store.record import Kind, add, happened
from onsite.store.shoot import Shoot
from onsite.store.tables import Card

__all__ = [
    "Arrival",
    "TakenBack",
    "check_in",
    "check_in_person",
    "person_meant",
    "tie_card",
    "undo",
    "undo_person",
]


@dataclass(frozen=True, slots=True)
class TakenBack:
    """An arrival that no longer counts: when it was, and the numbers of the cards that came with it.

    The person keeps their sequence number for when they arrive after all.
    """

    person: Someone
    sequence: int | None
    at: datetime
    cards: tuple[int, ...] = ()


def check_in(
    shoot: Shoot,
    who_text: str,
    *,
    at: datetime | None = None,
    station: str = "",
    card: str | int | None = None,
) -> Arrival:
    """Marks the one person meant (`find.who`) as arrived, with a sequence number of their own.

    `card` is the number or the code of a deck card, theirs from then on. Somebody who is here already keeps
    number and time, and is tied to the card. Raises Ambiguous or another Problem, and changes nothing, when
    the text does not mean one person or there is no such card.
    """
    meant = person_meant(shoot, who_text)
    with shoot.writing() as session:
        return _arrive(session, shoot, who(who_text, [person_of(session, meant.id)]), station, card, at)


def check_in_person(
    shoot: Shoot,
    person_id: int,
    station: str = "",
    card: str | int | None = None,
    at: datetime | None = None,
) -> Arrival:
    """The same for a person by their id in the store: only what concerns them is read.

    Of two stations at the same moment one gives the number, and the other is told `already`, when and where.
    """
    with shoot.writing() as session:
        return _arrive(session, shoot, person_of(session, person_id), station, card, at)


def _arrive(
    session: Session,
    shoot: Shoot,
    someone: Someone,
    station: str,
    card: str | int | None,
    at: datetime | None,
) -> Arrival:
    return Desk(session, someone.id).arrive(someone, moment(shoot, at), station, card)


def undo(shoot: Shoot, who_text: str, station: str = "") -> TakenBack:
    """Takes back the arrival of the one person meant, with the cards tied to them since.

    Raises Problem when they have not arrived.
    """
    meant = person_meant(shoot, who_text)
    with shoot.writing() as session:
        return _take_back(session, shoot, who(who_text, [person_of(session, meant.id)]), station)


def undo_person(shoot: Shoot, person_id: int, station: str = "") -> TakenBack:
    """The same for a person by their id in the store."""
    with shoot.writing() as session:
        return _take_back(session, shoot, person_of(session, person_id), station)


def _take_back(session: Session, shoot: Shoot, someone: Someone, station: str) -> TakenBack:
    kinds = (Kind.ARRIVED, Kind.CARD_TIED)
    events = [event for event in happened(session, person_id=someone.id) if event.kind in kinds]
    arrived = [event for event in events if event.kind is Kind.ARRIVED]
    if not arrived:
        raise Problem(f"{shown(someone.name)} has not arrived", "There is nothing to take back.")
    first = min(event.id for event in arrived)
    undone = [event for event in events if event.id >= first]
    cards = [event.card_id for event in undone if event.card_id is not None]
    undoes = sorted(event.id for event in undone)
    add(session, Kind.UNDONE, shoot.now(), station=station, person_id=someone.id, undoes=undoes)
    numbers = sorted({session.get_one(Card, card_id).number for card_id in cards})
    return TakenBack(someone, someone.sequence, arrived[0].at, tuple(numbers))


def tie_card(
    shoot: Shoot, person_id: int, card: str | int, station: str = "", at: datetime | None = None
) -> Arrival:
    """Ties a deck card, by its number or code, to somebody who has arrived; the arrival stays as it is.

    `card_before` of the answer is the name of who had the card until then. Raises Problem when the person
    has not arrived or there is no such card.
    """
    with shoot.writing() as session:
        someone = person_of(session, person_id)
        if someone.sequence is None or not arrivals(session, person_id):
            raise Problem(f"{shown(someone.name)} has not arrived", "Check them in with the card.")
        return Desk(session, person_id).arrive(
            someone, moment(shoot, at), station, find_card(session, card).number
        )


def person_meant(shoot: Shoot, who_text: str) -> Someone:
    """The one person meant, found while other stations may write: looking through a long list takes its time.

    Whoever then writes looks again whether the text still means them.
    """
    with shoot.reading() as session:
        return who(who_text, people(session))
