"""A list that would take many people off the roster is looked at first: it may be of one group only."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from onsite.problems import Problem
from onsite.roster.find import Someone
from onsite.words import escaped

_FEW = 5
"""So many may always be withdrawn, however short the roster. Own choice, as is the share of a third."""


def doubt_about(
    withdrawn: Sequence[Someone], arrived: Collection[int], everybody: Collection[Someone]
) -> str:
    """What speaks against withdrawing these people, in a line; empty where nothing does. `arrived` are the
    ids of all who have arrived."""
    came = [someone for someone in withdrawn if someone.id in arrived]
    listed = sum(not someone.withdrawn for someone in everybody)
    many = len(withdrawn) > _FEW and 3 * len(withdrawn) > listed
    if not came and not many:
        return ""
    of_them = ""
    if came:
        names = ", ".join(escaped(someone.name) for someone in came[:3]) + (" …" if len(came) > 3 else "")
        of_them = f", and {len(came)} of them {'has' if len(came) == 1 else 'have'} arrived ({names})"
    return f"{len(withdrawn)} of {listed} people are not on this list and would be withdrawn{of_them}"


def refuse(doubt: str) -> Problem:
    return Problem(doubt, "Look with --dry-run; if that is meant: --withdraw. Nothing was changed.")
