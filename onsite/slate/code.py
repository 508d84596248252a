"""The slate code: what a QR slate says.

A code is 12 characters, `MMSSSSPPPPPC`:

- `MM` the project's mark, always `NX`, so that a foreign QR code is never taken for a slate;
- `SSSS` the shoot's mark, so that a slate of another shoot is told apart;
- `PPPPP` the person or the deck card, drawn at random: it says nothing about them;
- `C` the check character of ISO/IEC 7064 MOD 37,36.

Twelve characters fit a version 1 symbol at error correction Q in alphanumeric mode, which holds 16
(ISO/IEC 18004, table 7). People type codes too, so every character, the check character included, comes
from an alphabet in which no two look alike, and a code is only ever issued when each swap of two neighbours
in it breaks the check: MOD 37,36 by itself lets a few swaps through.
"""

from __future__ import annotations

import random
import secrets
from collections.abc import Container
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

ALPHABET = "3479ACDEFHJKMNPQRTWXY"
"""Left out: 0 O, 1 I L, 2 Z, 5 S, 6 G, 8 B, U V."""

PROJECT_MARK = "NX"
SHOOT_LENGTH = 4
HOLDER_LENGTH = 5
CODE_LENGTH = len(PROJECT_MARK) + SHOOT_LENGTH + HOLDER_LENGTH + 1

_SEPARATORS = " -‐‑‒–—_.\u00a0\t"
_TAKEN_OUT = str.maketrans("", "", _SEPARATORS)
"""What people put between groups of characters when they write a code down."""


@dataclass(frozen=True, slots=True)
class SlateCode:
    """A code that passed its check: `text` in full, and the `shoot` mark in it."""

    text: str

    @property
    def shoot(self) -> str:
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
    """The code that somebody typed or a symbol holds, or None when it is not one of this project's.

    Lower case, spaces and dashes are accepted. A wrong or swapped character gives None.
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
    """A mark for a new shoot, at random: one that does not itself hide a swap from the check."""
    while True:
        mark = _random_characters(SHOOT_LENGTH, rng)
        head = PROJECT_MARK + mark
        text = _with_check(head + ALPHABET[0] * HOLDER_LENGTH)
        if not any(has_valid_check(swapped + text[len(head) :]) for swapped in adjacent_swaps(head)):
            return mark


def new_code(shoot_mark: str, taken: Container[str], rng: random.Random | None = None) -> str:
    """A code for one more person or deck card, not in `taken`. Pass `rng` to repeat a draw exactly."""
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
    """Every text made from `text` by swapping two unlike neighbours."""
    return [
        text[:i] + text[i + 1] + text[i] + text[i + 2 :]
        for i in range(len(text) - 1)
        if text[i] != text[i + 1]
    ]


class SlateKind(StrEnum):
    """What a symbol is, or all symbols of a frame together."""

    READ = "read"
    """A slate of this shoot."""
    OTHER_SHOOT = "another shoot's"
    UNREAD = "seen but not read"
    FOREIGN = "foreign code"
    """It reads and is no slate."""
    NOTHING = "nothing"


def slate_kind(text: str | None, shoot: str) -> SlateKind:
    """What a symbol is, of which `text` was read, to the shoot with that mark.

    A text of this project's form whose check fails is a slate that does not read, whatever happened to it.
    """
    if text is None:
        return SlateKind.UNREAD
    code = parse_slate_code(text)
    if code is not None:
        return SlateKind.READ if code.shoot == shoot else SlateKind.OTHER_SHOOT
    is_damaged = len(text) == CODE_LENGTH and text.upper().startswith(PROJECT_MARK)
    return SlateKind.UNREAD if is_damaged else SlateKind.FOREIGN
