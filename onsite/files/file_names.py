"""File names that Windows, macOS and Linux all accept and that are distinct on each of them."""

from __future__ import annotations

import hashlib
import os
import re
import unicodedata
from collections.abc import Callable, Iterable
from pathlib import Path

LONGEST = 200
"""Bytes of UTF-8, in the composed and in the decomposed form. File systems accept 255 bytes or UTF-16 units
(common practice, no source); the rest is left for extensions, numbers and what others add to a name."""

MAX_BYTES = 255
"""The longest file name that file systems accept, in bytes (common practice, no source)."""

_INSTEAD = "-"
_FORBIDDEN = frozenset('<>:"/\\|?*%')
"""Characters that Windows refuses, and %, which is the escape in the manifest of a bag (RFC 8493, 2.1.3)."""
_AROUND = re.compile(r"^['`\"]+|['`\"]+$")
_FIRST = "-=+@~.' "
"""Not allowed at the beginning: programs would take the name for an option, a formula or a hidden file."""


def safe_name(text: str, ascii_only: bool = False) -> str:
    """`text` as part of a file name, composed (NFC); transliterated to ASCII if asked."""
    if ascii_only:
        text = _in_ascii(text)
    plain = unicodedata.normalize("NFC", "".join(map(_allowed, unicodedata.normalize("NFC", text))))
    return " ".join(plain.split()).strip(_INSTEAD + " ").lstrip(".")


def _in_ascii(text: str) -> str:
    """The words transliterated to ASCII; a word in a script without capitals is capitalised."""
    from anyascii import anyascii

    words = []
    for word in text.split():
        plain = word if word.isascii() else _AROUND.sub("", anyascii(word))
        words.append(plain[:1].upper() + plain[1:] if word.upper() == word.lower() else plain)
    return " ".join(words)


def _allowed(character: str) -> str:
    if character.isspace():
        return " "
    kind = unicodedata.category(character)
    if character in _FORBIDDEN or kind in ("Cc", "Cs", "Co", "Cn"):
        return _INSTEAD
    return "" if kind == "Cf" else character


def name_within_limit(
    values: dict[str, str | int | None], fill: Callable[[dict[str, str | int | None]], str]
) -> str:
    """The name that `fill` makes of these values, neither reserved nor too long; empty if nothing is left.

    The longest text in it is shortened, so that the numbers after it stay.
    """
    values = {
        field: truncate_bytes(value, LONGEST) if isinstance(value, str) else value
        for field, value in values.items()
    }
    name = _whole(fill(values))
    while _size(name) > LONGEST:
        texts = {field: text for field, text in values.items() if isinstance(text, str)}
        longest = max(texts, key=lambda field: _size(texts[field]) if texts[field] in name else 0, default="")
        if not longest or not texts[longest]:
            return _whole(truncate_bytes(name, LONGEST))
        values[longest] = truncate_bytes(texts[longest], _size(texts[longest]) - 1)
        name = _whole(fill(values))
    return name


def folder_name(text: str, ascii_only: bool = False) -> str:
    """`text` as the name of a folder; empty if nothing of it is left."""
    return _whole(truncate_bytes(safe_name(text, ascii_only), LONGEST))


def _whole(name: str) -> str:
    """A complete name: not reserved, and without characters that are dropped at its ends."""
    from pathvalidate import sanitize_filename

    name = name.lstrip(_FIRST).rstrip(". ")
    # pathvalidate knows the names that Windows reserves for devices, also before an extension.
    kept = str(sanitize_filename(name, platform="universal", max_len=4 * LONGEST)) if name else ""
    return kept if _stem(kept) == _stem(name) else f"{_stem(name)}_{name[len(_stem(name)) :]}"


def _stem(name: str) -> str:
    return name.split(".", 1)[0]


def truncate_bytes(text: str, most: int) -> str:
    """The beginning of a text, at most `most` bytes, not cut between a letter and its combining marks."""
    text = text[:most]
    while text and _size(text) > most:
        text = text[:-1]
        while text and _joins(text[-1]):
            text = text[:-1]
    return text.rstrip(" ")


def _joins(character: str) -> bool:
    return unicodedata.category(character) in ("Mn", "Me", "Cf")


def _size(text: str) -> int:
    return max(len(unicodedata.normalize(form, text).encode()) for form in ("NFC", "NFD"))


def comparable_name(name: str) -> str:
    """The key under which file systems that ignore case or composition take two names for one file."""
    folded = unicodedata.normalize("NFD", name).casefold()
    return unicodedata.normalize("NFC", folded)


def fits_limit(name: str) -> bool:
    """Whether a file can have that name."""
    return len(os.fsencode(name)) <= MAX_BYTES


def draft_of(path: Path, tail: str = "") -> Path:
    """Where a file or folder is written before it is renamed: a hidden name beside it.

    The name ends in `tail` and `.part`. It is shortened with a digest if necessary, so that the longest
    possible name has a draft too.
    """
    ending = f"{tail}.part"
    draft = f".{path.name}{ending}"
    if not fits_limit(draft):
        digest = hashlib.sha256(os.fsencode(path.name)).hexdigest()[:16]
        draft = f".{truncate_bytes(path.name, LONGEST)}.{digest}{ending}"
    return path.with_name(draft)


class UsedNames:
    """The names in use in one folder, compared as file systems do."""

    def __init__(self, names: Iterable[str] = ()) -> None:
        self._taken = {comparable_name(name) for name in names}

    def __contains__(self, name: str) -> bool:
        return comparable_name(name) in self._taken

    def add(self, name: str) -> None:
        self._taken.add(comparable_name(name))

    def unused_name(self, stem: str, ending: str = "") -> str:
        """The first free name among stem, stem_2, stem_3 …; it is in use from then on."""
        number = 1
        while (name := f"{stem}{'' if number == 1 else f'_{number}'}{ending}") in self:
            number += 1
        self.add(name)
        return name
