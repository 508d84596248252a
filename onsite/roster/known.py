"""The people already known, as a newer list may have them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

from onsite.roster.capitals import as_written
from onsite.roster.entry import Entry
from onsite.roster.names import PARTICLES, fold, latin

_NEARLY_SAME = 70.0
"""Likeness of two whole names, of 100, from which a keyed person's new name may be a corrected spelling. Own
choice: "Jon Smyth" and "John Smith" pass, two unlike names do not."""


@dataclass(frozen=True, slots=True)
class Known:
    """A person of the shoot: `id` in the store, what was last known, whether withdrawn, whether a walk-in.

    The fields `by_hand` were put right by a hand and stay as they are in `entry`; `listed` is the person as
    the client's list last had them, where that is something else.
    """

    id: int
    entry: Entry
    withdrawn: bool = False
    walk_in: bool = False
    by_hand: frozenset[str] = frozenset()
    listed: Entry | None = None

    @property
    def as_listed(self) -> Entry:
        return self.listed or self.entry


def as_the_list_has_them(known: Sequence[Known], entries: Sequence[Entry]) -> list[Known]:
    """The people as they are looked for in a newer list: as it had them last, or, where it has taken that
    over, with the name or group that a hand has put right; and with the names in capitals or not, as in the
    newer list."""
    known = _capitals_alike(known, entries)
    if all(one.listed is None for one in known):
        return list(known)
    by_key = {entry.key: entry for entry in entries if entry.key}
    there = {(fold(entry.name), fold(entry.group)) for entry in entries}
    names = {fold(entry.name) for entry in entries}
    return [one if one.listed is None else _faced(one, by_key, there, names) for one in known]


def _capitals_alike(known: Sequence[Known], entries: Sequence[Entry]) -> list[Known]:
    """The people with their names in the order of the newer list, where only one of the two has surnames in
    capitals: HORVAT Ana and Ana Horvat are one person, Martin James and James Martin are two."""
    there = {fold(entry.name) for entry in entries}
    in_capitals = {
        fold(written.name): entry
        for entry in entries
        if (written := as_written(entry)) is not None and fold(written.name) != fold(entry.name)
    }

    def alike(one: Entry) -> Entry:
        if fold(one.name) in there:
            return one
        written = as_written(one) or one
        same = written if fold(written.name) in there else in_capitals.get(fold(one.name), one)
        return replace(one, name=same.name, given=same.given, family=same.family)

    return [replace(one, entry=alike(one.entry), listed=one.listed and alike(one.listed)) for one in known]


def _faced(one: Known, by_key: dict[str, Entry], there: set[tuple[str, str]], names: set[str]) -> Known:
    listed, hand = one.as_listed, one.entry
    faces = [
        replace(listed, name=name.name, given=name.given, family=name.family, group=group.group)
        for name, group in product((listed, hand), repeat=2)
    ]
    under_key = by_key.get(one.entry.key) if one.entry.key else None
    if under_key is not None:
        fitting = [face for face in faces if fold(face.name) == fold(under_key.name)]
        fitting += [face for face in faces if may_be_same(face, under_key)]
    else:
        fitting = [face for face in faces if (fold(face.name), fold(face.group)) in there]
        fitting += [face for face in faces if fold(face.name) in names]
    return replace(one, entry=(fitting or faces)[0])


def may_be_same(old: Entry, new: Entry) -> bool:
    """Whether a keyed person's new name can be theirs: a word in common, or a similar spelling."""
    words = [
        {word for word in latin(entry.name).split() if len(word) > 1 and word not in PARTICLES}
        for entry in (old, new)
    ]
    if fold(old.name) == fold(new.name) or words[0] & words[1]:
        return True
    from rapidfuzz import fuzz

    return fuzz.token_sort_ratio(latin(old.name), latin(new.name)) >= _NEARLY_SAME
