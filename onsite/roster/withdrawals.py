"""The check of a list that would withdraw many people: it may be the list of a single group."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from onsite.core.errors import Problem
from onsite.core.text import escaped, plural
from onsite.roster.find_people import RosterPerson

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
