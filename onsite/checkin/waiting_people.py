"""Arrivals, and the queue of those who have arrived and were not photographed yet."""

from __future__ import annotations

from bisect import insort_right
from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Generic, Protocol, TypeVar

from sqlmodel import Session, func, select

from onsite.checkin.deck_cards import find_deck_card, holder_at, read_card_assignments
from onsite.core.errors import Problem
from onsite.roster.find_people import RosterPerson
from onsite.store.events import EventKind, add_event
from onsite.store.schema import DeckCard, Person, PersonState, SequenceNumber
from onsite.store.shoot import Shoot

OFFLINE_NUMBERS = 20_001
"""The first sequence number that is given only while a server is gone (`offline_journal`): twice as many
people as the largest client has come before it."""


@dataclass(frozen=True, slots=True)
class Arrival:
    """A person who has arrived.

    `at` and `station` are those of the arrival in force, also when it was `is_repeated` there. `card` is the
    number of the deck card assigned now, `card_before` the name of its previous holder.
    """

    person: RosterPerson
    sequence: int
    at: datetime
    station: str
    is_repeated: bool = False
    card: int | None = None
    card_before: str | None = None
    same_name: tuple[str, ...] = ()
    """Of a walk-in: the keys of known people with the same name."""
    event: int | None = None
    """The id of the arrival's event."""
    is_offline: bool = False
    """Kept at the station until its server is back."""

    @property
    def withdrawn(self) -> bool:
        """No longer on the client's list, but here."""
        return self.person.withdrawn


class ArrivalDesk:
    """The state at the door, read once in a write session and kept up to date with what is added to it.

    With `person_id` only that person may arrive; other people's arrivals are not read.
    """

    def __init__(self, session: Session, person_id: int | None = None) -> None:
        self._session = session
        self._arrived = arrivals(session, person_id)
        self._numbers: dict[int, int] = {}
        number = SequenceNumber.number
        self._last = session.exec(select(func.max(number)).where(number < OFFLINE_NUMBERS)).one() or 0
        self._cards: dict[str, DeckCard] = {}
        self._tied: dict[str, list[tuple[datetime, int]]] = {}

    def arrive(
        self,
        person: RosterPerson,
        at: datetime,
        station: str = "",
        card: str | int | None = None,
        number: int | None = None,
    ) -> Arrival:
        """Checks a person in and assigns the deck card to them. Raises Problem for an unknown card.

        `number` was given to them while the server was gone; whoever has one already keeps that.
        """
        tied = self._card(card) if card is not None else None
        given, number = number, self._numbers.get(person.id, person.sequence)
        if number is None:
            if given is None:
                given = self._last = self._last + 1
            number = given
            self._session.add(SequenceNumber(number=number, person_id=person.id))
        self._numbers[person.id] = number
        person = replace(person, sequence=number)
        here = self._arrived.get(person.id)
        if here is None:
            event = add_event(
                self._session, EventKind.ARRIVED, at, station=station, person_id=person.id, sequence=number
            )
            self._session.flush()
            here = self._arrived[person.id] = (at, station, event.id)
            arrival = Arrival(person, number, at, station, event=event.id)
        else:
            arrival = Arrival(person, number, here[0], here[1], is_repeated=True, event=here[2])
        if tied is None:
            return arrival
        return replace(arrival, card=tied.number, card_before=self.assign_card(tied, person, at, station))

    def _card(self, text: str | int) -> DeckCard:
        typed = str(text).strip()
        if typed not in self._cards:
            self._cards[typed] = find_deck_card(self._session, typed)
        return self._cards[typed]

    def assign_card(self, card: DeckCard, person: RosterPerson, at: datetime, station: str) -> str | None:
        """Assigns a deck card unless the person already holds it; returns its previous holder's name."""
        at = at.astimezone(UTC)  # times of one zone compare as wall time, which repeats when summer ends
        if card.code not in self._tied:
            self._tied |= {card.code: [], **read_card_assignments(self._session, (card.code,))}
        of_card = self._tied[card.code]
        holder = holder_at(of_card, at)
        if holder == person.id:
            return None
        add_event(
            self._session, EventKind.CARD_TIED, at, station=station, person_id=person.id, card_id=card.id
        )
        insort_right(of_card, (at, person.id), key=lambda tie: tie[0])
        return self._session.get_one(Person, holder).name if holder is not None else None


def arrivals(session: Session, person_id: int | None = None) -> dict[int, tuple[datetime, str, int | None]]:
    """Person id -> when and where they arrived, and the event of it; of everybody who is here, or of one
    person."""
    wanted = select(PersonState.person_id, PersonState.arrived, PersonState.station, PersonState.arrival)
    if person_id is not None:
        wanted = wanted.where(PersonState.person_id == person_id)
    return {row[0]: (row[1], row[2], row[3]) for row in session.exec(wanted) if row[1] is not None}


def arrival_time(shoot: Shoot, at: datetime | None) -> datetime:
    """The time of an arrival in the shoot's zone.

    None gives the current time; a time without an offset is local to the shoot. Raises Problem for a year
    that is not near the shoot's.
    """
    if at is None:
        return shoot.now()
    try:
        aware = at.replace(tzinfo=shoot.zone) if at.tzinfo is None else at
        local = aware.astimezone(UTC).astimezone(shoot.zone)
    except OverflowError as error:
        raise Problem(f"{at.isoformat()} is not a time that a shoot can have.", "Check the year.") from error
    if abs(local.year - shoot.day.year) > 1:
        raise Problem(
            f"{local:%Y-%m-%d %H:%M} is not a time of this shoot, which is on {shoot.day}.",
            "Check the year, or the date in shoot.toml.",
        )
    return local


class InQueue(Protocol):
    """What the queue needs to know about a person."""

    @property
    def person(self) -> RosterPerson: ...
    @property
    def arrived(self) -> datetime | None: ...
    @property
    def arrival(self) -> int | None: ...
    @property
    def frames(self) -> int: ...


T = TypeVar("T", bound=InQueue)


@dataclass(frozen=True, slots=True)
class WaitingPerson(Generic[T]):
    """A person in the queue, and how many seconds they have waited."""

    status: T
    seconds: float


def waiting_people(
    statuses: Iterable[T], now: datetime, without: Collection[int] = ()
) -> list[WaitingPerson[T]]:
    """The people who have arrived and have no frames, in order of arrival; the first is next on set.

    `without` are the ids of people who are on set now, such as the person whose slate was shown last.
    """
    here = [
        (s.arrived, s.person.sequence or 0, s)
        for s in statuses
        if s.arrived is not None and not s.frames and s.person.id not in without
    ]
    here.sort(key=lambda row: row[:2])
    return [WaitingPerson(s, max(0.0, (now - arrived).total_seconds())) for arrived, _, s in here]


def recent_arrivals(statuses: Iterable[T], limit: int) -> list[T]:
    """The most recent check-ins, the last first, whatever time of arrival was entered."""
    here = [s for s in statuses if s.arrived is not None]
    here.sort(key=lambda s: (s.arrival or 0, s.arrived), reverse=True)
    return here[:limit]
