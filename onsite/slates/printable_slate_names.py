"""Names made printable: unsafe characters replaced, and a font chosen that has every letter.

No text is drawn with a missing glyph. A word that no available font can draw is transliterated into Latin
letters, and the result says so. This is a stopgap: Chinese characters get their Mandarin reading even in a
Japanese name, so nothing but print and slate pictures uses it.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from onsite.core.text import SUBSTITUTE, shown
from onsite.slates.slate_fonts import MixedTypeface, Typeface, bundled_typeface, typeface_for


@dataclass(frozen=True, slots=True)
class LetteredText:
    """A text ready to be drawn: `text` in `face`.

    `missing` holds the characters of `original` that no available font can draw; words with such a
    character are in Latin letters in `text`.
    """

    original: str
    text: str
    face: Typeface | MixedTypeface
    missing: str = ""


def needs_shaping(text: str) -> bool:
    """Whether `text` needs a shaping engine: right-to-left scripts and combining marks do."""
    return any(
        unicodedata.bidirectional(char) in ("R", "AL") or unicodedata.category(char).startswith("M")
        for char in text
    )


def reads_from_right(text: str) -> bool:
    """Whether the first letter with a direction is of a right-to-left script (UAX 9, rules P2 and P3)."""
    strong = (unicodedata.bidirectional(char) for char in text)
    return next((kind for kind in strong if kind in ("L", "R", "AL")), "L") != "L"


@lru_cache(maxsize=16384)
def letter_text(text: str, bold: bool = False, shaping: bool = True) -> LetteredText:
    """Return `text` in the first font that has all its glyphs.

    Where no single font has them, each word takes the first font that can draw it, and is transliterated
    into Latin letters where there is none. Without `shaping`, words that need it count as not drawable.
    """
    safe = shown(text)
    face = typeface_for(safe, bold) if shaping or not needs_shaping(safe) else None
    if face is not None:
        return LetteredText(text, safe, face)
    own = bundled_typeface(bold)

    # Words in different fonts are laid out in logical order, which is wrong for bidirectional text.
    one_way = not any(unicodedata.bidirectional(char) in ("R", "AL") for char in safe)

    def face_of(part: str) -> Typeface | None:
        if needs_shaping(part) and not shaping:
            return None
        return typeface_for(part, bold) if one_way else (own if own.draws(part) else None)

    words, faces, missing = [], [], set[str]()
    for word in safe.split(" "):
        face = face_of(word)
        faces.append(face or own)
        words.append(word if face else _in_latin(word))
        if not face:
            missing |= {char for char in word if face_of(char) is None} or set(word)
    used = tuple(dict.fromkeys([own, *faces]))
    return LetteredText(
        text, " ".join(words), MixedTypeface(used) if len(used) > 1 else own, "".join(sorted(missing))
    )


def _in_latin(word: str) -> str:
    from anyascii import anyascii

    latin = " ".join("".join(char if char == SUBSTITUTE else anyascii(char) for char in word).split())
    if word[0].upper() == word[0].lower():  # a script without capitals
        latin = latin[:1].upper() + latin[1:]
    return latin or SUBSTITUTE


def script_names(chars: str) -> list[str]:
    """Return the scripts of characters that no font draws, named as a user would search for a font."""
    found = set()
    for char in chars:
        first = unicodedata.name(char, "").split(" ")[0]
        if unicodedata.category(char) in ("So", "Sk"):
            found.add("emoji and symbols")
        elif first in ("CJK", "HIRAGANA", "KATAKANA", "HANGUL"):
            found.add("Chinese, Japanese and Korean")
        elif unicodedata.category(char)[0] == "L":
            found.add(first.capitalize())
    return sorted(found) or ["some marks"]


def letter_in_latin(names: Iterable[str], shaping: bool = True) -> list[LetteredText]:
    """Return the distinct `names` that must be printed in Latin letters for lack of a font, in order.

    For pictures pass `shaping=slate_fonts.can_shape()`; PDF tickets are always shaped.
    """
    lettered = (letter_text(name, bold=True, shaping=shaping) for name in dict.fromkeys(names))
    return [text for text in lettered if text.missing]
