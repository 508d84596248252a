"""At the door: somebody of the list arrives, and it is taken back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from onsite.checkin.desk import Arrival, Desk, moment
from onsite.problems import Problem
from onsite.roster.entry import shown
from onsite.roster.find import Someone, who
from onsite.roster.people import people
from onsite.store.record import Kind, add, happened
from onsite.store.shoot import Shoot
from onsite.store.tables import Card

__all__ = ["Arrival", "TakenBack", "check_in", "undo"]


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
    with shoot.writing() as session:
        someone = who(who_text, people(session))
        return Desk(session, someone.id).arrive(someone, moment(shoot, at), station, card)


def undo(shoot: Shoot, who_text: str, station: str = "") -> TakenBack:
    """Takes back the arrival of the one person meant, with the cards tied to them since.

    Raises Problem when they have not arrived.
    """
    with shoot.writing() as session:
        someone = who(who_text, people(session))
        events = happened(session, (Kind.ARRIVED, Kind.CARD_TIED), person_id=someone.id)
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
