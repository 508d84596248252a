"""Groups: finding one by its name, its members, and the order of groups."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from typing import TypeVar
from unicodedata import normalize

from onsite.core.errors import Problem
from onsite.core.text import escaped

T = TypeVar("T")


def is_same_group(first: str, other: str) -> bool:
    """Whether two texts name the same group, ignoring case, outer spaces and the encoding of accents."""
    return _plain(first) == _plain(other)


def in_group(everybody: Iterable[T], group: str | None, group_of: Callable[[T], str]) -> list[T]:
    """Everybody, or the people of one group. Raises Problem if the group is empty."""
    people = list(everybody)
    if group is None:
        return people
    chosen = [person for person in people if is_same_group(group_of(person), group)]
    if not chosen:
        groups = ", ".join(
            sorted({name for person in people if (name := group_of(person))}, key=group_sort_key)
        )
        raise Problem(f"Nobody is in a group {group!r}.", f"Groups here: {groups or 'none'}.")
    return chosen


class UnknownGroup(Problem):
    """A group that nobody is in: a new group, or a misspelling."""

    def __init__(self, group: str, groups: Iterable[str]) -> None:
        from rapidfuzz import process

        self.group = group
        known = sorted(set(groups), key=group_sort_key)
        like = process.extractOne(group, known, processor=str.casefold, score_cutoff=60)
        suggestion = f"Do you mean {escaped(like[0])}? " if like else ""
        listed = ", ".join(map(escaped, known[:12])) + (" …" if len(known) > 12 else "")
        super().__init__(f"There is no group {escaped(group)}.", f"{suggestion}Groups here: {listed}.")


def resolve_group(group: str, groups: Iterable[str], new: bool = False) -> str:
    """The existing group with that name, in its existing spelling.

    Raises UnknownGroup if there are groups but not this one, unless `new` allows a new one.
    """
    known = {name for name in groups if name}
    found = next((name for name in sorted(known) if is_same_group(name, group)), None)
    if found is None and known and group.strip() and not new:
        raise UnknownGroup(group, known)
    return group if group in known or found is None else found


_NUMBERS = re.compile(r"([0-9]+)")


def group_sort_key(group: str) -> tuple[bool, list[tuple[int, str]], str]:
    """Sort key of groups: by name, with numbers in it by their value, so that Year 7 comes before Year 10;
    people without a group last."""
    parts = _NUMBERS.split(group.casefold())
    values = [(int(part), "") if number % 2 else (-1, part) for number, part in enumerate(parts)]
    return not group, values, group


def _plain(group: str) -> str:
    return normalize("NFC", group.strip()).casefold()
