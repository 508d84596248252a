"""What a newer list changes, and the check of a list that would withdraw many people."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from onsite.core.errors import Problem
from onsite.core.text import escaped, plural
from onsite.roster.find_people import RosterPerson
from onsite.roster.known_people import Difference, KnownPerson, compare_entries
from onsite.roster.parse_consent import Consent, parse_consent
from onsite.roster.roster_entry import RosterEntry


@dataclass(frozen=True, slots=True)
class EntryChange:
    """A known person's new values, and the changes (field, old, new)."""

    id: int
    entry: RosterEntry
    fields: Difference


@dataclass(frozen=True, slots=True)
class RelistedPerson:
    """A person for whom the newer list says something new about a corrected field.

    `fields` are the changes (field, old, new) of the list; `reported` those in which the list does not agree
    with the correction: (field, list, correction).
    """

    id: int
    name: str
    row: int
    fields: Difference
    reported: Difference


@dataclass(frozen=True, slots=True)
class MergeQuestion:
    """Something that the lists do not settle; none of its `entries` and known `ids` changes."""

    row: int
    text: str
    entries: tuple[RosterEntry, ...]
    ids: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class MergePlan:
    """The outcome of a merge.

    Every entry is in one of added, changed, unchanged, restored and questions; every known person in one of
    changed, unchanged, withdrawn, restored and untouched. `untouched` are walk-ins and withdrawn people who
    are not in the list, and everybody in a question.
    """

    added: tuple[RosterEntry, ...] = ()
    changed: tuple[EntryChange, ...] = ()
    restored: tuple[EntryChange, ...] = ()
    withdrawn: tuple[int, ...] = ()
    unchanged: tuple[int, ...] = ()
    untouched: tuple[int, ...] = ()
    questions: tuple[MergeQuestion, ...] = ()
    relisted: tuple[RelistedPerson, ...] = ()
    """Changes that do not apply because of corrections; the person is in another part as well."""
    kept: tuple[tuple[str, str], ...] = ()
    """(field, name of the person) of values that stay although the newer list has an empty cell."""


def updated_entry(
    person: KnownPerson, entry: RosterEntry, fields: frozenset[str]
) -> tuple[RosterEntry, Difference, RelistedPerson | None]:
    """The person after the merge, what changed, and what the list says about corrected fields.

    A correction to yes does not stay if the list has since said no or something unclear.
    """
    merged, changed = compare_entries(person.as_listed, entry, fields)
    if not person.corrected_fields:
        return merged, changed, None
    said = tuple(
        change for change in changed if change[0] in person.corrected_fields and _is_field(change, merged)
    )
    refused = [change for change in said if change[0] == "consent" and _refuses(change[2])]
    if refused and parse_consent(person.entry.consent) is not Consent.NO:
        said = tuple(change for change in said if change not in refused)
        now = ("consent", person.entry.consent, merged.consent)
        changed = tuple(now if change in refused else change for change in changed)
        person = replace(person, corrected_fields=person.corrected_fields - {"consent"})
    stays = {name: getattr(person.entry, name) for name in person.corrected_fields}
    reported = tuple((name, new, stays[name]) for name, _, new in said if new != stays[name])
    again = RelistedPerson(person.id, person.entry.name, entry.row, said, reported) if said else None
    return replace(merged, **stays), tuple(change for change in changed if change not in said), again


def _refuses(consent: str) -> bool:
    return parse_consent(consent) in (Consent.NO, Consent.UNCLEAR)


def _is_field(change: tuple[str, str, str], merged: RosterEntry) -> bool:
    """Whether a change is of a field, and not of an extra column with a field's name as its heading."""
    return bool(getattr(merged, change[0]) == change[2])


_FEW = 5
"""This many people may always be withdrawn. Own choice, as is the share of a third."""


def withdrawal_doubt(
    withdrawn: Sequence[RosterPerson], arrived: Collection[int], everybody: Collection[RosterPerson]
) -> str:
    """What speaks against withdrawing these people, on one line; empty if nothing does.

    `arrived` are the ids of all who have arrived.
    """
    came = [person for person in withdrawn if person.id in arrived]
    listed = sum(not person.withdrawn for person in everybody)
    many = len(withdrawn) > _FEW and 3 * len(withdrawn) > listed
    if not came and not many:
        return ""
    of_them = ""
    if came:
        names = ", ".join(escaped(person.name) for person in came[:3]) + (" …" if len(came) > 3 else "")
        of_them = f", and {plural(len(came), 'of them has', 'of them have')} arrived ({names})"
    return f"{len(withdrawn)} of {listed} people are not on this list and would be withdrawn{of_them}"


def withdrawal_problem(doubt: str) -> Problem:
    """The refusal of a list that would withdraw many people, or any who have arrived."""
    return Problem(doubt, "Look with --dry-run; if that is meant: --withdraw. Nothing was changed.")
