"""Slate codes, clock codes and pick codes: making, checking and parsing them.

A slate code is what a QR slate holds. It has 12 characters, `MMSSSSPPPPPC`:

- `MM` the project's mark, always `NX`, so that a foreign QR code is never taken for a slate;
- `SSSS` the shoot's mark, which distinguishes it from slates of other shoots;
- `PPPPP` the person or the deck card, drawn at random: it reveals nothing about them;
- `C` the check character of ISO/IEC 7064 MOD 37,36.

Twelve characters fit a version 1 symbol at error correction Q in alphanumeric mode, which holds 16 (ISO/IEC
18004, table 7). People type codes too, so every character, the check character included, comes from an
alphabet without look-alikes (neither O nor 0, neither I nor 1), and a code is issued only if every swap of
two neighbours breaks the check: MOD 37,36 by itself lets a few swaps through.

A clock code is what a clock slate holds: the door's time. It has 17 characters, `CT SSSS DDDDDDDDDD C`: a
mark, the shoot's mark, the seconds since 1970 UTC in ten digits, and the check character. By its mark and its
length it is neither a slate code nor a pick code, and it needs a version 2 symbol where slates have version
1.

A pick code is what a person sends back to say which of their pictures they chose. It uses the same alphabet
and is written in groups of four. Its parts are `PK T SSSS PPPPP FF… C`:

- `PK` marks a pick code;
- `T` is a free character, chosen so that the check detects swaps of neighbours wherever possible;
- `SSSS` and `PPPPP` are the shoot's mark and the person's part of their slate code;
- `FF` is the number of a picture on the person's proofs in base 21, once for each pick, first choice first;
- `C` is the check character of ISO/IEC 7064 MOD 37,36.

A changed character always breaks the check. Pick codes have an odd length, so a code that lacks its last
group of four is never taken for a complete code. `onsite/proofs/page.js` makes pick codes in the browser by
the same rules.
"""

from __future__ import annotations

import random
import re
import secrets
from collections.abc import Container, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

ALPHABET = "3479ACDEFHJKMNPQRTWXY"
"""The alphabet of all codes. Left out as look-alikes: 0 O, 1 I L, 2 Z, 5 S, 6 G, 8 B, U V."""

PROJECT_MARK = "NX"
SHOOT_LENGTH = 4
"""Characters: with 21 of them 194,481 marks, so that two shoots of one photographer hardly share one."""
HOLDER_LENGTH = 5
"""Characters for a person or a card within a shoot."""
CODE_LENGTH = len(PROJECT_MARK) + SHOOT_LENGTH + HOLDER_LENGTH + 1

_SEPARATORS = " -‐‑‒–—_.\u00a0\t"
_TAKEN_OUT = str.maketrans("", "", _SEPARATORS)
"""Removes the separators that people write between groups of characters."""


@dataclass(frozen=True, slots=True)
class SlateCode:
    """A slate code with a valid check character: its 12 characters, without spaces."""

    text: str

    @property
    def shoot(self) -> str:
        """The shoot's mark in the code."""
        return self.text[len(PROJECT_MARK) :][:SHOOT_LENGTH]

    @property
    def spaced(self) -> str:
        """The code as printed under a symbol: three groups of four."""
        return spaced_code(self.text)


def spaced_code(text: str) -> str:
    """`NX34ACDEFHJK` as `NX34 ACDE FHJK`."""
    return " ".join(text[start : start + 4] for start in range(0, len(text), 4))


@lru_cache(maxsize=1 << 15)  # matching asks for the same codes again and again
def parse_slate_code(typed: str) -> SlateCode | None:
    """The slate code that was typed or read from a symbol; None if it is not one of this project's.

    Lower case, spaces and dashes are accepted. A wrong character or a swap of neighbours gives None.
    """
    text = typed.translate(_TAKEN_OUT).upper()
    if len(text) != CODE_LENGTH or not text.startswith(PROJECT_MARK) or not set(text) <= set(ALPHABET):
        return None
    return SlateCode(text) if has_valid_check(text) else None


def has_valid_check(text: str) -> bool:
    """Whether the last character is the right one by ISO/IEC 7064 MOD 37,36."""
    from stdnum.iso7064 import mod_37_36

    return bool(mod_37_36.is_valid(text))


def new_shoot_mark(rng: random.Random | None = None) -> str:
    """A random mark for a new shoot; no swap of neighbours in it passes the check."""
    while True:
        mark = _random_characters(SHOOT_LENGTH, rng)
        head = PROJECT_MARK + mark
        text = _with_check(head + ALPHABET[0] * HOLDER_LENGTH)
        if not any(has_valid_check(swapped + text[len(head) :]) for swapped in adjacent_swaps(head)):
            return mark


