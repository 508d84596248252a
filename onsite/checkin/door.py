"""At the door: somebody of the list arrives, and it is taken back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select

from onsite.checkin.cards import find_card
from onsite.checkin.desk import Arrival, Desk, arrivals, moment
from onsite.problems import Problem
from onsite.roster.find import Someone, who
from onsite.roster.people import people, person_of
from onsite.store.record import AFTERWARDS, REMOVED, Happening, Kind, add, happened
from onsite.store.shoot import Shoot
from onsite.store.tables import Card, Person, Verdict
from onsite.words import counted, escaped

__all__ = [
    "Arrival",
    "TakenBack",
    "check_in",
    "check_in_person",
    "person_meant",
    "spoken_taken_back",
    "tie_card",
    "undo",
    "undo_person",
]


@dataclass(frozen=True, slots=True)
class TakenBack:
    """An arrival that no longer counts: when it was, and the numbers of the cards that came with it.

    Somebody on the list keeps their sequence number for when they arrive after all. A walk-in is `removed`
    from the shoot: `frames` is how many frames had their name, and nobody gets their number again.
    """

    person: Someone
    sequence: int | None
    at: datetime
    cards: tuple[int, ...] = ()
    removed: bool = False
    frames: int = 0


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
    """Takes back the arrival of the one person meant, with the cards tied to them since. A walk-in is not in
    the shoot any more then.

    Raises Problem when they have not arrived, and for a walk-in who has frames by hand, proofs or picks.
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
    ever = happened(session, person_id=someone.id)
    events = [event for event in ever if event.kind in kinds]
    arrived = [event for event in events if event.kind is Kind.ARRIVED]
    if not arrived:
        raise Problem(f"{escaped(someone.name)} has not arrived", "There is nothing to take back.")
    first = min(event.id for event in arrived)
    undone = [event for event in events if event.id >= first]
    cards = [event.card_id for event in undone if event.card_id is not None]
    undoes = sorted(event.id for event in undone)
    removed = _is_only_walk_in(session, someone, ever)
    frames = _frames_lost(session, someone, ever) if removed else 0
    undo = add(session, Kind.UNDONE, shoot.now(), station=station, person_id=someone.id, undoes=undoes)
    if removed:
        undo.details = {"undoes": undoes, REMOVED: True}
    numbers = sorted({session.get_one(Card, card_id).number for card_id in cards})
    return TakenBack(someone, someone.sequence, arrived[0].at, tuple(numbers), removed, frames)


def _is_only_walk_in(session: Session, someone: Someone, ever: Sequence[Happening]) -> bool:
    """Whether somebody is here as a walk-in, and was never on the client's list."""
    return session.get_one(Person, someone.id).walk_in and all(one.kind is not Kind.LISTED for one in ever)


def _frames_lost(session: Session, someone: Someone, ever: Sequence[Happening]) -> int:
    """How many frames have the name of a walk-in who is to be removed, as last matched. Raises Problem where
    something else than their slates hangs on them."""
    by_hand: dict[int, Happening] = {}
    for event in happened(session, (Kind.GIVEN, Kind.SET_ASIDE, Kind.FREED)):
        if event.frame_id is not None and event.id >= by_hand.get(event.frame_id, event).id:
            by_hand[event.frame_id] = event
    given = sum(one.kind is Kind.GIVEN and one.person_id == someone.id for one in by_hand.values())
    name = escaped(someone.name)
    if given:
        raise Problem(
            f"{name} is a walk-in, and {counted(given, 'frame was', 'frames were')} given to them by hand.",
            "Give these frames to somebody else, or free them; then take the walk-in back.",
        )
    if any(one.kind in AFTERWARDS for one in ever):
        raise Problem(
            f"{name} is a walk-in who has proofs or picks already, and stays.",
            "Correct the name if it is wrong: Ctrl+O at the door.",
        )
    named = (col(Verdict.person_id) == someone.id) & (col(Verdict.kind) == "named")
    return len(set(session.exec(select(Verdict.frame_id).where(named))) - by_hand.keys())


def spoken_taken_back(back: TakenBack) -> str:
    """What was taken back, in words for whoever stands at the door."""
    cards = f" Card {', '.join(map(str, back.cards))} is free." if back.cards else ""
    if not back.removed:
        return f"{back.person.name} is expected again; number {back.sequence} stays theirs.{cards}"
    lost = counted(back.frames, "frame with this name is", "frames with this name are")
    frames = f" {lost} nobody's now." if back.frames else ""
    gone = f"{back.person.name}, a walk-in, is taken off again; number {back.sequence} is not used any more."
    return gone + cards + frames


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
            raise Problem(f"{escaped(someone.name)} has not arrived", "Check them in with the card.")
        return Desk(session, person_id).arrive(
            someone, moment(shoot, at), station, find_card(session, card).number
        )


def person_meant(shoot: Shoot, who_text: str) -> Someone:
    """The one person meant, found while other stations may write: looking through a long list takes its time.

    Whoever then writes looks again whether the text still means them.
    """
    with shoot.reading() as session:
        return who(who_text, people(session))
