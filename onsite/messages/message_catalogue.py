"""The messages of one language, with its plurals, days and numbers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING

from onsite.messages.languages import CATALOGUES

if TYPE_CHECKING:
    from babel import Locale
    from fluent.runtime import FluentBundle

_REGION = {"en": "GB"}
"""The region of a language tag without one: English days are written "13 June 2026"."""


@dataclass(frozen=True, slots=True)
class Catalogue:
    """The messages in the language of `tag`; days and numbers follow the conventions of its region."""

    tag: str
    _bundle: FluentBundle
    _locale: Locale

    def text(self, message: str, /, **values: str | int) -> str:
        """A message with its variables filled in.

        Raises KeyError for a message that the catalogue lacks, and ValueError if a variable is missing.
        """
        found = self._bundle.get_message(message)
        if found.value is None:
            raise KeyError(message)
        text, errors = self._bundle.format_pattern(found.value, values)
        if errors:
            raise ValueError(f"{message}: {errors[0]}")
        return str(text)

    def day(self, day: date | str) -> str:
        """A day in full, from a date or ISO 8601; empty for an empty text."""
        from babel.dates import format_date

        if not day:
            return ""
        known = date.fromisoformat(day) if isinstance(day, str) else day
        text = str(format_date(known, "long", locale=self._locale))
        first = known.day == 1 and self._locale.language == "fr"  # "1er", which CLDR leaves out
        return text.replace("1 ", "1er ", 1) if first else text

    def clock(self, moment: datetime) -> str:
        """Hours and minutes on a 24-hour clock."""
        return f"{moment:%H:%M}"

    def number(self, number: float, decimals: int = 0) -> str:
        from babel.numbers import format_decimal

        pattern = "#,##0" + ("." + "0" * decimals if decimals else "")
        return str(format_decimal(number, pattern, locale=self._locale))

    def megabytes(self, size: int) -> str:
        """A size in bytes as MB of 1,000,000 bytes."""
        return f"{self.number(size / 1e6, 1)}\u00a0MB"


@lru_cache(maxsize=64)
def catalogue(tag: str) -> Catalogue:
    """The catalogue for a language tag; the English one if there is none for it."""
    from babel import Locale, UnknownLocaleError
    from fluent.runtime import FluentBundle, FluentResource

    language, _, region = tag.partition("-")
    if language not in CATALOGUES:
        language, region = CATALOGUES[0], ""
    try:
        locale = Locale(language, region or _REGION.get(language))
    except UnknownLocaleError:
        locale = Locale(language)
    bundle = FluentBundle([str(locale).replace("_", "-")], use_isolating=False)
    source = (files("onsite.messages") / f"{language}.ftl").read_text(encoding="utf-8")
    bundle.add_resource(FluentResource(source))
    return Catalogue(f"{language}-{region}" if region else language, bundle, locale)


def version(tag: str) -> str:
    """All messages of a language as one text; it differs when anything made from them must be made again."""
    return (files("onsite.messages") / f"{catalogue(tag).tag.partition('-')[0]}.ftl").read_text("utf-8")
