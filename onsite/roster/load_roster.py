"""Loading the client's list into the store: the first one, and every newer version."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path

import sqlalchemy as sa
from sqlmodel import Session, func, select

from onsite.core.codes import new_code
from onsite.core.errors import Problem
from onsite.core.text import escaped
from onsite.roster.consent_answers import ConsentSense
from onsite.roster.consent_columns import CONSENT_WORDS, ConsentQuestion, open_questions_problem
from onsite.roster.find_people import RosterPerson
from onsite.roster.known_people import LISTED, Corrections, Difference, KnownPerson, read_corrections
from onsite.roster.list_column_options import (
    ColumnMap,
    ListDecisions,
    read_list_decisions,
    save_list_decisions,
)
from onsite.roster.merge_lists import plan_merge
from onsite.roster.merge_plan import (
    EntryChange,
    MergePlan,
    MergeQuestion,
    withdrawal_doubt,
    withdrawal_problem,
)
from onsite.roster.name_capitals import CapitalisedNames
from onsite.roster.parse_consent import Consent, parse_consent
from onsite.roster.read_list import ListReading, columns_used, read_roster
from onsite.roster.read_list_table import column_letter
from onsite.roster.read_people import (
    arrived_ids,
    asks_consent,
    codes_taken,
    read_people,
    record_consent_asked,
)
from onsite.roster.roster_entry import FIELDS, ListNotice, RosterEntry
from onsite.store.events import EventKind, add_event
from onsite.store.schema import Person, PersonState
from onsite.store.shoot import Shoot


@dataclass(frozen=True, slots=True)
class LoadedList:
    """What loading a list did, or would do.

    `changed` and `restored` hold (field, old, new); `unchanged` is a count. `refused` are the rows left out,
    which are among the `notices` too. `columns` are (letter, heading, field or empty).
    """

    added: tuple[RosterEntry, ...]
    changed: tuple[EntryChange, ...]
    restored: tuple[EntryChange, ...]
    withdrawn: tuple[RosterPerson, ...]
    unchanged: int
    questions: tuple[MergeQuestion, ...]
    notices: tuple[ListNotice, ...]
    refused: tuple[ListNotice, ...]
    columns: tuple[tuple[str, str, str], ...]
    consents: tuple[tuple[Consent, int], ...] = ()
    """The number of people with each consent; empty if the list has no column about consent."""
    senses: tuple[tuple[str, ConsentSense], ...] = ()
    """(letter, sense) of the columns about consent."""
    asks_consent: bool = False
    """Whether this list has answers about consent, or one loaded before had."""
    consent_questions: tuple[ConsentQuestion, ...] = ()
    """Questions about columns to be answered before the list can be loaded."""
    capitals: CapitalisedNames = field(default_factory=CapitalisedNames)
    doubt: str = ""
    """What speaks against withdrawing so many, or these people."""


def load_list(
    shoot: Shoot,
    path: Path,
    sheet: str | None = None,
    maps: Iterable[ColumnMap] = (),
    dry_run: bool = False,
    station: str = "",
    answers: Mapping[int, int | None] | None = None,
    withdraw: bool = True,
    capitals: str = "",
    drop_totals: bool = False,
) -> LoadedList:
    """Updates the roster from a list, all of it or nothing. Nobody is deleted: missing people are withdrawn.

    What the list does not settle becomes a question, and nobody in it changes; `answers` settles questions
    (`plan_merge`). `dry_run` only reports what would happen. `maps` and `capitals` (`read_roster`) are
    remembered for newer versions; `drop_totals` holds for this one. Raises Problem for a list that cannot be
    read, for one with open questions about consent, and without `withdraw` for one that would withdraw many
    people, or any who have arrived.
    """
    with shoot.reading() as session:
        before = read_list_decisions(session)
    capitals = capitals or before.capitals
    reading = read_roster(path, sheet, maps, before.maps, capitals, drop_totals)
    if reading.questions and not dry_run:
        raise open_questions_problem(reading.questions, escaped(Path(path).name))
    with shoot.reading() if dry_run else shoot.writing() as session:
        plan = plan_merge(
            known_people(session),
            [_separated(entry) for entry in reading.entries],
            reading.mapping.fields,
            answers,
        )
        gone = set(plan.withdrawn)
        everybody = read_people(session)
        withdrawn = tuple(person for person in everybody if person.id in gone)
        doubt = withdrawal_doubt(withdrawn, arrived_ids(session), everybody)
        if doubt and not withdraw and not dry_run:
            raise withdrawal_problem(doubt)
        loaded = _loaded(reading, plan, withdrawn)
        asks = _has_answers(loaded.consents) or asks_consent(session)
        loaded = replace(loaded, doubt=doubt, asks_consent=asks)
        if not dry_run:
            _apply(session, shoot, plan, station)
            save_list_decisions(session, ListDecisions(reading.mapping.maps, capitals))
            if _has_answers(loaded.consents):
                record_consent_asked(session)
        return loaded


def known_people(session: Session) -> list[KnownPerson]:
    """Everybody as the merge compares them, without generated keys, which the client's list cannot have."""
    corrections = read_corrections(session)
    plain = [name for name in FIELDS if name != "key"]
    wanted = sa.select(
        Person.id,
        Person.own_key,
        Person.walk_in,
        Person.key,
        Person.extra,
        PersonState.withdrawn,
        *(getattr(Person, name) for name in plain),
    ).outerjoin(PersonState, PersonState.person_id == Person.id)
    known = []
    for person_id, own_key, walk_in, key, extra, withdrawn, *values in session.execute(
        wanted.where(PersonState.removed.is_not(True))
    ):
        entry = RosterEntry(
            key="" if own_key else key, extra=tuple(extra.items()), **dict(zip(plain, values, strict=True))
        )
        corrected = corrections.get(person_id, _UNTOUCHED)
        listed = replace(entry, **corrected.listed) if corrected.listed else None
        known.append(
            KnownPerson(person_id, entry, bool(withdrawn), walk_in, frozenset(corrected.fields), listed)
        )
    return known


