"""Recognising the headings of a client's list in several languages."""

from __future__ import annotations

import re
from functools import cache, lru_cache

from onsite.roster.list_words import word_tables
from onsite.roster.person_names import fold_name

WORDS = word_tables()["headings"]
"""Sort of heading -> its headings, with semicolons between."""

_WHOSE = (
    "your the student students pupil pupils child childs member members participant participants "
    "person persons singer singers player players musician musicians sänger schüler teilnehmer "
    "mitglied de l eleve du participant"
)
"""Words that say to whom a name or number belongs."""

_QUALIFIERS = frozenset(_WHOSE.split())
_BRACKETED = re.compile(r"\([^)]*\)|\[[^\]]*\]")
_BETWEEN_WORDS = re.compile(r"[\s_./\\:;,*?!&+'\"|–-]+")


@lru_cache(maxsize=4096)
def recognise(heading: str) -> str | None:
    """The field that a heading usually means, or one of the other sorts in `WORDS`; else None."""
    if len(heading) > 80:
        return None
    known = _known()
    plain = heading_words(without_brackets(heading)) or heading_words(heading)
    unqualified = plain
    while unqualified and unqualified[0] in _QUALIFIERS:
        unqualified = unqualified[1:]
    for words in (plain, unqualified, tuple(word for word in unqualified if word not in _QUALIFIERS)):
        found = known.get("".join(words))
        if found:
            return found
    either = {known.get("".join(heading_words(part))) for part in heading.split("/")}
    if "/" in heading and len(either) == 1:
        return either.pop()
    return known.get(heading.strip()) if heading.strip() in {"#", "№"} else None


def is_name_heading(heading: str) -> bool:
    """Whether a column with this heading holds names or parts of names."""
    return recognise(heading) in {"name", "bare", "family first", "given", "family"}


@cache
def _known() -> dict[str, str]:
    known: dict[str, str] = {"#": "number", "№": "number"}
    for field, headings in WORDS.items():
        for heading in headings.split(";"):
            known.setdefault("".join(heading_words(heading)), field)
    known.pop("", None)
    return known


def is_qualifier(word: str) -> bool:
    """Whether a folded word only says to whom a name or number belongs."""
    return word in _QUALIFIERS


def without_brackets(heading: str) -> str:
    """A heading without its texts in brackets."""
    return _BRACKETED.sub(" ", heading)


def heading_words(text: str) -> tuple[str, ...]:
    """The words of a heading, folded."""
    return tuple(word for word in _BETWEEN_WORDS.split(fold_name(text)) if word)


def is_ordinary(heading: str) -> bool:
    """Whether every word of a heading is about something ordinary: "Needs parking", "First aid"."""
    stems, words, alone = (_ordinary(name) for name in ("beginnings", "words", "alone"))
    found = [word for word in heading_words(heading.translate(_BRACKETS)) if not word.isdigit()]
    if "".join(found) in ("noshow", "checkedin", "checkedout"):
        return True
    return any(word in alone or word.startswith(stems) for word in found) and all(
        word in words or word == "t" or word.startswith(stems) for word in found
    )


_BRACKETS = dict.fromkeys(map(ord, "()[]"), " ")


@cache
def _ordinary(name: str) -> tuple[str, ...]:
    return heading_words(word_tables()["ordinary_headings"][name])
