"""A station that has lost its server goes on: arrivals, walk-ins and slates shown are kept on its own disk.

Each folder of a shoot on a server has a thousand sequence numbers of its own for that time, so that no number
is given twice, whatever else happens at other stations. `station_door` records what was kept once the server
is back.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from pathlib import Path
from secrets import token_hex

from filelock import FileLock
from sqlmodel import func, select

from onsite.checkin.waiting_people import OFFLINE_NUMBERS, Arrival
from onsite.core.errors import Problem
from onsite.files.atomic_write import write_atomic, write_problem
from onsite.roster.find_people import RosterPerson
from onsite.roster.publication_consent import decide_publication
from onsite.store.events import EventKind
from onsite.store.schema import Meta, SequenceNumber
from onsite.store.shoot import Shoot

NUMBERS = 1_000
"""Sequence numbers that a station may give without its server."""

_FOLDER, _FILE, _MARK, _FIRST = "private", "offline.jsonl", "station-mark", "offline.first"
_ON_PAPER = "Write arrivals down, and type them in when the server is back: onsite checkin --from"
_RESERVED = "offline numbers "
"""Beginning of the keys in `Meta` that give a station its numbers."""


@dataclass(frozen=True, slots=True)
class KeptAct:
    """Something that happened while the server was gone."""

    kind: EventKind
    """ARRIVED or SLATE_SHOWN."""
    person: int
    """Their id; of a walk-in who is not in the store yet, one below zero that means them in this journal."""
    at: str
    """ISO 8601 with an offset."""
    station: str
    number: int | None = None
    """The sequence number that was given to whoever arrived."""
    card: str | None = None
    """The deck card that they were given, as typed."""
    walk_in: dict[str, str] | None = None
    """The fields of a walk-in, with code and key, in the act of their arrival."""


class OfflineJournal:
    """The acts of one station that are not in the store yet."""

    def __init__(self, folder: Path, first_number: int) -> None:
        self._path = folder / _FOLDER / _FILE
        self._last = self._path.with_suffix(".last")
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

    def walk_in(
        self, fields: dict[str, str], code: str, at: datetime, station: str, card: str | None
    ) -> Arrival:
        """Keep the arrival of somebody who is not on the list, as `arrive` does."""
        with self._lock:
            number = self._next_number()
            fields = {**fields, "code": code, "key": f"walkin-{number}"}
            self._add(KeptAct(EventKind.ARRIVED, -number, at.isoformat(), station, number, card, fields))
        return Arrival(_walk_in(number, fields), number, at, station, is_offline=True)

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

    def arrivals(self, people: Iterable[RosterPerson]) -> list[Arrival]:
        """Everybody who is kept as arrived: of these people, and walk-ins."""
        known, kept = {person.id: person for person in people}, dict[int, Arrival]()
        for act in self.acts():
            if act.walk_in is not None and act.number is not None:
                known[act.person] = _walk_in(act.number, act.walk_in)
            if act.kind is EventKind.ARRIVED and act.number is not None and act.person in known:
                person = replace(known[act.person], sequence=act.number)
                at = datetime.fromisoformat(act.at)
                kept.setdefault(act.person, Arrival(person, act.number, at, act.station, is_offline=True))
        return list(kept.values())

    @contextmanager
    def taken(self) -> Iterator[list[KeptAct]]:
        """All that is kept, to be recorded: at the end it is kept no longer, except after an error."""
        with self._lock:
            acts = self.acts()
            yield acts
            if acts:
                self._path.unlink()

    def resume_numbers(self, recorded: int) -> None:
        """See to it that the next number is above all that were given here: `recorded` is the last of them
        that the store has, 0 for none. Raises Problem."""
        with self._lock:
            before = [recorded, self._numbers.start - 1]
            with suppress(Problem):
                before.append(self._last_number())
            _replace(self._last, str(max(before)))

    def _next_number(self) -> int:
        number = self._last_number() + 1
        if number not in self._numbers:
            raise Problem(
                "This station has given all numbers that it may give without the server.", _ON_PAPER
            )
        _replace(self._last, str(number))
        return number

    def _last_number(self) -> int:
        with suppress(FileNotFoundError, ValueError):
            number = int(self._last.read_text())
            if (
                number + 1 >= self._numbers.start and number < self._numbers.stop
            ):  # else from an earlier thousand
                return number
        given = [act.number for act in self.acts() if act.number in self._numbers]
        if not given:  # numbers only grow: any that is kept is above those that were recorded
            raise Problem("This station no longer knows which numbers it gave without the server.", _ON_PAPER)
        return max(filter(None, given))

    def _add(self, act: KeptAct) -> None:
        with _writing(self._path):
            with suppress(FileNotFoundError):
                content = self._path.read_bytes()
                if not content.endswith(b"\n"):  # a line cut short must not take the next one with it
                    os.truncate(self._path, content.rfind(b"\n") + 1)
            with self._path.open("a", encoding="utf-8") as file:
                file.write(json.dumps(asdict(act)) + "\n")
                file.flush()
                os.fsync(file.fileno())


def _walk_in(number: int, fields: dict[str, str]) -> RosterPerson:
    return RosterPerson(
        -number,
        fields["key"],
        fields["code"],
        number,
        fields["name"],
        fields["given"],
        fields["family"],
        fields["group"],
        publication=decide_publication(fields["consent"], asked=False, walk_in=True),
    )


def reserve_offline_journal(shoot: Shoot) -> OfflineJournal | None:
    """The journal of this folder, with numbers of its own; None where the shoot is on no server."""
    if not shoot.settings.store:
        return None
    mark = shoot.folder / _FOLDER / _MARK
    if not mark.exists():
        _replace(mark, token_hex(8))
    key = _RESERVED + mark.read_text()
    with shoot.writing() as session:
        reserved = session.get(Meta, key)
        if reserved is None:
            stations = session.exec(select(func.count()).where(Meta.key.startswith(_RESERVED))).one()
            reserved = Meta(key=key, value=str(OFFLINE_NUMBERS + stations * NUMBERS))
            session.add(reserved)
        first, number = int(reserved.value), SequenceNumber.number
        of_ours = select(func.max(number)).where(number >= first, number < first + NUMBERS)
        recorded = session.exec(of_ours).one() or 0
    journal = OfflineJournal(shoot.folder, first)
    journal.resume_numbers(recorded)
    _replace(shoot.folder / _FOLDER / _FIRST, reserved.value)  # for an opening without the server
    return journal


def journal_of(folder: Path) -> OfflineJournal | None:
    """The journal of this folder, as it was reserved before."""
    try:
        return OfflineJournal(folder, int((folder / _FOLDER / _FIRST).read_text()))
    except (OSError, ValueError):
        return None


def _replace(path: Path, text: str) -> None:
    """Writes the whole file anew. Raises Problem where that fails; then it stays as it was."""
    with _writing(path):
        write_atomic(path, text.encode())


@contextmanager
def _writing(path: Path) -> Iterator[None]:
    """Raises Problem where the file cannot be written; its folder is made."""
    try:
        path.parent.mkdir(mode=0o700, exist_ok=True)
        yield
    except OSError as error:
        raise write_problem(path, error) from error
