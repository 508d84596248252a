"""Whether what was typed at the door means somebody beyond doubt."""

from __future__ import annotations

from collections.abc import Sequence

from onsite.roster.find import SearchHit

_EXACT = ("key", "code", "sequence number")
_GUESSES = ("typo", "initials", "group")
_CLEAR_MARGIN = 20.0
"""By how much the best must be better than the next, of 100. Own choice: a word more that fits gives it, two
spellings of one name do not."""


def is_unambiguous(hits: Sequence[SearchHit]) -> bool:
    """Whether the first of the people found is the one meant, so that one key may check them in.

    A slip of the hand that was guessed, initials, or two people who fit nearly as well are looked at first:
    a wrong name is worse than a second key.
    """
    if not hits or hits[0].person.withdrawn:
        return False
    first, rest = hits[0], hits[1:]
    if first.why in _EXACT:
        return not any(hit.why in _EXACT and hit.score >= first.score for hit in rest)
    if any(guess in first.why for guess in _GUESSES):
        return False
    return all(first.score - hit.score >= _CLEAR_MARGIN for hit in rest)