_UNTOUCHED = Corrections()


def _kept_corrections(plan: MergePlan) -> tuple[ListNotice, ...]:
    """Notices about values of the list that differ from corrections at the door; the corrections stay."""
    return tuple(
        ListNotice(
            again.row,
            f"{name} of {escaped(again.name)}: the list now says {escaped(listed) or 'nothing'};"
            f" {escaped(hand) or 'nothing'} was said at the door and stays",
        )
        for again in plan.relisted
        for name, listed, hand in again.reported
        if name not in ("given", "family") or not any(other == "name" for other, _, _ in again.reported)
    )


def _kept_known(plan: MergePlan) -> tuple[ListNotice, ...]:
    """Notices about values that an empty cell does not remove, one for each field."""
    notices = []
    for name in dict.fromkeys(lost for lost, _ in plan.kept):
        whose = [person for lost, person in plan.kept if lost == name]
        listed = ", ".join(map(escaped, whose[:5])) + (" …" if len(whose) > 5 else "")
        notices.append(
            ListNotice(0, f"{name} is empty in this list and what is known stays: {len(whose)} ({listed})")
        )
    return tuple(notices)


def _loaded(reading: ListReading, plan: MergePlan, withdrawn: tuple[RosterPerson, ...]) -> LoadedList:
    return LoadedList(
        added=plan.added,
        changed=plan.changed,
        restored=plan.restored,
        withdrawn=withdrawn,
        unchanged=len(plan.unchanged),
        questions=plan.questions,
        notices=tuple(
            sorted(
                (*reading.notices, *_kept_known(plan), *_kept_corrections(plan)),
                key=lambda notice: notice.row,
            )
        ),
        refused=reading.refused,
        columns=tuple(columns_used(reading)),
        consents=_consents(reading),
        consent_questions=reading.questions,
        capitals=reading.capitals,
        senses=tuple((column_letter(column.column), column.sense) for column in reading.mapping.consents),
    )


def _has_answers(consents: Iterable[tuple[Consent, int]]) -> bool:
    return any(count for answer, count in consents if answer is not Consent.UNKNOWN)


def consent_text(loaded: LoadedList) -> str:
    """Who may be published by a list, in a sentence."""
    listed = ", ".join(f"{count} {CONSENT_WORDS[answer]}" for answer, count in loaded.consents if count)
    if loaded.consent_questions:
        return f"not settled{listed and f'; so far {listed}'}."
    if not loaded.asks_consent:
        return "no answer in this list, so everybody on it may be published."
    if not _has_answers(loaded.consents):
        return "no answer in this list; what was said before stays, and nobody new may be published."
    return f"{listed}."


def _consents(reading: ListReading) -> tuple[tuple[Consent, int], ...]:
    if not reading.mapping.consents:
        return ()
    counted = Counter(parse_consent(entry.consent) for entry in reading.entries)
    return tuple((answer, counted[answer]) for answer in Consent)


