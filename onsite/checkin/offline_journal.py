"""A station that has lost its server goes on: arrivals and slates shown are kept on its own disk.

Each folder of a shoot on a server has a thousand sequence numbers of its own for that time, so that no number
is given twice, whatever else happens at other stations. `record` writes what was kept into the store once the
server is back: in one transaction, after which the file goes. Killed in between, it does nothing twice.
"""

from __future__ import annotations

import json
import os
from dataclasses import asdict, dataclass, field, replace
from datetime import datetime
from pathlib import Path
from secrets import token_hex

from filelock import FileLock
from sqlmodel import Session, func, select

from onsite.checkin.check_in import check_in_person, record_slate_shown
from onsite.checkin.waiting_people import OFFLINE_NUMBERS, Arrival, ArrivalDesk
from onsite.core.errors import NoServer, Problem
from onsite.core.text import plural
from onsite.roster.find_people import RosterPerson
from onsite.roster.read_people import read_person
from onsite.store.events import EventKind, add_event, read_events
from onsite.store.schema import Meta
from onsite.store.shoot import Shoot

NUMBERS = 1_000
"""Sequence numbers that a station may give without its server."""

_FOLDER, _FILE, _MARK = "private", "offline.jsonl", "station-mark"
_RESERVED = "offline numbers "
"""Beginning of the keys in `Meta` that give a station its numbers."""


@dataclass(frozen=True, slots=True)
class KeptAct:
    """Something that happened while the server was gone."""

    kind: EventKind
    """ARRIVED or SLATE_SHOWN."""
    person: int
    at: str
    """ISO 8601 with an offset."""
    station: str
    number: int | None = None
    """The sequence number that was given to whoever arrived."""
    card: str | None = None
    """The deck card that they were given, as typed."""


@dataclass(slots=True)
class RecordedActs:
    """What became of the acts when the server was back."""

    recorded: int = 0
    renumbered: list[tuple[str, int, int]] = field(default_factory=list)
    """(name, the number given here, the number that they had from another station): the second one counts."""
    refused: list[str] = field(default_factory=list)
    """Deck cards that could not be assigned, and why."""


class OfflineJournal:
    """The acts of one station that are not in the store yet."""

    def __init__(self, folder: Path, first_number: int) -> None:
        self._path = folder / _FOLDER / _FILE
        self._numbers = range(first_number, first_number + NUMBERS)
        self._lock = FileLock(f"{self._path}.lock")

    def arrive(self, person: RosterPerson, at: datetime, station: str, card: str | int | None) -> Arrival:
        """Keep an arrival; on return it is on the disk. Raises Problem where the numbers are used up."""
        with self._lock:
            acts = self.acts()
            before = next((a for a in acts if a.kind is EventKind.ARRIVED and a.person == person.id), None)
            if before is not None and before.number is not None and card is None:
                there = replace(person, sequence=before.number)
                at = datetime.fromisoformat(before.at)
                return Arrival(there, before.number, at, before.station, is_repeated=True, is_offline=True)
            number = before.number if before else person.sequence
            if number is None:
                number = self._next_number()
            typed = None if card is None else str(card)
            self._add(KeptAct(EventKind.ARRIVED, person.id, at.isoformat(), station, number, typed))
        return Arrival(replace(person, sequence=number), number, at, station, is_offline=True)

    def slate_shown(self, person_id: int, at: datetime, station: str) -> None:
        """Keep that a slate was shown."""
        with self._lock:
            self._add(KeptAct(EventKind.SLATE_SHOWN, person_id, at.isoformat(), station))

    def acts(self) -> list[KeptAct]:
        """All that is kept. A line that was cut short when the machine went down was never confirmed."""
        try:
            lines = self._path.read_text(encoding="utf-8").splitlines(keepends=True)
        except FileNotFoundError:
            return []
        rows = (json.loads(line) for line in lines if line.endswith("\n"))
        return [KeptAct(EventKind(row.pop("kind")), **row) for row in rows]

    def record(self, shoot: Shoot) -> RecordedActs:
        """Write all that is kept into the store. Raises Problem where that fails; then it stays kept."""
        done = RecordedActs()
        with self._lock:
            acts = self.acts()
            if acts:
                with shoot.writing() as session:
                    for act in acts:
                        _record(session, act, done)
                self._path.unlink()
        return done

    def _next_number(self) -> int:
        last = self._path.with_suffix(".last")
        number = int(last.read_text()) + 1 if last.exists() else self._numbers.start
        if number not in self._numbers:
            raise Problem(
                "This station has given all numbers that it may give without the server.",
                "Write arrivals down, and type them in when the server is back: onsite checkin --from",
            )
        _write(last, str(number), "w")
        return number

    def _add(self, act: KeptAct) -> None:
        _write(self._path, json.dumps(asdict(act)) + "\n", "a")


