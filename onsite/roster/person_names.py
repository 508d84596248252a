"""Names: splitting, joining and comparing. What is shown is always what was written."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

_PARTICLES = (
    "van von zu zum zur vom ten ter te der den de del della dello dei degli da das do dos du des di "
    "la le las los lo li el al ad as bin ibn bint binti ben abu abd af av ap ab mac mc o' d' l' st st. "
    "san 't in't op y e i "
    "بن ابن بنت آل أبو ابو בן בת"
)
PARTICLES = frozenset(_PARTICLES.split())
"""Words that begin a family name. From memory; common practice, no source."""

_JOINING = frozenset({"y", "e", "i"})
LOWER_ONLY = frozenset({"ben", "do", "as", "ad", "te", "op", "lo", "li", "ab", "ap"}) | _JOINING
"""Particles that are also given names or initials if written with a capital."""

_SUFFIXES = frozenset({"jr", "sr", "jun", "sen", "ii", "iii", "iv", "phd", "md", "dr", "esq"})
_COMMAS = re.compile(r"[,،，、]")
_FAMILY_FIRST_SCRIPTS = ("CJK ", "HANGUL ", "HIRAGANA ", "KATAKANA ")

_UNSEEN = {chr(code): None for code in (*range(32), *range(127, 160)) if not chr(code).isspace()}
"""Control characters: a name is the same without them."""

_ALIKE = str.maketrans(
    {
        **_UNSEEN,
        **dict.fromkeys("’‘ʼʹʻ`´′‛＇", "'"),
        **dict.fromkeys("‐‑‒–—―−﹣－־", "-"),
        **dict.fromkeys("“”„«»", '"'),
    }
)


def split_name(full: str, *, family_first: bool = False) -> tuple[str, str]:
    """(given, family) of a full name, each as written.

    "Family, Given" is split at its comma. Otherwise the family name is the last word with the particles
    before it; the leading words if only they are in capitals or they begin with a particle; the first word in
    East Asian scripts or with `family_first`. A single word is a given name.
    """
    full = full.strip()
    before, after = _around_comma(full)
    if after:
        return after, before
    if len(_COMMAS.findall(full)) > 1:
        before, after = _COMMAS.split(full, maxsplit=1)
        return after.strip(), before.strip()
    words = full.split()
    if len(words) < 2:
        return full, ""
    start, end = _family_words(words, family_first)
    family = " ".join(words[start:end])
    return " ".join(words[:start] + words[end:]), family


def natural_order(full: str) -> str:
    """A full name as it is shown: as written, except that "Family, Given" becomes "Given Family"."""
    full = full.strip()
    before, after = _around_comma(full)
    return full_name(after, before) if after else full


def other_part(full: str, part: str) -> str:
    """The rest of a full name that begins or ends with this given or family name; "" if it does not."""
    full, part = full.strip(), part.strip()
    if part and full.startswith(part + " "):
        return full[len(part) :].strip()
    return full[: -len(part)].strip() if part and full.endswith(" " + part) else ""


def full_name(given: str, family: str) -> str:
    """Both parts as one name: given name first, but family name first in East Asian scripts."""
    parts = (family, given) if family_leads(given + family) else (given, family)
    return " ".join(part.strip() for part in parts if part.strip())


def family_leads(text: str) -> bool:
    """Whether a text is in a script that writes the family name first."""
    letters = [character for character in text if character.isalpha()]
    return bool(letters) and all(
        unicodedata.name(character, "").startswith(_FAMILY_FIRST_SCRIPTS) for character in letters
    )


def _around_comma(full: str) -> tuple[str, str]:
    """("Family", "Given") of "Family, Given", else ("", "")."""
    parts = [part.strip() for part in _COMMAS.split(full)]
    if len(parts) != 2 or not all(parts) or parts[1].casefold().strip(".").replace(".", "") in _SUFFIXES:
        return "", ""
    return parts[0], parts[1]


def _family_words(words: list[str], family_first: bool) -> tuple[int, int]:
    """Start and end of the family name among at least two words."""
    capitals = _leading_capitals(words)
    if capitals:
        return 0, capitals
    capitals = _leading_capitals(words[::-1])
    if capitals > 1 and words[-1].casefold().strip(".,") not in _SUFFIXES:
        return len(words) - capitals, len(words)
    begins_with_particle = words[0] in PARTICLES - _JOINING
    if family_first or begins_with_particle or family_leads("".join(words)):
        end = 1
        while end < len(words) and _is_particle(words[end - 1]):
            end += 1
        return 0, end
    start = len(words) - 1
    if start > 1 and words[start].casefold().strip(".,") in _SUFFIXES:
        start -= 1
    for index in range(1, len(words) - 1):
        if _is_particle(words[index]):
            joins = words[index] in _JOINING
            if joins and index < 2:
                continue
            start = min(start, index - 1 if joins else index)
            break
    return start, len(words)


def _leading_capitals(words: list[str]) -> int:
    """The number of leading words in capitals if the others are not: 1 for "LEFÈVRE Élodie"; else 0."""
    count = 0
    while count < len(words) and _is_capitals(words[count]):
        count += 1
    long_enough = sum(character.isalpha() for character in "".join(words[:count])) >= 3
    rest_is_plain = count < len(words) and not any(word.isupper() and len(word) > 2 for word in words[count:])
    is_initials = any(word.endswith(".") or len(word) == 1 for word in words[:count])
    return count if count and long_enough and rest_is_plain and not is_initials else 0


def _is_capitals(word: str) -> bool:
    """Whether a word is in capitals, at least from its second part on: HORVAT, McDONALD, d'ANGELO."""
    return word.isupper() or (len(word) > 3 and word[-3:].isalpha() and word[-3:].isupper())


