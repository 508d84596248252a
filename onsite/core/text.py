"""Days, numbers and money as people write them."""

from __future__ import annotations

import unicodedata
from datetime import date, datetime
from decimal import Decimal, InvalidOperation


def format_day(day: date | datetime) -> str:
    """
    >>> day_told(date(2026, 6, 13))
    '13 June 2026'
    """
    return f"{day.day} {day:%B %Y}"


def format_iso_date(iso: str) -> str:
    """
    >>> date_told("2026-06-13"), date_told("")
    ('13 June 2026', '')
    """
    return format_day(date.fromisoformat(iso)) if iso else ""


def plural(number: int, word: str, words: str = "") -> str:
    """
    >>> counted(1, "file"), counted(1200, "person", "people")
    ('1 file', '1,200 people')
    """
    return f"{number:,} {word if number == 1 else words or word + 's'}"


def format_money(amount: Decimal, currency: str) -> str:
    """
    >>> money(Decimal("1234.5"), "EUR")
    '1,234.50 EUR'
    """
    return f"{amount:,.2f} {currency}".rstrip()


def parse_amount(text: str) -> Decimal | None:
    """The number in a text that should hold an amount of money; None where it holds none.

    >>> amount("12.50"), amount("soon"), amount("NaN")
    (Decimal('12.50'), None, None)
    """
    try:
        number = Decimal(text)
    except InvalidOperation:
        return None
    return number if number.is_finite() else None


JOINERS = "\u200c\u200d"
"""Zero width non-joiner and joiner: they steer shaping and need no glyph of their own."""

SUBSTITUTE = "\ufffd"
"""Drawn in the place of a character that must not be obeyed or cannot be named."""


def shown(text: str) -> str:
    """`text` with nothing left in it that a terminal or a typesetter would obey.

    White space, line breaks included, becomes single spaces. Other control characters, overrides of the
    reading direction, private and unassigned characters become U+FFFD. Joiners stay, as Persian and the
    Indic scripts need them; other invisible characters go.
    """
    return " ".join("".join(_shown(char) for char in unicodedata.normalize("NFC", text)).split())


def _shown(char: str) -> str:
    if char.isspace():
        return " "
    kind = unicodedata.category(char)
    if kind in ("Cc", "Cs", "Co", "Cn") or unicodedata.bidirectional(char) in _STEERING:
        return SUBSTITUTE
    return "" if kind == "Cf" and char not in JOINERS else char


_STEERING = frozenset(("LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"))
"""Bidirectional classes that turn the text after them (UAX 9, table 4)."""


def escaped(text: str, longest: int = 60) -> str:
    """`text` on one line for a message: control and direction marks as escapes, a long text cut short."""
    line = "".join(_escaped(character) for character in text[: longest + 1])
    return line if len(text) <= longest else f"{line[:longest]}…"


def _escaped(character: str) -> str:
    category = unicodedata.category(character)
    if (
        category in ("Cc", "Cs", "Zl", "Zp")
        or character in "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
    ):
        return character.encode("unicode_escape").decode("ascii")
    return character
