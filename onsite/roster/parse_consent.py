"""Parsing what a client's list says about publishing a person's picture.

What is not clearly a yes never counts as a yes: a condition ("yes, not online"), a footnote ("yes*") or an
unknown word is unclear, and a person has to read it. The known answers are in `list_words.toml`.
"""

from __future__ import annotations

from enum import StrEnum
from functools import lru_cache

from onsite.roster.list_words import listed_phrases
from onsite.roster.person_names import fold_name


class Consent(StrEnum):
    """A person's answer about publishing their pictures."""

    YES = "yes"
    NO = "no"
    UNCLEAR = "unclear"
    """Something is written that is neither yes nor no."""
    UNKNOWN = "unknown"
    """Nothing is written."""


_MARKS = ".,;!\"'"
"""Ignored around a text; a question mark, an asterisk or a bracket adds meaning and is not ignored."""


def _plain(text: str) -> str:
    return " ".join(fold_name(text).strip(_MARKS + " ").split())


_KNOWN = {
    _plain(text): said for said in (Consent.YES, Consent.NO) for text in listed_phrases("answers", said)
}


@lru_cache(maxsize=4096)
def parse_consent(text: str) -> Consent:
    """Whether a text says yes or no to publishing, in the languages whose headings are known."""
    if not text.strip():
        return Consent.UNKNOWN
    if len(text) > 80:
        return Consent.UNCLEAR
    return _KNOWN.get(_plain(text), Consent.UNCLEAR)
