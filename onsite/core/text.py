"""Text for people: days, counted nouns, amounts of money, and safe display of untrusted text."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal, InvalidOperation


def format_day(day: date | datetime) -> str:
    """A day in full.

    >>> format_day(date(2026, 6, 13))
    '13 June 2026'
    """
    return f"{day.day} {day:%B %Y}"


def format_iso_date(iso: str) -> str:
    """An ISO 8601 date in full; empty if the text is empty.

    >>> format_iso_date("2026-06-13"), format_iso_date("")
    ('13 June 2026', '')
    """
    return format_day(date.fromisoformat(iso)) if iso else ""


def plural(number: int, word: str, words: str = "") -> str:
    """A number with its noun, singular or plural.

    >>> plural(1, "file"), plural(1200, "person", "people")
    ('1 file', '1,200 people')
    """
    return f"{number:,} {word if number == 1 else words or word + 's'}"


def listed(texts: Sequence[str], most: int = 10) -> str:
    """Texts on one line, at most so many of them.

    >>> listed(["Ana", "Bo", "Cleo"]), listed(["Ana", "Bo", "Cleo"], 2)
    ('Ana, Bo, Cleo', 'Ana, Bo and 1 more')
    """
    more = f" and {len(texts) - most:,} more" if len(texts) > most else ""
    return ", ".join(texts[:most]) + more


def format_chance(chance: float) -> str:
    """A probability in per cent, with as many digits as tell it from 0 and from 100.

    >>> format_chance(0.634), format_chance(0.99982), format_chance(0.004), format_chance(1.0)
    ('63 %', '99.98 %', 'less than 1 %', '100 %')
    """
    if chance < 0.01:
        return "less than 1 %"
    if 0.99 < chance < 1.0:
        return f"{min(100 * chance, 99.99):.2f} %"
    return f"{100 * chance:.0f} %"


def format_money(amount: Decimal, currency: str) -> str:
    """An amount of money with its currency.

    >>> format_money(Decimal("1234.5"), "EUR")
    '1,234.50 EUR'
    """
    return f"{amount:,.2f} {currency}".rstrip()


def parse_amount(text: str) -> Decimal | None:
    """The amount of money in a text; None if it is not a finite number.

    >>> parse_amount("12.50"), parse_amount("soon"), parse_amount("NaN")
    (Decimal('12.50'), None, None)
    """
    try:
        number = Decimal(text)
    except InvalidOperation:
        return None
    return number if number.is_finite() else None


JOINERS = "\u200c\u200d"
"""Zero-width non-joiner and joiner: they control shaping and need no glyph of their own."""

DIRECTION_CONTROLS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""Change the direction of the text after them: LRE, RLE, PDF, LRO, RLO, LRI, RLI, FSI, PDI (UAX 9)."""

SUBSTITUTE = "\ufffd"
"""Shown in place of a character that must not take effect or has no glyph."""


def shown(text: str) -> str:
    """`text` without any character that a terminal or a typesetter would act on.

    White space, line breaks included, becomes single spaces. Other control characters, overrides of the
    reading direction, private and unassigned characters become U+FFFD. Joiners stay, as Persian and the Indic
    scripts need them; other invisible characters are removed.
    """
    return " ".join("".join(_shown(char) for char in unicodedata.normalize("NFC", text)).split())


def _shown(char: str) -> str:
    if char.isspace():
        return " "
    kind = unicodedata.category(char)
    if kind in ("Cc", "Cs", "Co", "Cn") or char in DIRECTION_CONTROLS:
        return SUBSTITUTE
    return "" if kind == "Cf" and char not in JOINERS else char


def escaped(text: str, longest: int = 60) -> str:
    """`text` on one line for a message: control and direction marks as escapes, a long text cut short."""
    line = "".join(_escaped(character) for character in text[: longest + 1])
    return line if len(text) <= longest else f"{line[:longest]}…"


def _escaped(character: str) -> str:
    category = unicodedata.category(character)
    if category in ("Cc", "Cs", "Zl", "Zp") or character in DIRECTION_CONTROLS:
        return character.encode("unicode_escape").decode("ascii")
    return character
