"""Whether a heading is about consent, and what a yes under it means.

Only a heading that is known word for word is read automatically. Every other heading that plausibly concerns
consent leads to a question for a person (`roster.consent_columns`); this module only determines
which answer is likelier, so that it is proposed first.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from enum import StrEnum
from functools import cache, lru_cache
from itertools import pairwise

from onsite.roster.column_headings import (
    heading_words,
    is_ordinary,
    is_qualifier,
    recognise,
    without_brackets,
)
from onsite.roster.list_words import listed_phrases, listed_words


class Leaning(StrEnum):
    """What a yes under a heading means, as far as its words show."""

    AGREES = "agrees"
    """Known word for word: a yes means that the person may be published."""
    FORBIDS = "forbids"
    """Known word for word: a yes means that the person must not be published."""
    LIKELY_AGREES = "likely agrees"
    LIKELY_FORBIDS = "likely forbids"
    EITHER = "either"
    """About consent, with two negations or a condition: "no objection", "photos only in print"."""
    VAGUE = "vague"
    """May be about anything, including consent: "Status", "Signed", no heading at all."""


# The meaning of each list stands in `list_words.toml`.
_DENYING = listed_words("consent_headings", "denying")
_REFUSING = listed_words("consent_headings", "refusing")
_CLEAR_BY_ITSELF = listed_words("consent_headings", "clear_by_itself")
_PERMISSION = listed_words("consent_headings", "permission")
_PICTURE = listed_words("consent_headings", "picture")
_PICTURE_WORDS = listed_words("consent_headings", "picture_words")
_CONDITIONS = listed_words("consent_headings", "conditions")
_TURNED_ROUND = listed_words("consent_headings", "turned_round")
_RESERVED = listed_words("consent_headings", "reserved")
_YES_WORDS = listed_words("consent_headings", "yes")
_NO_WORDS = listed_words("consent_headings", "no")
_BETWEEN_ANSWERS = listed_words("consent_headings", "between_answers")
_VAGUE = listed_words("consent_headings", "vague")
_FILLING = listed_words("consent_headings", "filling")

_WITHIN_A_WORD = 5
"""The fewest letters of a stem that is also looked for inside words."""

_REFUSING_SIGNS = "不非未禁拒"
"""Signs of Chinese and Japanese that deny or refuse, within a word."""

_BRACKETED = re.compile(r"\(([^)]*)\)|\[([^\]]*)\]")


@lru_cache(maxsize=4096)
def heading_leaning(heading: str) -> Leaning | None:
    """The leaning of a heading; None if it is not about consent."""
    heading = heading[:600]
    whole = _without_answers(heading_words(re.sub(r"[()\[\]]", " ", heading)))
    known = _known_leaning(whole)
    if known is None and _brackets_add_nothing(heading) and _TURNED_ROUND.isdisjoint(whole):
        known = _known_leaning(_without_answers(heading_words(without_brackets(heading))))
    if known is not None:
        return known
    if is_ordinary(heading) and not any(map(_denies, whole)):
        return None
    words = _without_number(whole, heading)
    denials = _denials(words)
    if is_permission(words) or is_picture(words):
        is_turned = denials and not _TURNED_ROUND.isdisjoint(words)
        if denials > 1 or is_turned or not _CONDITIONS.isdisjoint(words):
            return Leaning.EITHER
        return Leaning.LIKELY_FORBIDS if denials else Leaning.LIKELY_AGREES
    rest = [word for word in words if not _is_filling(word)]
    if "".join(words) in _whole_headings("kept_back") or _is_reserved(rest):
        is_denied = any(_denies(word) and word not in _RESERVED for word in rest)
        return Leaning.EITHER if is_denied and _is_reserved(rest) else Leaning.LIKELY_FORBIDS
    if any(_refuses(word) or word in _CLEAR_BY_ITSELF for word in rest) and all(map(_denies, rest)):
        return Leaning.LIKELY_FORBIDS if denials == 1 else Leaning.EITHER
    is_vague = all(word in _VAGUE for word in rest) if rest else not words
    return Leaning.VAGUE if is_vague and recognise(heading) is None else None


def forbids(text: str) -> bool:
    """Whether a text says, surely or probably, that a person must not be published: "no photos please"."""
    return len(text) <= 200 and heading_leaning(text) in (Leaning.FORBIDS, Leaning.LIKELY_FORBIDS)


def is_permission(words: Sequence[str]) -> bool:
    """Whether folded words are about a permission."""
    return any(stem in word for word in ("".join(words), *words) for stem in _PERMISSION)


def is_picture(words: Sequence[str]) -> bool:
    """Whether folded words are about pictures or where they are shown."""
    return any(word in _PICTURE_WORDS or any(stem in word for stem in _PICTURE) for word in words)


def is_only_about_permission(heading: str) -> bool:
    """Whether a heading is about permission for something other than pictures: "Swimming permission"."""
    words = heading_words(heading)
    named = any(not (_is_filling(word) or _is_permission_word(word) or word in _VAGUE) for word in words)
    return named and not is_picture(words)


def _is_permission_word(word: str) -> bool:
    return any(word.startswith(stem) for stem in _PERMISSION)


def _known_leaning(words: tuple[str, ...]) -> Leaning | None:
    if "".join(words) in _whole_headings("forbids"):
        return Leaning.FORBIDS
    return Leaning.AGREES if recognise(" ".join(words)) == "consent" else None


@cache
def _whole_headings(name: str) -> frozenset[str]:
    return frozenset("".join(heading_words(text)) for text in listed_phrases("consent_headings", name))


def _is_reserved(words: Sequence[str]) -> bool:
    """Whether words say that somebody is kept from being shown, and nothing else: "internal only"."""
    return not _RESERVED.isdisjoint(words) and all(
        word in _RESERVED or word in _CONDITIONS or _denies(word) for word in words
    )


def _without_answers(words: tuple[str, ...]) -> tuple[str, ...]:
    """The words without a list of possible answers at the beginning or the end: "Consent yes/no"."""
    for turn in (1, -1):
        turned = words[::-turn]
        run = 0
        while run < len(turned) and turned[run] in _YES_WORDS | _NO_WORDS | _BETWEEN_ANSWERS:
            run += 1
        found = set(turned[:run])
        if found & _YES_WORDS and found & _NO_WORDS:
            words = turned[run:][::-turn]
    return words


def _brackets_add_nothing(heading: str) -> bool:
    """Whether the text in brackets only lists the answers or the subject: "(yes/no)", "(photos)"."""
    found = " ".join("".join(pair) for pair in _BRACKETED.findall(heading))
    inside = _without_answers(heading_words(found))
    return not any(map(_denies, inside)) and all(
        _is_filling(word) or is_picture((word,)) or recognise(word) == "consent" for word in inside
    )


def _without_number(words: tuple[str, ...], heading: str) -> tuple[str, ...]:
    """The words without a "No." that is short for "number"."""
    if words and words[-1] == "no" and heading.rstrip().endswith("."):
        return words[:-1]
    return words[1:] if words[:2] == ("no", "of") or re.match(r"\s*no\.", heading, re.IGNORECASE) else words


def _denials(words: Sequence[str]) -> int:
    """The number of negations; French "ne … pas" and "opt out" count once."""
    denials = sum(map(_denies, words))
    if "ne" in words and {"pas", "jamais", "aucun", "aucune"} & set(words):
        denials -= 1
    return denials + any(first in ("opt", "opted") and then == "out" for first, then in pairwise(words))


def _denies(word: str) -> bool:
    return word in _DENYING or _refuses(word)


def _refuses(word: str) -> bool:
    is_cjk = "\u3040" <= word[:1] <= "\u9fff"
    if is_cjk and (word.endswith("ng") or any(sign in word for sign in _REFUSING_SIGNS)):
        return True
    return any(stem in word if len(stem) >= _WITHIN_A_WORD else word.startswith(stem) for stem in _REFUSING)


def _is_filling(word: str) -> bool:
    return word in _FILLING or is_qualifier(word) or word.isdigit()