def new_code(shoot_mark: str, taken: Container[str], rng: random.Random | None = None) -> str:
    """A new code for a person or a deck card, not in `taken`. Pass `rng` to repeat a draw exactly."""
    while True:
        text = _with_check(PROJECT_MARK + shoot_mark + _random_characters(HOLDER_LENGTH, rng))
        if text[-1] in ALPHABET and text not in taken and not _allows_a_swap(text):
            return text


def _random_characters(length: int, rng: random.Random | None) -> str:
    source = rng or secrets.SystemRandom()
    return "".join(source.choice(ALPHABET) for _ in range(length))


def _with_check(body: str) -> str:
    from stdnum.iso7064 import mod_37_36

    return body + str(mod_37_36.calc_check_digit(body))


def _allows_a_swap(text: str) -> bool:
    return any(has_valid_check(swapped) for swapped in adjacent_swaps(text))


def adjacent_swaps(text: str) -> list[str]:
    """Every text that results from swapping two different neighbours in `text`."""
    return [
        text[:i] + text[i + 1] + text[i] + text[i + 2 :]
        for i in range(len(text) - 1)
        if text[i] != text[i + 1]
    ]


CLOCK_MARK = "CT"
_CLOCK_CODE = re.compile(
    rf"{CLOCK_MARK}(?P<shoot>[{ALPHABET}]{{{SHOOT_LENGTH}}})(?P<seconds>[0-9]{{10}})[0-9A-Z]"
)


@dataclass(frozen=True, slots=True)
class ClockCode:
    """A clock code with a valid check character."""

    shoot: str
    """The shoot's mark."""
    seconds: int
    """The door's time, in seconds since 1970 UTC."""


def clock_code(shoot_mark: str, seconds: int) -> str:
    """The clock code of a moment. Raises ValueError for a moment before September 2001 or after 2286."""
    if len(str(seconds)) != 10 or seconds < 0:
        raise ValueError(f"no clock code for {seconds} seconds")
    return _with_check(f"{CLOCK_MARK}{shoot_mark}{seconds}")


@lru_cache(maxsize=1 << 10)  # matching asks for the same codes again and again
def parse_clock_code(text: str) -> ClockCode | None:
    """The clock code read from a symbol; None for any other text, and where a character is wrong."""
    found = _CLOCK_CODE.fullmatch(text)
    if found is None or not has_valid_check(text):
        return None
    return ClockCode(found["shoot"], int(found["seconds"]))


class SlateKind(StrEnum):
    """The kind of a QR symbol, or of all symbols of a frame together."""

    READ = "read"
    """A slate of this shoot."""
    CLOCK = "clock slate"
    """The door's time, for this shoot."""
    OTHER_SHOOT = "another shoot's"
    UNREAD = "seen but not read"
    FOREIGN = "foreign code"
    """A readable code that is not a slate."""
    NOTHING = "nothing"


def slate_kind(text: str | None, shoot: str) -> SlateKind:
    """Classifies a symbol whose content is `text` (None if unreadable) for the shoot with the mark `shoot`.

    A text that looks like a slate code but fails its check counts as a slate that cannot be read.
    """
    if text is None:
        return SlateKind.UNREAD
    clock = parse_clock_code(text)
    if clock is not None:
        return SlateKind.CLOCK if clock.shoot == shoot else SlateKind.OTHER_SHOOT
    code = parse_slate_code(text)
    if code is not None:
        return SlateKind.READ if code.shoot == shoot else SlateKind.OTHER_SHOOT
    is_damaged = len(text) == CODE_LENGTH and text.upper().startswith(PROJECT_MARK)
    return SlateKind.UNREAD if is_damaged else SlateKind.FOREIGN


PICK_PREFIX = "PK"
_PICK_GROUP = 4  # characters between two dashes, as a code is printed
MOST_PICTURES = len(ALPHABET) ** 2
"""The maximum number of pictures on a person's proofs: two characters number them."""

_FIXED = len(PICK_PREFIX) + 1 + SHOOT_LENGTH + HOLDER_LENGTH + 1
SHORTEST_PICK_CODE = len(PICK_PREFIX) + 1 + SHOOT_LENGTH
"""Characters; a shorter text is never considered a pick code, whole or not."""

