"""Groups by their names: which one is meant, who is in it, and in which order they stand."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar
from unicodedata import normalize

from onsite.problems import Problem

T = TypeVar("T")


def same_group(one: str, other: str) -> bool:
    """Whether two texts name one group; capitals, spaces around and how accents are coded do not count."""
    return _plain(one) == _plain(other)


def in_group(everybody: Iterable[T], group: str | None, group_of: Callable[[T], str]) -> list[T]:
    """Everybody, or those of one group. Raises Problem where nobody is in it."""
    people = list(everybody)
    if group is None:
        return people
    chosen = [one for one in people if same_group(group_of(one), group)]
    if not chosen:
        groups = ", ".join(sorted({name for one in people if (name := group_of(one))}, key=place_of))
        raise Problem(f"Nobody is in a group {group!r}.", f"Groups here: {groups or 'none'}.")
    return chosen


def place_of(group: str) -> tuple[bool, str, str]:
    """By what groups are sorted: by name, those without one last."""
    return not group, group.casefold(), group


def _plain(group: str) -> str:
    return normalize("NFC", group.strip()).casefold()
