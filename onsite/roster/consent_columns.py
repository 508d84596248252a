"""Columns about consent: what their headings mean, and what several of them say of one person together.

The stricter counts. No heading that means the opposite is taken for a yes by likeness: only one that is known
word for word. The words are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache, lru_cache

from onsite.roster.consent import Consent, consent_of
from onsite.roster.headings import heading_words, recognise, without_brackets

MUST_NOT, MAY = "do not publish", "may be published"
"""What is kept of somebody where the answer stands under a heading that means the opposite."""


class Sense(StrEnum):
    """What a yes under a heading means."""

    AGREES = "yes means may be published"
    FORBIDS = "yes means must not be published"
    DOUBTFUL = "yes means must not be published, and no is not clear"
    """The heading says something of a no, in words that are not known."""


_FORBIDS = """
    do not publish; don't publish; dont publish; not publish; not to be published; must not be published;
    may not be published; cannot be published; not for publication; not publishable; no publication;
    no publishing; no photos; no photo; no pictures; no images; no photo consent; no consent; no permission;
    no photo permission; no release; opt out; opted out; opt out photos; photo opt out; publication ban;
    nicht veröffentlichen; nicht zu veröffentlichen; darf nicht veröffentlicht werden; keine veröffentlichung;
    veröffentlichung untersagt; veröffentlichung verboten; veröffentlichungsverbot; veröffentlichungssperre;
    keine fotos; kein foto; keine bilder; keine einwilligung; keine zustimmung; keine fotoerlaubnis;
    fotoverbot; fotosperre; bildsperre; sperrvermerk; widerspruch; widersprochen; ne pas publier;
    pas de publication; publication interdite; pas de photo; pas de photos; refus de publication;
    opposition à la publication; no publicar; sin publicación; sin autorización; sin consentimiento;
    no autorizado; non pubblicare; senza consenso; non pubblicabile; não publicar; sem autorização;
    niet publiceren; geen publicatie; geen toestemming; geen foto; geen foto's; ej publicering; publicera ej;
    publicera inte; får ej publiceras; nie publikować; bez zgody; brak zgody; nezveřejňovat; bez souhlasu;
    не публиковать; без согласия; να μη δημοσιευτεί; yayınlanmasın; ei julkaista; ei saa julkaista"""

_DENYING = """
    no not don dont cannot never without nicht kein keine keinen keiner nie niemals ohne ne pas sans non sin
    senza nao sem niet geen ej inte inget utan ikke ingen brak bez не нет без μη μην δεν ei degil"""
_AFFIRMING = "yes y ja j oui si sim tak ano ναι да evet"
_ABOUT = """
    publi pubbl consent permission permit release veroffentlich einwillig einverst zustimm erlaub freigabe
    autoris autoriz toestemming samtyck zgod souhlas zverejn δημοσι συγκαταθ соглас разреш julkai yayin
    izin"""

_NO_BRACKETS = str.maketrans("()[]", "    ")

_MARKS = frozenset(("x", "xx", "✗", "✘", "☒", "❌", "🚫", "*", "+", "•", "●"))
"""Under a heading that forbids, whoever made the list has marked these people; a cross is no "no" there."""

_PLAIN_NO = frozenset(
    (
        "n",
        "no",
        "false",
        "0",
        "nein",
        "non",
        "nao",
        "ei",
        "nei",
        "nee",
        "nej",
        "nie",
        "ne",
        "οχι",
        "нет",
        "hayır",
        "hayir",
    )
)
"""Words that take back what a heading forbids, folded."""


@lru_cache(maxsize=4096)
def sense_of(heading: str) -> Sense | None:
    """What a yes in a column of this heading means; None where it is not known to be about consent."""
    if len(heading) > 80:
        return None
    bare, whole = heading_words(without_brackets(heading)), heading_words(heading.translate(_NO_BRACKETS))
    if "".join(bare) in _forbidding() or "".join(whole) in _forbidding():
        return Sense.FORBIDS
    if _denies(whole):
        return Sense.DOUBTFUL
    return Sense.AGREES if recognise(heading) == "consent" else None


@cache
def _forbidding() -> frozenset[str]:
    return frozenset("".join(heading_words(text)) for text in _FORBIDS.split(";"))


def _denies(words: Sequence[str]) -> bool:
    """Whether the words deny something about consent, and do not just list the answers: "yes/no"."""
    telling = set(words[:-1] if words and words[-1] == "no" else words)  # "Release no." is a number
    if not telling & set(_DENYING.split()) or telling & set(_AFFIRMING.split()):
        return False
    return any(about in word for word in words for about in _ABOUT.split())


@dataclass(frozen=True, slots=True)
class ConsentColumn:
    """A column, from 0, that says something about consent. `expected`: it says yes of some people, so that a
    blank is an answer that was not given."""

    column: int
    heading: str
    sense: Sense
    expected: bool = False


@dataclass(frozen=True, slots=True)
class Said:
    """What a list says of one person: the `text` to keep, which `consent_of` reads as the strictest of the
    answers; `disagree`: they are not all the same."""

    text: str
    disagree: bool = False


def answer_under(sense: Sense, text: str) -> Consent:
    """What a cell says under a heading of that sense. Only a plain no under a heading that is known to forbid
    is a yes; anything else that is written there is not."""
    said = consent_of(text)
    if sense is Sense.AGREES or said is Consent.UNKNOWN:
        return said
    plain = " ".join(heading_words(text))
    if said is Consent.NO and plain in _PLAIN_NO:
        return Consent.YES if sense is Sense.FORBIDS else Consent.UNCLEAR
    is_mark = text.strip().casefold() in _MARKS
    return Consent.NO if is_mark or said is not Consent.UNCLEAR else Consent.UNCLEAR


def said_together(columns: Sequence[ConsentColumn], texts: Sequence[str]) -> Said:
    """What the cells of one person say, a text for each column. A single column that agrees is kept as it is
    written; of several the strictest counts: no, then what is not clear, then yes."""
    if len(columns) == 1 and columns[0].sense is Sense.AGREES:
        return Said(texts[0])
    answers = [answer_under(one.sense, text) for one, text in zip(columns, texts, strict=True)]
    given = {answer for answer in answers if answer is not Consent.UNKNOWN}
    missing = any(
        one.sense is Sense.AGREES and one.expected and answer is Consent.UNKNOWN
        for one, answer in zip(columns, answers, strict=True)
    )
    if not given:
        return Said("")
    differ = len(given) > 1 or (missing and Consent.YES in given)
    if Consent.NO in given:
        return Said(_written(columns, texts, answers, Consent.NO) or MUST_NOT, differ)
    if given == {Consent.YES} and not missing:
        return Said(_written(columns, texts, answers, Consent.YES) or MAY)
    told = (
        f"{one.heading}: {text.strip() or 'nothing'}"
        for one, text in zip(columns, texts, strict=True)
        if text.strip() or (one.expected and one.sense is Sense.AGREES)
    )
    return Said("; ".join(told), differ)


def _written(
    columns: Sequence[ConsentColumn], texts: Sequence[str], answers: Sequence[Consent], wanted: Consent
) -> str:
    """The answer in the words of the list, where it stands under a heading that agrees."""
    found = (
        text
        for one, text, answer in zip(columns, texts, answers, strict=True)
        if one.sense is Sense.AGREES and answer is wanted
    )
    return next(found, "")
