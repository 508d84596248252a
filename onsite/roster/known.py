"""The people already known, as a newer list may have them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

from onsite.roster.capitals import in_mixed_case
from onsite.roster.entry import RosterEntry
from onsite.roster.names import PARTICLES, fold_name, to_latin

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