def _is_particle(word: str) -> bool:
    plain = word.translate(_ALIKE)
    return plain in PARTICLES or (plain.casefold() in PARTICLES and plain.casefold() not in LOWER_ONLY)


@lru_cache(maxsize=65536)
def fold_name(text: str) -> str:
    """`text` for comparing, never for showing.

    Ignores case, accents, the kind of apostrophe or hyphen, width, repeated white space and invisible marks.
    Other scripts stay as they are: two names that merely sound alike are two names.
    """
    if text.isascii():
        return " ".join(text.translate(_ALIKE).casefold().split())
    marks_off = "".join(
        character
        for character in unicodedata.normalize("NFKD", text.translate(_ALIKE))
        if not _is_left_out(character)
    )
    plain = "".join(map(_plain_latin, marks_off.casefold()))
    plain = "".join(character for character in plain if not _is_accent(character))
    return " ".join(unicodedata.normalize("NFC", plain).translate(_ALIKE).split())


@lru_cache(maxsize=65536)
def to_latin(text: str) -> str:
    """`fold_name` in Latin letters, for finding a name in another script by its sound."""
    folded = fold_name(text)
    if folded.isascii():
        return folded
    from anyascii import anyascii

    return " ".join(anyascii(folded).casefold().split())


@lru_cache(maxsize=4096)
def _is_accent(character: str) -> bool:
    """Whether a character is a mark that people leave out: accents, Hebrew and Arabic points.

    Vowel signs of other scripts are not.
    """
    return (
        "\u0300" <= character <= "\u036f"
        or "\u0591" <= character <= "\u05bd"
        or "\u064b" <= character <= "\u065f"
        or character in "\u05bf\u05c1\u05c2\u05c4\u05c5\u05c7\u0640\u0670"
    )


@lru_cache(maxsize=4096)
def _is_left_out(character: str) -> bool:
    """Whether a character is an accent or an invisible mark."""
    return _is_accent(character) or unicodedata.category(character) == "Cf"


@lru_cache(maxsize=4096)
def _plain_latin(character: str) -> str:
    """ø as o, ł as l, ı as i and so on; every other character as it is."""
    if character.isascii() or not unicodedata.name(character, "").startswith("LATIN "):
        return character
    from anyascii import anyascii

    return str(anyascii(character)).casefold()


def rename_parts(
    before: tuple[str, str, str], name: str | None = None, given: str | None = None, family: str | None = None
) -> tuple[str, str, str]:
    """(name, given, family) after some of them were corrected, made consistent again.

    A new full name with as many words is split as the old one was; else an unchanged part determines the
    other part; else it is split like any name. A new part replaces the old one in the full name.
    """
    old_name, old_given, old_family = before
    if name is not None:
        name = natural_order(name)
        if given is not None and family is not None:
            return name, given, family
        if given is not None:
            return name, given, other_part(name, given)
        if family is not None:
            return name, other_part(name, family), family
        return name, *_parts_like(name, before)
    new_given = old_given if given is None else given
    new_family = old_family if family is None else family
    name = _with_part(_with_part(old_name, old_given, new_given), old_family, new_family)
    return name or full_name(new_given, new_family), new_given, new_family


def _with_part(full: str, old: str, new: str) -> str:
    """A full name with one part at its beginning or end replaced; empty if the part is not there."""
    rest = other_part(full, old)
    if old == new or not rest:
        return full if old == new else ""
    return _spaced(new, rest) if full.startswith(old + " ") else _spaced(rest, new)


def _parts_like(name: str, before: tuple[str, str, str]) -> tuple[str, str]:
    """(given, family) of a corrected full name, split like the one before."""
    old_name, old_given, old_family = before
    words, given_words, family_words = name.split(), old_given.split(), old_family.split()
    if len(words) == len(given_words) + len(family_words):
        if old_name.split() == given_words + family_words:
            return " ".join(words[: len(given_words)]), " ".join(words[len(given_words) :])
        if old_name.split() == family_words + given_words:
            return " ".join(words[len(family_words) :]), " ".join(words[: len(family_words)])
    if family := other_part(name, old_given):
        return old_given, family
    if given := other_part(name, old_family):
        return given, old_family
    return split_name(name)


def _spaced(first: str, second: str) -> str:
    return " ".join(part for part in (first, second) if part)
