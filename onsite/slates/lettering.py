"""Names as they can be printed: safe to draw, and in a font that has every letter of them.

No text is ever drawn with a missing glyph. A word that no font here can draw is printed in Latin letters,
and the caller is told. That is a makeshift: Chinese characters come out in their Mandarin reading, also in a
Japanese name, which is why nothing but the print ever uses it.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from onsite.core.text import SUBSTITUTE, shown
from onsite.slates.typefaces import MixedTypeface, Typeface, bundled_typeface, typeface_for


@dataclass(frozen=True, slots=True)
class LetteredText:
    """A text ready to be drawn: `text` in `face`.

    `missing` holds the characters of `original` that no font here could draw; the words with such a
    character are in Latin letters in `text`.
    """

    original: str
    text: str
    face: Typeface | MixedTypeface
    missing: str = ""


def needs_shaping(text: str) -> bool:
    """Whether `text` comes out wrong when its characters are merely set side by side, left to right."""
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
    """`text` in the first font that has every glyph of it, else each word in the first that has every glyph
    of the word, and in Latin letters where there is none.

    Without `shaping`, words that need it count as such that cannot be drawn.
    """
    safe = shown(text)
    face = typeface_for(safe, bold) if shaping or not needs_shaping(safe) else None
    if face is not None:
        return LetteredText(text, safe, face)
    own = bundled_typeface(bold)

    # Words of one font each stand in the order written, which is not that of a text with both directions.
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
    """The scripts of characters that no font here draws, as one asks for a font of them."""
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
    """Those of `names` that are printed in Latin letters for want of a font, each once, in their order.

    For pictures pass `shaping=png.can_shape()`; tickets as PDF can always shape.
    """
    lettered = (letter_text(name, bold=True, shaping=shaping) for name in dict.fromkeys(names))
    return [text for text in lettered if text.missing]
