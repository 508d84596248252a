"""Merging a newer list into the known people: who is the same, what changed, and open questions.

A wrong merge gives one person's pictures to another, so whatever the two lists do not settle is a question,
and nobody in a question is changed.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple, TypeVar

from onsite.core.text import escaped
from onsite.roster.known_people import KnownPerson, kept_contacts, may_be_same, with_listed_values
from onsite.roster.merge_plan import EntryChange, MergePlan, MergeQuestion, RelistedPerson, updated_entry
from onsite.roster.person_names import fold_name
from onsite.roster.roster_entry import FIELDS, RosterEntry

T = TypeVar("T")
K = TypeVar("K", bound=Hashable)

_PERSONAL = ("email", "phone")
"""Fields that two people with the same name do not share."""


class _Pair(NamedTuple):
    known: KnownPerson
    entry: RosterEntry


@dataclass(slots=True)
class _MergeWork:
    """What is left to settle, and what was settled."""

    known: list[KnownPerson]
    entries: list[RosterEntry]
    fields: frozenset[str]
    pairs: list[_Pair] = field(default_factory=list)
    added: list[RosterEntry] = field(default_factory=list)
    questions: list[MergeQuestion] = field(default_factory=list)

    def pair(self, known: KnownPerson, entry: RosterEntry) -> None:
        self.pairs.append(_Pair(known, entry))

    def ask(self, text: str, known: Sequence[KnownPerson], entries: Sequence[RosterEntry]) -> None:
        row = min((entry.row for entry in entries), default=0)
        self.questions.append(MergeQuestion(row, text, tuple(entries), tuple(person.id for person in known)))

    def drop_settled(self) -> None:
        """Removes everybody who was paired, added or asked about from what is left."""
        gone_ids = {pair.known.id for pair in self.pairs} | {i for asked in self.questions for i in asked.ids}
        gone = {id(pair.entry) for pair in self.pairs} | {id(entry) for entry in self.added}
        gone |= {id(entry) for asked in self.questions for entry in asked.entries}
        self.known = [person for person in self.known if person.id not in gone_ids]
        self.entries = [entry for entry in self.entries if id(entry) not in gone]


def plan_merge(
    known: Sequence[KnownPerson],
    entries: Sequence[RosterEntry],
    fields: Iterable[str] = FIELDS,
    answers: Mapping[int, int | None] | None = None,
) -> MergePlan:
    """Plans the merge of a newer list.

    `fields` have a column in the newer list: other fields keep their old value. `answers` settles questions:
    row of the list -> id of the same known person, or None for a new person. People are matched by key; else
    by name and group; else by name alone if that is unique on both sides and nothing speaks against it.
    People who agree in every value are paired in order if both lists have the same number of them. A
    corrected person is matched by either spelling, and the correction stays.
    """
    in_order = sorted(known, key=lambda person: person.id)
    apart = [replace(entry) for entry in entries]  # two equal entries are distinct objects
    work = _MergeWork(with_listed_values(in_order, entries), apart, frozenset(fields))
    everybody, whole_list = tuple(work.known), tuple(work.entries)
    steps: tuple[Callable[[], None], ...] = (
        lambda: _apply_answers(work, answers or {}),
        lambda: _match_keys(work),
        lambda: _match_names(work, str),
        lambda: _match_names(work, fold_name),
        lambda: _match_names_alone(work, everybody, whole_list),
        lambda: _join_questions(work, everybody),
    )
    for step in steps:
        step()
        work.drop_settled()
    return _plan(work, {person.id: person for person in known})


def _apply_answers(work: _MergeWork, answers: Mapping[int, int | None]) -> None:
    by_id = {person.id: person for person in work.known}
    for entry in work.entries:
        if entry.row in answers:
            answer = answers[entry.row]
            if answer is None:
                work.added.append(entry)
            elif answer in by_id:
                work.pair(by_id.pop(answer), entry)


def _match_keys(work: _MergeWork) -> None:
    known = _by(work.known, lambda person: person.entry.key)
    entries = _by(work.entries, lambda entry: entry.key)
    keys_of_known = _by(work.known, lambda person: fold_name(person.entry.name))
    keys_of_new = _by(work.entries, lambda entry: fold_name(entry.name))
    for key in known.keys() & entries.keys() - {""}:
        if len(known[key]) > 1 or len(entries[key]) > 1:
            work.ask(f"key {escaped(key)} is there more than once", known[key], entries[key])
            continue
        person, entry = known[key][0], entries[key][0]
        moved = fold_name(person.entry.name) != fold_name(entry.name) and (
            any(other.key and other.key != key for other in keys_of_new.get(fold_name(person.entry.name), ()))
            or any(other.entry.key not in ("", key) for other in keys_of_known.get(fold_name(entry.name), ()))
        )
        if moved or not may_be_same(person.entry, entry):
            text = (
                f"key {escaped(key)} was {_who(person.entry)} and is now {_who(entry)}: "
                "a new spelling, or somebody else under an old key?"
            )
            work.ask(text, [person], [entry])
        else:
            work.pair(person, entry)
    for key in entries.keys() - known.keys() - {""}:
        if len(entries[key]) > 1:
            work.ask(f"key {escaped(key)} is there more than once", [], entries[key])


def _match_names(work: _MergeWork, same: Callable[[str], str]) -> None:
    """Matches by name and group; by name alone in lists without a column of groups."""
    with_group = "group" in work.fields

    def bucket(entry: RosterEntry) -> tuple[str, str]:
        return same(entry.name), same(entry.group) if with_group else ""

    known = _by(work.known, lambda person: bucket(person.entry))
    entries = _by(work.entries, bucket)
    for name in [name for name in entries if name in known]:
        _settle(work, known[name], entries[name])


def _settle(work: _MergeWork, known: list[KnownPerson], entries: list[RosterEntry]) -> None:
    """Pairs people with one name and group as far as the lists distinguish them."""
    if all(person.entry.key for person in known) and all(entry.key for entry in entries):
        active = [person for person in known if not person.withdrawn]
        if active:
            keys = ", ".join(escaped(person.entry.key) for person in active)
            new = ", ".join(escaped(entry.key) for entry in entries)
            work.ask(f"{_who(entries[0])} had key {keys} and now {new}: the same person?", active, entries)
        return
    known, entries = _pair_alike(work, known, entries)
    for personal in _PERSONAL:
        known, entries = _pair_by_field(work, known, entries, personal)
    if not known or not entries:
        return
    if len(known) == len(entries) == 1 and _compatible(known[0], entries[0]):
        work.pair(known[0], entries[0])
        return
    text = f"{_who(entries[0])}: {len(known)} known, {len(entries)} in the list, and nothing tells who is who"
    work.ask(text, known, entries)


def _pair_alike(
    work: _MergeWork, known: list[KnownPerson], entries: list[RosterEntry]
) -> tuple[list[KnownPerson], list[RosterEntry]]:
    """Pairs people who agree in everything else, if both sides have the same number; returns the others."""
    headings = sorted({heading for entry in entries for heading, _ in entry.extra})
    compared = sorted(
        work.fields & {"role", "email", "phone", "slot", "consent", "note", "spoken", "language"}
    )

    def content(entry: RosterEntry) -> tuple[str, ...]:
        extra = dict(entry.extra)
        return (
            *(getattr(entry, name) for name in compared),
            *(extra.get(heading, "") for heading in headings),
        )

    by_content = _by(known, lambda person: content(person.entry))
    for same, alike in _by(entries, content).items():
        there = by_content.get(same, [])
        if len(there) == len(alike) and all(
            _compatible(person, entry) for person in there for entry in alike
        ):
            for person, entry in zip(there, alike, strict=True):
                work.pair(person, entry)
            known = [person for person in known if person not in there]
            entries = [entry for entry in entries if all(entry is not other for other in alike)]
    return known, entries


def _pair_by_field(
    work: _MergeWork, known: list[KnownPerson], entries: list[RosterEntry], personal: str
) -> tuple[list[KnownPerson], list[RosterEntry]]:
    if personal not in work.fields:
        return known, entries
    by_value = _by(known, lambda person: fold_name(getattr(person.entry, personal)))
    for value, same in _by(entries, lambda entry: fold_name(getattr(entry, personal))).items():
        there = by_value.get(value, [])
        if value and len(there) == len(same) == 1 and _compatible(there[0], same[0]):
            work.pair(there[0], same[0])
            known = [person for person in known if person is not there[0]]
            entries = [entry for entry in entries if entry is not same[0]]
    return known, entries


def _match_names_alone(
    work: _MergeWork, everybody: Sequence[KnownPerson], whole_list: Sequence[RosterEntry]
) -> None:
    """Matches names that are unique on both sides, unless the groups differ and no address agrees."""
    count_known = Counter(fold_name(person.entry.name) for person in everybody)
    count_new = Counter(fold_name(entry.name) for entry in whole_list)
    known = _by(work.known, lambda person: fold_name(person.entry.name))
    for name, entries in _by(work.entries, lambda entry: fold_name(entry.name)).items():
        there = [
            person for person in known.get(name, []) if any(_compatible(person, entry) for entry in entries)
        ]
        asked = [entry for entry in entries if any(_compatible(person, entry) for person in there)]
        if not there:
            continue
        is_unique = count_known[name] == count_new[name] == 1
        if is_unique and _agree(there[0].entry, asked[0]):
            work.pair(there[0], asked[0])
        else:
            before = " and ".join(_who(person.entry) for person in there[:4])
            now = " and ".join(_who(entry) for entry in asked[:4])
            work.ask(
                f"{before} before, {now} now: a new group, or somebody else of the same name?", there, asked
            )


def _agree(old: RosterEntry, new: RosterEntry) -> bool:
    if any(
        getattr(old, name) and fold_name(getattr(old, name)) == fold_name(getattr(new, name))
        for name in _PERSONAL
    ):
        return True
    return not old.group or not new.group


def _join_questions(work: _MergeWork, everybody: Sequence[KnownPerson]) -> None:
    """Asks about everybody left with the name of a person in a question: either may be that person."""
    by_id = {person.id: person for person in everybody}
    left_known = _by(work.known, lambda person: fold_name(person.entry.name))
    left_entries = _by(work.entries, lambda entry: fold_name(entry.name))
    for question in list(work.questions):
        names = {fold_name(entry.name) for entry in question.entries}
        names |= {fold_name(by_id[number].entry.name) for number in question.ids}
        for name in sorted(names):
            known, entries = left_known.pop(name, []), left_entries.pop(name, [])
            if known or entries:
                who = _who(entries[0] if entries else known[0].entry)
                work.ask(f"{who} has the name of somebody in another question", known, entries)


def _plan(work: _MergeWork, known: Mapping[int, KnownPerson]) -> MergePlan:
    changed: list[EntryChange] = []
    restored: list[EntryChange] = []
    unchanged: list[int] = []
    relisted: list[RelistedPerson] = []
    stays_known: list[tuple[str, str]] = []
    for item, entry in work.pairs:
        merged, fields, again = updated_entry(known[item.id], entry, work.fields)
        stays_known += [
            (name, merged.name) for name in kept_contacts(known[item.id].as_listed, entry, work.fields)
        ]
        if again is not None:
            relisted.append(again)
        if item.withdrawn:
            restored.append(EntryChange(item.id, merged, fields))
        elif fields:
            changed.append(EntryChange(item.id, merged, fields))
        else:
            unchanged.append(item.id)
    stays = [item.id for item in work.known if item.walk_in or item.withdrawn]
    asked = [number for question in work.questions for number in question.ids]
    return MergePlan(
        added=tuple(work.added + work.entries),
        changed=tuple(sorted(changed, key=lambda change: change.id)),
        restored=tuple(sorted(restored, key=lambda change: change.id)),
        withdrawn=tuple(item.id for item in work.known if not item.walk_in and not item.withdrawn),
        unchanged=tuple(sorted(unchanged)),
        untouched=tuple(sorted(stays + asked)),
        questions=tuple(sorted(work.questions, key=lambda question: (question.row, question.text))),
        relisted=tuple(sorted(relisted, key=lambda again: again.id)),
        kept=tuple(sorted(stays_known)),
    )


def _compatible(known: KnownPerson, entry: RosterEntry) -> bool:
    """Whether an entry may be a known person: two different keys are two people."""
    return not (known.entry.key and entry.key and known.entry.key != entry.key)


def _who(entry: RosterEntry) -> str:
    return f"{escaped(entry.name)} ({escaped(entry.group)})" if entry.group else escaped(entry.name)


def _by(items: Iterable[T], key: Callable[[T], K]) -> dict[K, list[T]]:
    grouped: dict[K, list[T]] = defaultdict(list)
    for item in items:
        grouped[key(item)].append(item)
    return dict(grouped)
