"""What a newer list says differently about one person."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from dataclasses import replace

from onsite.roster.consent import Consent, parse_consent
from onsite.roster.entry import RosterEntry

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
