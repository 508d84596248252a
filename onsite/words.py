"""Days, numbers and money as people write them."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal, InvalidOperation


def day_told(day: date | datetime) -> str:
    """
    >>> day_told(date(2026, 6, 13))
    '13 June 2026'
    """
    return f"{day.day} {day:%B %Y}"


def date_told(iso: str) -> str:
    """
    >>> date_told("2026-06-13"), date_told("")
    ('13 June 2026', '')
    """
    return day_told(date.fromisoformat(iso)) if iso else ""


def counted(number: int, word: str, words: str = "") -> str:
    """
    >>> counted(1, "file"), counted(1200, "person", "people")
    ('1 file', '1,200 people')
    """
    return f"{number:,} {word if number == 1 else words or word + 's'}"


def money(amount: Decimal, currency: str) -> str:
    """
    >>> money(Decimal("1234.5"), "EUR")
    '1,234.50 EUR'
    """
    return f"{amount:,.2f} {currency}".rstrip()


def amount(text: str) -> Decimal | None:
    """The number in a text that should hold an amount of money; None where it holds none.

    >>> amount("12.50"), amount("soon"), amount("NaN")
    (Decimal('12.50'), None, None)
    """
    try:
        number = Decimal(text)
    except InvalidOperation:
        return None
    return number if number.is_finite() else None