def _separated(entry: RosterEntry) -> RosterEntry:
    """The entry with a unique heading for each extra column: "Remark", "Remark (2)"."""
    seen: Counter[str] = Counter()
    there = {heading for heading, _ in entry.extra}
    extra: list[tuple[str, str]] = []
    for heading, value in entry.extra:
        seen[heading] += 1
        own = heading
        while seen[heading] > 1 and own in there:
            own = f"{heading} ({seen[heading]})"
            seen[heading] += own in there
        there.add(own)
        extra.append((own, value))
    return replace(entry, extra=tuple(extra))


def _apply(session: Session, shoot: Shoot, plan: MergePlan, station: str) -> None:
    now = shoot.now()
    changes = (*plan.changed, *plan.restored)
    new_keys = {change.id: change.entry.key for change in changes if change.entry.key}
    rows = {person.id: person for person in session.exec(select(Person))}
    keys = _Keys(session, rows.values())
    keys.take_from_own([*(entry.key for entry in plan.added), *new_keys.values()], new_keys.keys())
    for person, old, new in keys.moved:
        _changed(session, now, station, person, (("key", old, new),))
    _refuse_double_keys(plan, rows.values())
    for person_id, key in new_keys.items():
        if rows[person_id].key != key:  # two people may swap keys, and keys must stay unique in between
            rows[person_id].key = f"\n{person_id}"
    session.flush()
    for change in changes:
        _update(rows[change.id], change.entry)
        if change.fields:
            _changed(session, now, station, rows[change.id], change.fields)
    for again in plan.relisted:
        said = {LISTED: {name: [old, new] for name, old, new in again.fields}}
        add_event(session, EventKind.CHANGED, now, station=station, person_id=again.id).details = said
    for change in plan.restored:
        add_event(session, EventKind.LISTED, now, station=station, person_id=change.id)
    for person_id in plan.withdrawn:
        add_event(session, EventKind.WITHDRAWN, now, station=station, person_id=person_id)
    codes = codes_taken(session)
    added = [_person(entry, keys, _new_code(codes, shoot.mark)) for entry in plan.added]
    session.add_all(added)
    session.flush()
    for person in added:
        add_event(session, EventKind.LISTED, now, station=station, person_id=person.id)


def _new_code(taken: set[str], mark: str) -> str:
    """A new code, which is added to `taken`."""
    code = new_code(mark, taken)
    taken.add(code)
    return code


class _Keys:
    """The keys in use, and generated keys for people to whom the client's list gives none."""

    def __init__(self, session: Session, rows: Iterable[Person]) -> None:
        self._rows = list(rows)
        self._taken = {person.key.casefold() for person in self._rows}
        self._next = (session.exec(select(func.max(Person.id))).one() or 0) + 1
        self.moved: list[tuple[Person, str, str]] = []

    def take_from_own(self, clients: Iterable[str], changing: Collection[int]) -> None:
        """Gives a new key to everybody whose generated key is a key on the client's list."""
        wanted = {key for key in clients if key}
        self._taken |= {key.casefold() for key in wanted}
        for person in self._rows:
            if person.own_key and person.key in wanted and person.id not in changing:
                old, person.key = person.key, self.made()
                self.moved.append((person, old, person.key))

    def made(self) -> str:
        while f"p{self._next}" in self._taken:
            self._next += 1
        key = f"p{self._next}"
        self._taken.add(key)
        return key


def _refuse_double_keys(plan: MergePlan, rows: Iterable[Person]) -> None:
    """Raises Problem if two people would get one key; only answers to questions can cause that."""
    changing = {change.id: change.entry for change in (*plan.changed, *plan.restored)}
    entries = [*plan.added, *changing.values()]
    after = Counter(entry.key for entry in entries if entry.key)
    after.update(person.key for person in rows if person.id not in changing)
    double = [key for key, count in after.items() if count > 1]
    if double:
        raise Problem(
            f"Key {escaped(double[0])} would belong to two people.",
            "Answer the questions about it otherwise.",
        )


def _person(entry: RosterEntry, keys: _Keys, code: str) -> Person:
    person = Person(key=entry.key or keys.made(), own_key=not entry.key, name=entry.name, code=code)
    _update(person, entry)
    return person


def _update(person: Person, entry: RosterEntry) -> None:
    if entry.key:
        person.key, person.own_key = entry.key, False
    for name in FIELDS:
        if name != "key":
            setattr(person, name, getattr(entry, name))
    person.extra = dict(entry.extra)


def _changed(session: Session, now: datetime, station: str, person: Person, fields: Difference) -> None:
    """Records a change; headings are free text such as "station", so they are not passed as keywords."""
    details: dict[str, list[str]] = {}
    for name, old, new in fields:
        details[name if name not in details else f"{name} (column)"] = [old, new]
    add_event(session, EventKind.CHANGED, now, station=station, person_id=person.id).details = details