class StationDoor:
    """Checking people in at a station, whether its server answers or not."""

    def __init__(self, shoot: Shoot) -> None:
        self.shoot = shoot
        self._journal: OfflineJournal | None = None

    def server_answers(self) -> str | None:
        """Record what was kept, now that the store can be reached; returns a message if there was anything.

        The first time, it also sees to numbers for when the server is gone.
        """
        if self._journal is None:
            self._journal = reserve_offline_journal(self.shoot)
        return None if self._journal is None else recorded_text(self._journal.record(self.shoot))

    def check_in(self, person: RosterPerson, station: str, card: str | int | None = None) -> Arrival:
        """Check a person in; without its server at this station only, until it is back."""
        try:
            return check_in_person(self.shoot, person.id, station, card)
        except NoServer:
            if self._journal is None:
                raise
            return self._journal.arrive(person, self.shoot.now(), station, card)

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


def recorded_text(done: RecordedActs) -> str | None:
    """What became of what was kept, as a message; None where there was nothing."""
    if not (done.recorded or done.refused):
        return None
    kept = f"The server is back. Recorded from meanwhile: {plural(done.recorded, 'act')}."
    numbers = [f"{name} has number {right}, not {given}." for name, given, right in done.renumbered]
    return " ".join([kept, *numbers, *done.refused])


def reserve_offline_journal(shoot: Shoot) -> OfflineJournal | None:
    """The journal of this folder, with numbers of its own; None where the shoot is on no server."""
    if not shoot.settings.store:
        return None
    mark = shoot.folder / _FOLDER / _MARK
    if not mark.exists():
        _write(mark, token_hex(8), "w")
    key = _RESERVED + mark.read_text()
    with shoot.writing() as session:
        reserved = session.get(Meta, key)
        if reserved is None:
            stations = session.exec(select(func.count()).where(Meta.key.startswith(_RESERVED))).one()
            reserved = Meta(key=key, value=str(OFFLINE_NUMBERS + stations * NUMBERS))
            session.add(reserved)
        return OfflineJournal(shoot.folder, int(reserved.value))


def _record(session: Session, act: KeptAct, done: RecordedActs) -> None:
    at, person = datetime.fromisoformat(act.at), read_person(session, act.person)
    there = read_events(session, [act.kind], person_id=act.person, undone_too=True)
    if any((event.at, event.station) == (at, act.station) for event in there):
        return  # recorded already, right before this program was killed
    if act.kind is EventKind.SLATE_SHOWN:
        add_event(session, act.kind, at, station=act.station, person_id=act.person)
    else:
        desk = ArrivalDesk(session, act.person)
        arrival = desk.arrive(person, at, act.station, number=act.number)
        if act.number is not None and arrival.sequence != act.number:
            done.renumbered.append((person.name, act.number, arrival.sequence))
        if act.card is not None:
            try:
                desk.arrive(arrival.person, at, act.station, act.card)
            except Problem as problem:
                done.refused.append(f"{person.name}: {problem.what}")
    session.flush()
    done.recorded += 1


def _write(path: Path, text: str, mode: str) -> None:
    path.parent.mkdir(mode=0o700, exist_ok=True)
    with path.open(mode, encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
