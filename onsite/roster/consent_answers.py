"""Columns about consent: the meaning of their cells, and the combined answer of several columns.

The strictest answer counts. A column has its sense from a heading that is known word for word, or from a
person (`--map consent=`, `--map no-consent=`); never by likeness. The words are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from onsite.roster.column_headings import heading_words
from onsite.roster.parse_consent import Consent, parse_consent

MUST_NOT, MAY = "do not publish", "may be published"
"""Stored as a person's consent if the answer stands under a heading with the opposite meaning."""


class ConsentSense(StrEnum):
    """The meaning of a yes under a heading."""

    AGREES = "yes means may be published"
    FORBIDS = "yes means must not be published"


_CROSSES_AND_TICKS = frozenset(("x", "xx", "✗", "✘", "☒", "❌", "🚫", "*", "+", "•", "●"))
"""Marks that select a person under a heading that forbids; a cross there does not mean "no"."""

_PLAIN_NOS = "n no false 0 nein non nao ei nei nee nej nie ne οχι нет hayır hayir"
_PLAIN_NO = frozenset(_PLAIN_NOS.split())
"""Words that negate a heading that forbids, folded."""

_TICKS = frozenset(("✓", "✔", "☑", "✅", "0", "1"))


def is_answer(text: str) -> bool:
    """Whether a cell holds a yes or a no in words, alone or followed by more ("yes, not online")."""
    if parse_consent(text) in (Consent.YES, Consent.NO):
        return (
            any(character.isalpha() for character in text)
            and text.strip().casefold() not in _CROSSES_AND_TICKS
        )
    first = heading_words(text[:80])[:1]
    return (
        bool(first)
        and not text.strip().isdigit()
        and (first[0] in _PLAIN_NO or parse_consent(first[0]) is Consent.YES)
    )


def is_plain_answer(text: str) -> bool:
    """Whether a cell holds a yes, or a no that is not also "none": "keine" may count something."""
    return parse_consent(text) is Consent.YES or " ".join(heading_words(text)) in _PLAIN_NO or " " in text


def is_mark(text: str) -> bool:
    """Whether a cell holds a cross, a tick, or 0 or 1."""
    return text.strip().casefold() in _CROSSES_AND_TICKS or text.strip() in _TICKS


@dataclass(frozen=True, slots=True)
class ConsentColumn:
    """A column, from 0, about consent.

    `expected`: it says yes for some people, so a blank cell is a missing answer.
    """

    column: int
    heading: str
    sense: ConsentSense
    expected: bool = False


@dataclass(frozen=True, slots=True)
class CombinedConsent:
    """A person's consent, combined from all columns.

    `text` is what is stored; `parse_consent` reads it as the strictest of the answers. `disagree`: the
    columns have different answers.
    """

    text: str
    disagree: bool = False


def consent_answer(sense: ConsentSense, text: str) -> Consent:
    """The answer of a cell under a heading with that sense.

    Under a heading that forbids, only a plain no is a yes; no other text is.
    """
    said = parse_consent(text)
    if sense is ConsentSense.AGREES or said is Consent.UNKNOWN:
        return said
    plain = " ".join(heading_words(text))
    if said is Consent.NO and plain in _PLAIN_NO:
        return Consent.YES
    marked = text.strip().casefold() in _CROSSES_AND_TICKS
    return Consent.NO if marked or said is not Consent.UNCLEAR else Consent.UNCLEAR


def combine_consents(columns: Sequence[ConsentColumn], texts: Sequence[str]) -> CombinedConsent:
    """The combined consent of one person, from a text for each column.

    A single column that agrees is stored as written; of several the strictest counts: no, then unclear, then
    yes.
    """
    if len(columns) == 1 and columns[0].sense is ConsentSense.AGREES:
        return CombinedConsent(texts[0])
    answers = [consent_answer(column.sense, text) for column, text in zip(columns, texts, strict=True)]
    given = set(answers) - {Consent.UNKNOWN}
    if not given:
        return CombinedConsent("")
    agreeing = [
        each for each in zip(columns, texts, answers, strict=True) if each[0].sense is ConsentSense.AGREES
    ]
    missing = any(column.expected and answer is Consent.UNKNOWN for column, _, answer in agreeing)
    written = {answer: text for _, text, answer in reversed(agreeing)}  # the first of each answer
    differ = len(given) > 1 or (missing and Consent.YES in given)
    if Consent.NO in given:
        return CombinedConsent(written.get(Consent.NO) or MUST_NOT, differ)
    if given == {Consent.YES} and not missing:
        return CombinedConsent(written.get(Consent.YES) or MAY)
    answers_text = (
        f"{column.heading}: {text.strip() or 'nothing'}"
        for column, text in zip(columns, texts, strict=True)
        if text.strip() or (column.expected and column.sense is ConsentSense.AGREES)
    )
    return CombinedConsent("; ".join(answers_text), differ)
