"""Known people and their corrections, compared with a newer version of the client's list.

A correction made at the door is a CHANGED event with `by` "hand". From then on the field has two values: the
correction, which is the person's value, and the value on the client's list, which only serves to recognise a
change in a newer list. Such a change is recorded under `listed`, and the correction stays, except that a new
refusal to be published wins over the correction because it was given later.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from typing import Any

from sqlmodel import Session

from onsite.roster.name_capitals import in_mixed_case
from onsite.roster.parse_consent import Consent, parse_consent
from onsite.roster.person_names import PARTICLES, fold_name, to_latin
from onsite.roster.roster_entry import RosterEntry
from onsite.store.events import EventKind, read_events

_NEARLY_SAME = 70.0
"""The lowest similarity, of 100, at which a new name under a known key may be a corrected spelling. Own
choice: "Jon Smyth" and "John Smith" pass, two different names do not."""


@dataclass(frozen=True, slots=True)
class KnownPerson:
    """A person of the shoot, as the merge compares them."""

    id: int
    """The person's id in the store."""
    entry: RosterEntry
    """The last known values, corrections included."""
    withdrawn: bool = False
    """No longer on the client's list."""
    walk_in: bool = False
    """Added at the door as a walk-in."""
    corrected_fields: frozenset[str] = frozenset()
    """Fields that were corrected at the door: they stay as they are in `entry`."""
    listed: RosterEntry | None = None
    """The person as the client's list last had them, if that differs."""

    @property
    def as_listed(self) -> RosterEntry:
        """The person as the client's list last had them."""
        return self.listed or self.entry


def with_listed_values(known: Sequence[KnownPerson], entries: Sequence[RosterEntry]) -> list[KnownPerson]:
    """The people in the form in which a newer list is likely to have them.

    That is as the list had them last, or with the corrected name or group if the newer list has adopted it;
    and with names in capitals or not, as in the newer list.
    """
    known = _capitals_alike(known, entries)
    if all(person.listed is None for person in known):
        return list(known)
    by_key = {entry.key: entry for entry in entries if entry.key}
    there = {(fold_name(entry.name), fold_name(entry.group)) for entry in entries}
    names = {fold_name(entry.name) for entry in entries}
    return [person if person.listed is None else _faced(person, by_key, there, names) for person in known]


def _capitals_alike(known: Sequence[KnownPerson], entries: Sequence[RosterEntry]) -> list[KnownPerson]:
    """The people with their names in the order of the newer list, if only one list has surnames in capitals.

    HORVAT Ana and Ana Horvat are one person, Martin James and James Martin are two.
    """
    there = {fold_name(entry.name) for entry in entries}
    in_capitals = {
        fold_name(written.name): entry
        for entry in entries
        if (written := in_mixed_case(entry)) is not None and fold_name(written.name) != fold_name(entry.name)
    }

    def alike(entry: RosterEntry) -> RosterEntry:
        if fold_name(entry.name) in there:
            return entry
        same = in_mixed_case(entry) or entry
        if fold_name(same.name) not in there:
            same = in_capitals.get(fold_name(entry.name), entry)
        return replace(entry, name=same.name, given=same.given, family=same.family)

    return [
        replace(person, entry=alike(person.entry), listed=person.listed and alike(person.listed))
        for person in known
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
    """Whether a new name under a known key may be the same person: a common word, or a similar spelling."""
    words = [
        {word for word in to_latin(entry.name).split() if len(word) > 1 and word not in PARTICLES}
        for entry in (old, new)
    ]
    if fold_name(old.name) == fold_name(new.name) or words[0] & words[1]:
        return True
    from rapidfuzz import fuzz

    return fuzz.token_sort_ratio(to_latin(old.name), to_latin(new.name)) >= _NEARLY_SAME


Difference = tuple[tuple[str, str, str], ...]
"""(field or heading, old value, new value) of each change."""

_PLAIN = ("group", "role", "email", "phone", "slot", "consent", "note", "spoken", "language")


def compare_entries(
    old: RosterEntry, new: RosterEntry, fields: Collection[str]
) -> tuple[RosterEntry, Difference]:
    """The old entry updated from the newer list, and what changed.

    `fields` have a column in the newer list; other fields keep their old value. An empty cell is a change
    like any other, except for `kept_contacts`. Extra columns are matched by their headings.
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
    """The fields that keep their value although the newer list has an empty cell.

    These are addresses, which a list made from another one may have lost, and any consent that is not a yes.
    """
    lost = [name for name in ("email", "phone") if getattr(old, name)]
    if parse_consent(old.consent) in (Consent.NO, Consent.UNCLEAR):
        lost.append("consent")
    return tuple(name for name in lost if name in fields and not getattr(new, name))


def _names(old: RosterEntry, new: RosterEntry, fields: Collection[str]) -> dict[str, str]:
    """The new names and parts of names.

    Parts follow their own columns, or the full name if only that has a column; and the reverse.
    """
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
    """The extra columns: old ones keep their place, and their value unless the newer list has them too."""
    before, after = _numbered(old), _numbered(new)
    merged = before | after
    changed = tuple(
        (heading, before.get((heading, nth), ""), value)
        for (heading, nth), value in after.items()
        if value != before.get((heading, nth), "")
    )
    return tuple((heading, value) for (heading, _), value in merged.items()), changed


def _numbered(extra: tuple[tuple[str, str], ...]) -> dict[tuple[str, int], str]:
    """The extra columns by heading and its occurrence, as two columns may have the same heading."""
    seen: Counter[str] = Counter()
    numbered: dict[tuple[str, int], str] = {}
    for heading, value in extra:
        numbered[heading, seen[heading]] = value
        seen[heading] += 1
    return numbered


CORRECTED_BY = "by"
"""Key in a change's details: who made it, as a text. Changed fields have lists of two, so that a column of
the client's list with the heading "by" is not mistaken for it."""

LISTED = "listed"
"""Key in a change's details: {field: [old, new]} on the client's list where a correction stays."""

NAMES = ("name", "given", "family")


@dataclass(slots=True)
class Corrections:
    """The corrections of one person."""

    fields: set[str] = field(default_factory=set)
    """Fields that keep their corrected value."""
    listed: dict[str, Any] = field(default_factory=dict)
    """Field -> its value on the client's list, if that differs."""


def read_corrections(session: Session) -> dict[int, Corrections]:
    """Person id -> corrections, for people who were corrected or whose name was confirmed.

    The parts of a name stay together: if one was corrected, or the name confirmed, all three stay.
    """
    found: dict[int, Corrections] = defaultdict(Corrections)
    events = read_events(session, (EventKind.CHANGED, EventKind.CONFIRMED))
    for event in events:
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
            found[event.person_id].fields.discard("consent")  # the list has a newer refusal
            found[event.person_id].listed.pop("consent", None)
    return dict(found)


def _correct(corrections: Corrections, details: dict[str, Any]) -> None:
    for name, values in details.items():
        if isinstance(values, list):
            corrections.listed.setdefault(name, values[0])
            corrections.fields.add(name)
    if not corrections.fields.isdisjoint(NAMES):
        corrections.fields.update(NAMES)
