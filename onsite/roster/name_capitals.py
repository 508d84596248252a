"""Names in capitals, and how they are normally written: "HORVAT Ana" is Ana Horvat.

Names are changed only on request, and only if the letters leave no doubt: "DE LA CRUZ", "MACE" and "VON" are
left for a person to correct. What capitals leave out (ß, accents) stays out. The rules are common practice of
the languages named beside them, from memory.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from onsite.core.text import escaped
from onsite.roster.person_names import LOWER_ONLY, PARTICLES, fold_name, full_name
from onsite.roster.roster_entry import ListNotice, RosterEntry

_DUTCH = frozenset(("van de", "van den", "van der", "van het", "van 't"))
"""Lower case after a given name by the Dutch rule; Belgian families often capitalise the first word."""

_DOUBTFUL_BEGINNINGS = ("MAC", "MC", "FITZ", "IJ")
"""MacDonald and Mace, McCall and Mccall, FitzRoy and Fitzroy, IJsbrand: capitals do not show which."""

_SUFFIXES = {"II": "II", "III": "III", "IV": "IV", "JR": "Jr", "SR": "Sr", "JR.": "Jr.", "SR.": "Sr."}
_PARTS = re.compile(r"([-‐‑–'’ʼ])")
_APOSTROPHES = "'’ʼ"
_EXAMPLES = 5  # names shown with the question


class Capitals(StrEnum):
    """What to do with names in capitals."""

    KEEP = "keep"
    SET = "set"


@dataclass(frozen=True, slots=True)
class CapitalisedNames:
    """The names of a list that are in capitals.

    `changes` are (row, name in the list, name in mixed case), `left` are (row, name) of ambiguous names.
    `choice` is empty if nobody chose.
    """

    changes: tuple[tuple[int, str, str], ...] = ()
    left: tuple[tuple[int, str], ...] = ()
    choice: str = ""

    @property
    def notices(self) -> list[ListNotice]:
        """What was done or is offered, with examples."""
        if (not self.changes and not self.left) or self.choice == Capitals.KEEP:
            return []
        examples = ", ".join(f"{escaped(old)} → {escaped(new)}" for _, old, new in self._examples())
        left = ", ".join(f"{escaped(name)} (row {row})" for row, name in self.left[:10])
        left += " …" if len(self.left) > 10 else ""
        if self.choice == Capitals.SET:
            lines = [f"names in capitals are set as names are written: {len(self.changes)} ({examples})"]
            lines += (
                [f"left in capitals, since they may be written in two ways: {len(self.left)} ({left})"]
                if left
                else []
            )
            return [ListNotice(0, text) for text in (lines if self.changes else lines[1:])]
        total = len(self.changes) + len(self.left)
        text = f"names in capitals: {total}; they are kept. To set them as names are written: --capitals set"
        text += f" ({examples})" if examples else ""
        text += f"; these it would leave: {left}" if left else ""
        return [ListNotice(0, f"{text}. To keep them and not be asked again: --capitals keep")]

    def _examples(self) -> Sequence[tuple[int, str, str]]:
        """A few examples of different kinds: names with several words or punctuation first."""
        return sorted(self.changes, key=lambda change: -len(re.findall(r"[^\w]|[a-z][A-Z]", change[1])))[
            :_EXAMPLES
        ]


def apply_capitals(entries: Sequence[RosterEntry], choice: str) -> tuple[list[RosterEntry], CapitalisedNames]:
    """The entries, with names in mixed case if that was chosen; and the names in capitals."""
    changes: list[tuple[int, str, str]] = []
    left: list[tuple[int, str]] = []
    result: list[RosterEntry] = []
    for entry in entries:
        written = in_mixed_case(entry)
        if written is None:
            left.append((entry.row, entry.name))
        elif written != entry:
            changes.append((entry.row, entry.name, written.name))
        result.append(written if choice == Capitals.SET and written is not None else entry)
    return result, CapitalisedNames(tuple(changes), tuple(left), choice)


def in_mixed_case(entry: RosterEntry) -> RosterEntry | None:
    """An entry with its names in mixed case.

    The same entry if no name is in capitals; None if the capitals are ambiguous.
    """
    family_or_only = entry.family or entry.given
    if not _is_in_capitals(family_or_only):
        return entry
    is_turkish = bool(set("İŞĞışğ") & set(entry.given + entry.family))
    if not _is_in_capitals(entry.given) and any(
        _has_capitals(word) and len(word) > 2 for word in entry.given.split()
    ):
        return None  # part of the family name may be among the given names
    family = _part(entry.family, is_turkish)
    given = _part(entry.given, is_turkish) if _is_in_capitals(entry.given) else entry.given
    if family is None or given is None or _may_be_initials(entry.given):
        return None
    if fold_name(entry.name) in {
        fold_name(f"{entry.given} {entry.family}"),
        fold_name(f"{entry.family} {entry.given}"),
    }:
        name = full_name(given, family)
    else:
        name = entry.name.replace(entry.family or entry.given, family or given)
        name = name.replace(entry.given, given) if entry.given and entry.family else name
    return replace(entry, name=name, given=given, family=family)


def _is_in_capitals(part: str) -> bool:
    """Whether each word is in capitals, a particle, or begins in lower case: "McDONALD", "van der BERG"."""
    words = [word for word in part.split() if sum(map(str.isalpha, word)) > 1]
    raised = [word for word in words if _has_capitals(word)]
    return bool(raised) and all(word in raised or (word in PARTICLES and word.islower()) for word in words)


def _has_capitals(word: str) -> bool:
    """Whether a word ends in at least two capitals."""
    letters = "".join(filter(str.isalpha, word))
    return len(letters) > 1 and letters[-2:].isupper() and letters[-2:].lower() != letters[-2:]


def _may_be_initials(given: str) -> bool:
    """Whether a given name may be initials, two capitals: JO or J. O."""
    return any(word.isupper() and sum(map(str.isalpha, word)) == 2 for word in given.split())


def _part(part: str, is_turkish: bool) -> str | None:
    words = part.split()
    if len(words) > 2 and " ".join(words[:2]).lower() in _DUTCH:
        rest = _part(" ".join(words[2:]), is_turkish)
        return None if rest is None else f"{' '.join(words[:2]).lower()} {rest}"
    written = [_word(word, len(words) == 1, is_turkish) for word in words]
    return None if None in written else " ".join(filter(None, written))


def _word(word: str, is_only_word: bool, is_turkish: bool) -> str | None:
    if word in _SUFFIXES:
        return _SUFFIXES[word]
    if not _has_capitals(word) or (word.endswith(".") and len(word) <= 3):
        return word
    plain = word.casefold()
    if word.isupper() and plain in PARTICLES and not (is_only_word and plain in LOWER_ONLY):
        return None
    pieces = _PARTS.split(word)
    result: list[str] = []
    for place, piece in enumerate(pieces):
        before_apostrophe = place + 1 < len(pieces) and pieces[place + 1] in _APOSTROPHES
        if before_apostrophe and piece.isupper() and len(piece) < 3 and piece != "O":
            return None  # D'ANGELO: d'Angelo in one family, D'Angelo in another
        written = _piece(piece, is_turkish)
        if written is None:
            return None
        result.append(written)
    return "".join(result)


def _piece(piece: str, is_turkish: bool) -> str | None:
    """A word, or a part between hyphens and apostrophes."""
    if not _has_capitals(piece):
        return piece
    if piece.isupper() and len(piece) > 2 and piece.startswith(_DOUBTFUL_BEGINNINGS):
        return None
    if "I" in piece and is_turkish:
        return None  # ı or i
    if re.search(r"[\u0370-\u03ff]", piece):
        return None  # Greek capitals leave the accents out
    start = max((place + 1 for place, letter in enumerate(piece) if letter.islower()), default=0)
    raised = piece[start:]
    return piece[:start] + raised[:1] + raised[1:].replace("İ", "i").lower()
