"""File names that Windows, macOS and Linux all take, and no two of them the same on any of these."""

from __future__ import annotations

import hashlib
import os
import re
import unicodedata
from collections.abc import Callable, Iterable
from pathlib import Path

LONGEST = 200
"""Bytes of UTF-8, in the composed and in the decomposed form. File systems take 255 bytes or UTF-16 units
(common practice, no source); what is left is for endings, numbers and what others add to a name."""

MAX_BYTES = 255
"""Bytes of a file's name that file systems take at most (common practice, no source)."""

_INSTEAD = "-"
_FORBIDDEN = frozenset('<>:"/\\|?*%')
"""Those that Windows refuses, and %, which stands for others in the manifest of a bag (RFC 8493, 2.1.3)."""
_AROUND = re.compile(r"^['`\"]+|['`\"]+$")
_FIRST = "-=+@~.' "
"""Not at the beginning: programs would take such a name for an option, a formula or a hidden file."""


def safe_name(text: str, ascii_only: bool = False) -> str:
    """`text` as part of a file name, composed (NFC); in the letters of ASCII if asked."""
    if ascii_only:
        text = _in_ascii(text)
    plain = unicodedata.normalize("NFC", "".join(map(_allowed, unicodedata.normalize("NFC", text))))
    return " ".join(plain.split()).strip(_INSTEAD + " ").lstrip(".")


def _in_ascii(text: str) -> str:
    """Every word in Latin letters; scripts without capitals get one, and marks of a reading around it go."""
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
    """The name that `fill` makes of these values, none of it reserved or too long: the longest text in it is
    shortened, so that numbers behind it stay. Empty where nothing is left."""
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
    """`text` as the name of a folder; empty where nothing of it is left."""
    return _whole(truncate_bytes(safe_name(text, ascii_only), LONGEST))


def _whole(name: str) -> str:
    """A name as a whole: no reserved one, and nothing that is dropped at its ends."""
    from pathvalidate import sanitize_filename

    name = name.lstrip(_FIRST).rstrip(". ")
    # pathvalidate knows the names that Windows keeps for devices, also before an ending.
    kept = str(sanitize_filename(name, platform="universal", max_len=4 * LONGEST)) if name else ""
    return kept if _stem(kept) == _stem(name) else f"{_stem(name)}_{name[len(_stem(name)) :]}"


def _stem(name: str) -> str:
    return name.split(".", 1)[0]


def truncate_bytes(text: str, most: int) -> str:
    """The beginning of a text within so many bytes, not cut between a letter and its marks."""
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
    """Names for which this is the same are one file where case or composed letters do not count."""
    folded = unicodedata.normalize("NFD", name).casefold()
    return unicodedata.normalize("NFC", folded)


def fits_limit(name: str) -> bool:
    """Whether a file can have that name."""
    return len(os.fsencode(name)) <= MAX_BYTES


def draft_of(path: Path, tail: str = "") -> Path:
    """Where a file or folder is written before it gets its name: a hidden name beside it that ends in `tail`
    and `.part`, shortened so that the longest name that can be given has one too."""
    ending = f"{tail}.part"
    draft = f".{path.name}{ending}"
    if not fits_limit(draft):
        digest = hashlib.sha256(os.fsencode(path.name)).hexdigest()[:16]
        draft = f".{truncate_bytes(path.name, LONGEST)}.{digest}{ending}"
    return path.with_name(draft)


class UsedNames:
    """The names that are in use in one folder."""

    def __init__(self, names: Iterable[str] = ()) -> None:
        self._taken = {comparable_name(name) for name in names}

    def __contains__(self, name: str) -> bool:
        return comparable_name(name) in self._taken

    def add(self, name: str) -> None:
        self._taken.add(comparable_name(name))

    def unused_name(self, stem: str, ending: str = "") -> str:
        """That name, or the first free one with a number behind it, which is taken then."""
        number = 1
        while (name := f"{stem}{'' if number == 1 else f'_{number}'}{ending}") in self:
            number += 1
        self.add(name)
        return name
