"""The people already known, as a newer list may have them."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from typing import Any

from sqlmodel import Session

from onsite.roster.consent import Consent, parse_consent
from onsite.roster.name_capitals import in_mixed_case
from onsite.roster.person_names import PARTICLES, fold_name, to_latin
from onsite.roster.roster_entry import RosterEntry
from onsite.store.events import EventKind, read_events

_NEARLY_SAME = 70.0
"""Likeness of two whole names, of 100, from which a keyed person's new name may be a corrected spelling. Own
choice: "Jon Smyth" and "John Smith" pass, two unlike names do not."""


@dataclass(frozen=True, slots=True)
class KnownPerson:
    """A person of the shoot: `id` in the store, what was last known, whether withdrawn, whether a walk-in.

    The fields `corrected_fields` were put right by a hand and stay as they are in `entry`; `listed` is the
    person as the client's list last had them, where that is something else.
    """

    id: int
    entry: RosterEntry
    withdrawn: bool = False
    walk_in: bool = False
    corrected_fields: frozenset[str] = frozenset()
    listed: RosterEntry | None = None

    @property
    def as_listed(self) -> RosterEntry:
        return self.listed or self.entry


def with_listed_values(known: Sequence[KnownPerson], entries: Sequence[RosterEntry]) -> list[KnownPerson]:
    """The people as they are looked for in a newer list: as it had them last, or, where it has taken that
    over, with the name or group that a hand has put right; and with the names in capitals or not, as in the
    newer list."""
    known = _capitals_alike(known, entries)
    if all(person.listed is None for person in known):
        return list(known)
    by_key = {entry.key: entry for entry in entries if entry.key}
    there = {(fold_name(entry.name), fold_name(entry.group)) for entry in entries}
    names = {fold_name(entry.name) for entry in entries}
    return [person if person.listed is None else _faced(person, by_key, there, names) for person in known]


def _capitals_alike(known: Sequence[KnownPerson], entries: Sequence[RosterEntry]) -> list[KnownPerson]:
    """The people with their names in the order of the newer list, where only one of the two has surnames in
    capitals: HORVAT Ana and Ana Horvat are one person, Martin James and James Martin are two."""
    there = {fold_name(entry.name) for entry in entries}
    in_capitals = {
        fold_name(written.name): entry
        for entry in entries
        if (written := in_mixed_case(entry)) is not None and fold_name(written.name) != fold_name(entry.name)
    }

    def alike(entry_or_person: RosterEntry) -> RosterEntry:
        if fold_name(entry_or_person.name) in there:
            return entry_or_person
        written = in_mixed_case(entry_or_person) or entry_or_person
        same = (
            written
            if fold_name(written.name) in there
            else in_capitals.get(fold_name(entry_or_person.name), entry_or_person)
        )
        return replace(entry_or_person, name=same.name, given=same.given, family=same.family)

    return [
        replace(
            entry_or_person,
            entry=alike(entry_or_person.entry),
            listed=entry_or_person.listed and alike(entry_or_person.listed),
        )
        for entry_or_person in known
    ]


def _faced(
    person: KnownPerson, by_key: dict[str, RosterEntry], there: set[tuple[str, str]], names: set[str]
) -> KnownPerson:
    listed, hand = person.as_listed, person.entry
    faces = [
        replace(listed, name=name.name, given=name.given, family=name.family, group=group.group)
        for name, group in product((listed, hand), repeat=2)
    ]
    under_key = by_key.get(person.entry.key) if person.entry.key else None
    if under_key is not None:
        fitting = [face for face in faces if fold_name(face.name) == fold_name(under_key.name)]
        fitting += [face for face in faces if may_be_same(face, under_key)]
    else:
        fitting = [face for face in faces if (fold_name(face.name), fold_name(face.group)) in there]
        fitting += [face for face in faces if fold_name(face.name) in names]
    return replace(person, entry=(fitting or faces)[0])


def may_be_same(old: RosterEntry, new: RosterEntry) -> bool:
    """Whether a keyed person's new name can be theirs: a word in common, or a similar spelling."""
    words = [
        {word for word in to_latin(entry.name).split() if len(word) > 1 and word not in PARTICLES}
        for entry in (old, new)
    ]
    if fold_name(old.name) == fold_name(new.name) or words[0] & words[1]:
        return True
    from rapidfuzz import fuzz

    return fuzz.token_sort_ratio(to_latin(old.name), to_latin(new.name)) >= _NEARLY_SAME


# TODO What a newer list says differently about one person.

Difference = tuple[tuple[str, str, str], ...]
"""(field or heading, old value, new value) of what changed."""

_PLAIN = ("group", "role", "email", "phone", "slot", "consent", "note", "spoken", "language")


