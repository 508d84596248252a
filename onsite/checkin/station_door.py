"""Checking in at a station whose server comes and goes; what was kept is recorded when it is back.

All that a journal keeps is recorded in one transaction, after which the file goes. Killed in between, it does
nothing twice.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Protocol

from sqlmodel import Session, select

from onsite.checkin.check_in import check_in_person, record_slate_shown
from onsite.checkin.offline_journal import KeptAct, OfflineJournal, journal_of, reserve_offline_journal
from onsite.checkin.waiting_people import OFFLINE_NUMBERS, Arrival, ArrivalDesk
from onsite.checkin.walk_ins_and_corrections import (
    WALK_IN_TEXTS,
    add_walk_in,
    free_key,
    record_walk_in,
    walk_in_fields,
)
from onsite.core.codes import SlateCode, new_code
from onsite.core.errors import NoServer, Problem
from onsite.core.text import plural
from onsite.roster.find_people import RosterPerson
from onsite.roster.person_names import fold_name
from onsite.roster.read_people import TakenCodes, read_people
from onsite.roster.roster_groups import resolve_group
from onsite.store.events import EventKind, add_event, read_events
from onsite.store.schema import EventRow, Person, SequenceNumber
from onsite.store.shoot import Shoot

_UNANSWERED = timedelta(seconds=10)
"""The longest that a write waits for a server that has gone: 3 s in the middle of it and 3 s for another
connection (`database_engine`), and some for a busy machine."""


@dataclass(slots=True)
class RecordedActs:
    """What became of the acts when the server was back."""

    recorded: int = 0
    renumbered: list[tuple[str, int, int]] = field(default_factory=list)
    """(name, the number given here, the number that they had from another station): the second one counts."""
    refused: list[str] = field(default_factory=list)
    """Deck cards that could not be assigned, and why."""


class StatusesAtHand(Protocol):
    """What a station knows of the shoot without its server."""

    @property
    def groups(self) -> Collection[str]: ...
    @property
    def codes(self) -> Collection[str]: ...
    @property
    def cards(self) -> Collection[str]: ...


class StationDoor:
    """Checking people in at a station, whether its server answers or not."""

    def __init__(self, shoot: Shoot) -> None:
        self.shoot = shoot
        self._journal = journal_of(shoot.folder) if shoot.settings.store else None
        self._is_reserved = False

    def server_answers(self) -> str | None:
        """Record what was kept, now that the store can be reached; returns a message if there was anything.

        The first time, it also sees to numbers for when the server is gone.
        """
        if not self._is_reserved:
            self._journal, self._is_reserved = reserve_offline_journal(self.shoot), True
        return None if self._journal is None else recorded_text(record_journal(self._journal, self.shoot))

    def kept_arrivals(self, people: Iterable[RosterPerson]) -> list[Arrival]:
        """Everybody who is kept as arrived: of these people, and walk-ins."""
        return [] if self._journal is None else self._journal.arrivals(people)

    def check_in(self, person: RosterPerson, station: str, card: str | int | None = None) -> Arrival:
        """Check a person in; without its server at this station only, until it is back."""
        try:
            return check_in_person(self.shoot, person.id, station, card)
        except NoServer:
            if self._journal is None:
                raise
            return self._journal.arrive(person, self.shoot.now(), station, card)

    def walk_in(
        self, typed: Mapping[str, str], station: str, known: StatusesAtHand, new_group: bool = False
    ) -> Arrival:
        """Add a walk-in and check them in; without its server at this station only, until it is back.

        `typed` are the texts of the form. Raises as `add_walk_in` does.
        """
        texts = {name: typed[name] for name in WALK_IN_TEXTS}
        card = typed["card"] or None
        try:
            return add_walk_in(
                self.shoot,
                texts["given"],
                texts["family"],
                texts["group"],
                texts["email"],
                card,
                station=station,
                consent=texts["consent"],
                new_group=new_group,
            )
        except NoServer:
            if self._journal is None:
                raise
            fields = walk_in_fields(texts)
            fields["group"] = resolve_group(fields["group"], known.groups, new_group)
            code = new_code(self.shoot.mark, {*known.codes, *known.cards})
            return self._journal.walk_in(fields, code, self.shoot.now(), station, card)

    def slate_shown(self, person: RosterPerson, station: str) -> datetime:
        """Record that a slate was shown; returns when."""
        try:
            return record_slate_shown(self.shoot, person.id, station)
        except NoServer:
            if self._journal is None:
                raise
            at = self.shoot.now()
            self._journal.slate_shown(person.id, at, station)
            return at


def record_journal(journal: OfflineJournal, shoot: Shoot) -> RecordedActs:
    """Write all that is kept into the store. Raises Problem where that fails; then it stays kept."""
    done, walk_ins = RecordedActs(), dict[int, int]()
    with journal.taken() as acts:
        if acts:
            with shoot.writing() as session:
                for act in acts:
                    _record(session, act, done, walk_ins)
    return done


def _record(session: Session, act: KeptAct, done: RecordedActs, walk_ins: dict[int, int]) -> None:
    """Write an act; `walk_ins` are the ids that those of this journal have in the store by now."""
    at = datetime.fromisoformat(act.at)
    if act.walk_in is not None and act.person not in walk_ins:
        walk_ins[act.person] = _walk_in_id(session, act, at, done, set(walk_ins.values()))
    person_id = walk_ins.get(act.person, act.person)
    if person_id < 0 and (recorded := _by_number(session, -person_id)) is not None:
        person_id = recorded.id  # a walk-in who was recorded with an earlier journal
    there = read_events(session, [act.kind], person_id=person_id, undone_too=True)
    if any((event.at, event.station) == (at, act.station) for event in there):
        return  # recorded already, right before this program was killed
    for person in read_people(session, (person_id,)):
        if act.kind is EventKind.SLATE_SHOWN:
            add_event(session, act.kind, at, station=act.station, person_id=person_id)
        else:
            _record_arrival(session, act, person, done)
        session.flush()
        done.recorded += 1
        return
    who = "Somebody whose slate was shown" if act.number is None else f"Number {act.number}"
    done.refused.append(f"{who} has been removed since.")


def _walk_in_id(
    session: Session, act: KeptAct, at: datetime, done: RecordedActs, others: Collection[int]
) -> int:
    """The id of a walk-in of the journal, who is written into the store if they are not there yet; they are
    none of the `others`."""
    assert act.walk_in is not None
    assert act.number is not None
    fields, taken = dict(act.walk_in), TakenCodes(session)
    holder = _by_number(session, act.number)
    if holder is not None and holder.walk_in and _is_same(holder, fields):
        return holder.id
    if (added := _added_unanswered(session, fields, at, act.station, others)) is not None:
        return added
    if fields["code"] in taken:
        fields["code"] = new_code(SlateCode(fields["code"]).shoot, taken)
        done.refused.append(
            f"{fields['name']} has a new slate: the first one was also somebody else's."
            " Show the new one, and check the frames taken with the first."
        )
    fields["key"] = free_key(session, fields["key"])
    arrival = record_walk_in(session, fields, at, act.station, number=None if holder else act.number)
    if arrival.sequence != act.number:
        done.renumbered.append((arrival.person.name, act.number, arrival.sequence))
    done.recorded += 1
    _assign_card(session, act, arrival.person, done)
    return arrival.person.id


def _by_number(session: Session, number: int) -> Person | None:
    of_number = select(Person).where(Person.id == SequenceNumber.person_id, SequenceNumber.number == number)
    return session.exec(of_number).first()


def _is_same(person: Person, fields: Mapping[str, str]) -> bool:
    """Whether this is the walk-in, whose name may have been corrected since."""
    return person.code == fields["code"] or fold_name(person.name) == fold_name(fields["name"])


def _added_unanswered(
    session: Session, fields: Mapping[str, str], at: datetime, station: str, others: Collection[int]
) -> int | None:
    """The id of a walk-in whom the store has although the server went before it could say so.

    All that was typed is the same, or it is somebody else, who may have answered otherwise about consent.
    """
    here = EventRow.station == station, EventRow.at >= at - _UNANSWERED, EventRow.at <= at
    for event in read_events(session, [EventKind.ARRIVED], *here):
        person = session.get(Person, event.person_id)
        if person is None or not person.walk_in or person.id in others:
            continue
        is_typed_alike = all(getattr(person, name) == fields[name] for name in WALK_IN_TEXTS)
        if is_typed_alike and event.details["sequence"] < OFFLINE_NUMBERS:
            return person.id
    return None


def _record_arrival(session: Session, act: KeptAct, person: RosterPerson, done: RecordedActs) -> None:
    at = datetime.fromisoformat(act.at)
    arrival = ArrivalDesk(session, person.id).arrive(person, at, act.station, number=act.number)
    if act.number is not None and arrival.sequence != act.number:
        done.renumbered.append((person.name, act.number, arrival.sequence))
    _assign_card(session, act, arrival.person, done)


def _assign_card(session: Session, act: KeptAct, person: RosterPerson, done: RecordedActs) -> None:
    if act.card is not None:
        session.flush()
        try:
            ArrivalDesk(session, person.id).arrive(
                person, datetime.fromisoformat(act.at), act.station, act.card
            )
        except Problem as problem:
            done.refused.append(f"{person.name}: {problem.what}")


def recorded_text(done: RecordedActs) -> str | None:
    """What became of what was kept, as a message; None where there was nothing."""
    if not (done.recorded or done.refused):
        return None
    saved = plural(done.recorded, "check-in or slate", "check-ins and slates")
    kept = f"The server is back. {saved} from that time {'is' if done.recorded == 1 else 'are'} saved."
    numbers = [f"{name} has number {right}, not {given}." for name, given, right in done.renumbered]
    return " ".join([kept, *numbers, *done.refused])
