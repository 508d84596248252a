"""Decoding a text list whose encoding is unknown."""

from __future__ import annotations

import codecs
import unicodedata
from dataclasses import dataclass

_MARKED = (
    (codecs.BOM_UTF8, "utf-8-sig", "UTF-8"),
    (codecs.BOM_UTF32_LE, "utf-32", "UTF-32"),
    (codecs.BOM_UTF32_BE, "utf-32", "UTF-32"),
    (codecs.BOM_UTF16_LE, "utf-16", "UTF-16 LE"),
    (codecs.BOM_UTF16_BE, "utf-16", "UTF-16 BE"),
)
_SINGLE_BYTE = (
    ("cp1252", "Windows-1252", 0.0),
    ("mac_roman", "Mac Roman", 0.0),
    ("cp1250", "Windows-1250", 1.0),
    ("cp1251", "Windows-1251", 1.0),
    ("cp1253", "Windows-1253", 1.0),
)
"""Codec, name, and initial oddness: less common encodings must be clearly better."""

_LOOKED_AT = 20_000  # bytes, or characters: some hundred rows say enough
_VOWELS = frozenset("aeiouyæøœаеиоуыэюяіїαεηιουω")
_UNUSUAL = frozenset("œÿõ")
_NO_LETTERS_OF_NAMES = frozenset("ƒªºˆ˜ˇµﬁﬂΩπ∂¯")
_QUOTES = frozenset("“”„«»‘‚")


@dataclass(frozen=True, slots=True)
class DecodedText:
    """A decoded text; `certain` is False if the encoding was chosen by the likelier words."""

    text: str
    encoding: str
    certain: bool


def decode(data: bytes) -> DecodedText | None:
    """The text of a list, or None if the bytes are no text.

    A byte order mark decides; then valid UTF-8; then zero bytes that indicate UTF-16. Old single-byte
    encodings cannot be distinguished with certainty: the one that gives the most plausible words wins.
    """
    for mark, codec, encoding in _MARKED:
        if data.startswith(mark):
            return _decoded(data, codec, encoding, certain=True)
    if b"\0" in data:
        return _utf16_without_mark(data)
    if not _is_text(data.decode("latin-1")):
        return None
    return _decoded(data, "utf-8", "UTF-8", certain=True) or _likeliest(data)


def _decoded(data: bytes, codec: str, encoding: str, *, certain: bool) -> DecodedText | None:
    try:
        text = data.decode(codec)
    except UnicodeDecodeError:
        return None
    return DecodedText(text, encoding, certain) if _is_text(text) else None


def _is_text(text: str) -> bool:
    """Whether a text has next to no control characters; an escape code in a name is allowed."""
    controls = sum(character < " " and character not in "\t\n\r\v\f\x1b\b\a" for character in text)
    return "\0" not in text and controls * 200 <= len(text)


def _utf16_without_mark(data: bytes) -> DecodedText | None:
    """UTF-16 without a mark: the zero bytes of ASCII characters are all at even, or all at odd places."""
    even, odd = data[0::2].count(0), data[1::2].count(0)
    if even and odd:
        return None
    codec, encoding = ("utf-16-le", "UTF-16 LE") if odd else ("utf-16-be", "UTF-16 BE")
    return _decoded(data, codec, encoding, certain=True)


def _likeliest(data: bytes) -> DecodedText | None:
    high = sum(byte >= 0x80 for byte in data[:_LOOKED_AT])
    best: tuple[float, DecodedText] | None = None
    for codec, encoding, start in _SINGLE_BYTE:
        decoded = _decoded(data, codec, encoding, certain=False)
        if decoded:
            odd = start + oddness(decoded.text[:_LOOKED_AT])
            if best is None or odd < best[0]:
                best = (odd, decoded)
    if best is None or (high and best[0] > max(2.0, high * 0.5)):
        return _by_statistics(data) or (best[1] if best else None)
    return best[1]


def _by_statistics(data: bytes) -> DecodedText | None:
    """Tries charset-normalizer, above all for the multi-byte encodings of East Asia."""
    from charset_normalizer import from_bytes

    match = from_bytes(data[:200_000]).best()
    return _decoded(data, match.encoding, match.encoding, certain=False) if match else None


def oddness(text: str) -> float:
    """How implausible the characters beyond ASCII are in their places: 0 for "José", more for "JosŽ"."""
    padded = f"  {text}  "
    return sum(
        _odd(padded[i - 2], padded[i - 1], padded[i], padded[i + 1])
        for i in range(2, len(padded) - 2)
        if padded[i] > "\x7f"
    )


def _odd(before: str, left: str, here: str, right: str) -> float:
    if here.isspace():
        return 0.0
    if here == "’":
        return _odd_apostrophe(before, left, right)
    if here.isalpha() and here not in _NO_LETTERS_OF_NAMES:
        return _odd_letter(left, here, right)
    if left.isalpha() and right.isalpha():
        return 2.0
    if left.isalpha() or right.isalpha():
        return 0.5 if here in _QUOTES else 1.5
    return 1.0 if left > "\x7f" and not left.isspace() else 0.0


def _odd_apostrophe(before: str, left: str, right: str) -> float:
    """O’Neil and D’Angelo are common, d’amore less so, and Mart’nez is a wrongly decoded letter."""
    if not (left.isalpha() and right.isalpha()) or right.isupper():
        return 0.0
    return 0.25 if not before.isalpha() else 0.75


def _odd_letter(left: str, here: str, right: str) -> float:
    odd = 0.0
    if here.isupper() and left.islower():
        odd += 2.0
    if here.islower() and right.isupper():
        odd += 2.0 if left.isupper() else 1.0
    if here.islower() and not left.isalpha():
        odd += 0.5
    if here.lower() in _UNUSUAL:
        odd += 0.5
    script = _script(here)
    if any(side.isalpha() and _script(side) != script for side in (left, right)):
        odd += 3.0
    if script == "LATIN" and left > "\x7f" and left.isalpha():
        odd += 0.5
    return odd + _odd_sound(left, here, right)


def _odd_sound(left: str, here: str, right: str) -> float:
    """The oddness of a vowel between vowels, or a consonant among consonants."""
    vowel = _is_vowel(here)
    sides = [side for side in (left, right) if side.isalpha()]
    same = [side for side in sides if _is_vowel(side) == vowel]
    if sides and len(same) == len(sides):
        return 1.0 if len(sides) == 2 else 0.25
    return 0.0


def _is_vowel(character: str) -> bool:
    return unicodedata.normalize("NFD", character.lower())[0] in _VOWELS


def _script(character: str) -> str:
    return unicodedata.name(character, "?").split(" ", 1)[0]