def compare_entries(
    old: RosterEntry, new: RosterEntry, fields: Collection[str]
) -> tuple[RosterEntry, Difference]:
    """The old entry brought up to date, and what changed in it.

    `fields` have a column in the newer list; the others keep their old value. An empty cell is a change like
    any other, except that it takes nothing away of what is `kept`. Other columns count by their headings in
    the new entry.
    """
    values = {"key": new.key} if new.key else {}
    values |= _names(old, new, fields)
    stays = kept_contacts(old, new, fields)
    values |= {name: getattr(new, name) for name in _PLAIN if name in fields and name not in stays}
    changed = tuple(
        (name, getattr(old, name), value) for name, value in values.items() if value != getattr(old, name)
    )
    extra, changed_extra = _extra(old.extra, new.extra)
    return replace(old, **values, extra=extra, row=new.row), changed + changed_extra


def kept_contacts(old: RosterEntry, new: RosterEntry, fields: Collection[str]) -> tuple[str, ...]:
    """What is known and stays although the newer list has an empty cell there: an address, which a list made
    from another one may have lost, and whatever is said of consent that is not a yes."""
    lost = [name for name in ("email", "phone") if getattr(old, name)]
    if parse_consent(old.consent) in (Consent.NO, Consent.UNCLEAR):
        lost.append("consent")
    return tuple(name for name in lost if name in fields and not getattr(new, name))


def _names(old: RosterEntry, new: RosterEntry, fields: Collection[str]) -> dict[str, str]:
    """The parts follow their own columns, or the full name when only that has one; and vice versa."""
    parts = {name: getattr(new, name) for name in ("given", "family") if name in fields}
    if "name" in fields:
        if new.name == old.name:
            return parts
        return {"name": new.name, "given": new.given, "family": new.family}
    if all(value == getattr(old, name) for name, value in parts.items()):
        return {}
    return {"name": new.name, **parts}


def _extra(
    old: tuple[tuple[str, str], ...], new: tuple[tuple[str, str], ...]
) -> tuple[tuple[tuple[str, str], ...], Difference]:
    """Old columns keep their place and their value unless the newer list has them too."""
    before, after = _numbered(old), _numbered(new)
    merged = before | after
    changed = tuple(
        (heading, before.get((heading, nth), ""), value)
        for (heading, nth), value in after.items()
        if value != before.get((heading, nth), "")
    )
    return tuple((heading, value) for (heading, _), value in merged.items()), changed


def _numbered(extra: tuple[tuple[str, str], ...]) -> dict[tuple[str, int], str]:
    """By heading and by its how-many-th: two columns may have the same heading."""
    seen: Counter[str] = Counter()
    numbered: dict[tuple[str, int], str] = {}
    for heading, value in extra:
        numbered[heading, seen[heading]] = value
        seen[heading] += 1
    return numbered


# TODO What hands have put right at the door, so that no list puts it wrong again.
# TODO
# TODO A correction is a change in the record with `by` "hand". From then on two values of that field are
# known: the TODO hand's, which the person has, and the one on the client's list, which only tells a newer
# list from an old one. TODO When a newer list says something new there, the record notes it under `listed`.
# Only a refusal to be published TODO that is new on the list goes before the hand's word: it was given later.

CORRECTED_BY = "by"
"""In a change's details: who made it, as a text. What changed has lists of two, so that a column of the
client's that is called "by" is not mistaken for it."""

LISTED = "listed"
"""In a change's details: {field: [old, new]} of what the client's list says where a hand's word stays."""

NAMES = ("name", "given", "family")


@dataclass(slots=True)
class Corrections:
    """Of one person: the fields that stay as a hand has put them, and what the client's list has there,
    where that is something else."""

    fields: set[str] = field(default_factory=set)
    listed: dict[str, str] = field(default_factory=dict)


def read_corrections(session: Session) -> dict[int, Corrections]:
    """By person, for those whom a hand corrected or whose name was confirmed.

    The parts of a name stay together: where one was put right, or the name confirmed, all three stay.
    """
    found: dict[int, Corrections] = defaultdict(Corrections)
    events = read_events(session, (EventKind.CHANGED, EventKind.CONFIRMED))
    for event in sorted(events, key=lambda event: event.id):
        if event.person_id is None:
            continue
        if event.kind is EventKind.CONFIRMED:
            found[event.person_id].fields.update(NAMES)
        elif event.details.get(CORRECTED_BY) == "hand":
            _correct(found[event.person_id], event.details)
        elif isinstance(event.details.get(LISTED), dict):
            for name, (_, new) in event.details[LISTED].items():
                found[event.person_id].listed[name] = new
        elif isinstance(event.details.get("consent"), list) and event.person_id in found:
            found[event.person_id].fields.discard("consent")  # the list has refused since
            found[event.person_id].listed.pop("consent", None)
    return dict(found)


def _correct(corrections: Corrections, details: dict[str, Any]) -> None:
    for name, values in details.items():
        if isinstance(values, list):
            corrections.listed.setdefault(name, values[0])
            corrections.fields.add(name)
    if not corrections.fields.isdisjoint(NAMES):
        corrections.fields.update(NAMES)