_GAP = "[ \u00a0\u202f\t.‐‑‒–—_-]{0,3}"
_PICK_CODE_SHAPE = re.compile(
    rf"(?<![0-9A-Za-z])P{_GAP}K(?:{_GAP}[0-9A-Za-z]){{{SHORTEST_PICK_CODE - 2},80}}(?![0-9A-Za-z])",
    re.IGNORECASE,
)
_MARKS = re.compile(r"[^0-9A-Za-z]+")


@dataclass(frozen=True, slots=True)
class PickCode:
    """A pick code with a valid check; `pictures` are numbers on the person's proofs, from 0, each once."""

    shoot: str
    holder: str
    pictures: tuple[int, ...]


def holder_of(slate_code: str) -> str:
    """The person's own part of their slate code."""
    start = len(PROJECT_MARK) + SHOOT_LENGTH
    return slate_code[start : start + HOLDER_LENGTH]


def pick_code(shoot: str, holder: str, pictures: Sequence[int]) -> str:
    """The pick code for these pictures, in groups of four. Raises ValueError if empty or out of range."""
    if not pictures or not all(0 <= number < MOST_PICTURES for number in pictures):
        raise ValueError(f"no pick code for the pictures {pictures!r}")
    numbers = "".join(ALPHABET[n // len(ALPHABET)] + ALPHABET[n % len(ALPHABET)] for n in pictures)
    drawn = [_with_check(PICK_PREFIX + free + shoot + holder + numbers) for free in ALPHABET]
    possible = [text for text in drawn if text[-1] in ALPHABET]
    return spaced_code(next((text for text in possible if not _allows_a_swap(text)), possible[0]))


def parse_pick_code(typed: str) -> PickCode | None:
    """The pick code that was typed; None if it is not a pick code or has a wrong character."""
    text = _MARKS.sub("", typed).upper()
    numbers = text[_FIXED - 1 : -1]
    if not text.startswith(PICK_PREFIX) or len(text) <= _FIXED or len(numbers) % 2:
        return None
    if not set(text) <= set(ALPHABET) or not has_valid_check(text):
        return None
    places = [ALPHABET.index(char) for char in numbers]
    pictures = [high * len(ALPHABET) + low for high, low in zip(places[::2], places[1::2], strict=True)]
    start = len(PICK_PREFIX) + 1
    return PickCode(
        text[start : start + SHOOT_LENGTH],
        text[start + SHOOT_LENGTH : _FIXED - 1],
        tuple(dict.fromkeys(pictures)),
    )


def find_pick_codes(text: str, mark: str = "") -> Iterator[tuple[str, PickCode | None]]:
    """Yields everything in a line that looks like a pick code: (as written, the parsed code or None).

    The parsed code is None if the text is incomplete, has a wrong character, or could end in more than one
    place. A text that is too short for any code counts only if it contains the shoot's `mark`.
    """
    for found in _PICK_CODE_SHAPE.finditer(text):
        written = found.group()
        ends = [match.end() for match in re.finditer(r"[0-9A-Za-z]+", written)]
        parsed = {end: code for end in ends if (code := parse_pick_code(written[:end])) is not None}
        if len(parsed) == 1:
            end, code = next(iter(parsed.items()))
            yield written[:end], code
        elif len(bare := _MARKS.sub("", written).upper()) >= _FIXED or (mark and mark in bare[2:8]):
            yield written, None


def code_problem(written: str) -> str:
    """Why a text that looks like a pick code is not valid, and what is missing if that is known."""
    groups = re.findall("[0-9A-Za-z]+", written)
    while len(groups) > 1 and _is_word(groups[-1], groups[0]):
        del groups[-1]
    groups = [group.upper() for group in groups]
    text = "".join(groups)
    if strange := sorted(set(text) - set(ALPHABET)):
        return f"this pick code has a wrong character: no code has {' or '.join(strange)} in it"
    short = next((group for group in groups[:-1] if len(group) < _PICK_GROUP), "")
    if len(groups) > 1 and short:
        length = f"{len(short)} characters instead of {_PICK_GROUP}"
        return f"this pick code is not whole: its group {short} has {length}"
    if len(text) < _FIXED + 2:
        return f"this pick code is not whole: what comes after {groups[-1]} is missing"
    if len(text) % 2 == 0:
        return f"this pick code is not whole: after {groups[-1]} its last group, or a character, is missing"
    return "this pick code has a wrong character, or is not whole"


def _is_word(group: str, first: str) -> bool:
    """Whether a group is more likely a word that follows a code beginning with the group `first`."""
    known = set(group.upper()) <= set(ALPHABET)
    return group.isalpha() and (not known or (group.islower() and first.isupper()))
