"""Parsing languages as people write them, and choosing the language of messages to a person."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection
from dataclasses import dataclass
from functools import cache, lru_cache

from onsite.core.errors import Problem
from onsite.store.settings import SETTINGS_FILE, Settings

CATALOGUES = ("en", "de", "fr", "es", "it")
"""The languages with a catalogue, as ISO 639-1 codes; the first is the fallback."""

_TAG = re.compile(r"[A-Za-z]{2,3}(?:[-_][A-Za-z0-9]{1,8})*")
_BRACKETS = re.compile(r"\([^)]*\)|\[[^\]]*\]")
_SEVERAL = re.compile(r"\s*[/,;|+&]\s*")


@lru_cache(maxsize=1024)
def language_of(written: str) -> str:
    """The language tag (BCP 47, such as `de` or `de-AT`) of a language as written; empty if not recognised.

    Recognised are language tags, ISO 639 codes of two or three letters, and names in the language itself and
    in every language with a catalogue, by Unicode's CLDR. Of several languages the first counts.

    >>> language_of("de_AT"), language_of("allemand"), language_of("Español"), language_of("mumbled")
    ('de-AT', 'de', 'es', '')
    """
    for text in (written, _BRACKETS.sub(" ", written), _SEVERAL.split(written.strip())[0]):
        plain = _plain(text)
        if found := _tag(plain) or _names().get(plain):
            return found
    return ""


def has_catalogue(tag: str) -> bool:
    """Whether the language of a tag has a catalogue."""
    return tag.partition("-")[0] in CATALOGUES


def _tag(text: str) -> str:
    from babel import Locale
    from babel.core import get_global

    if not _TAG.fullmatch(text):
        return ""
    language, *rest = re.split("[-_]", text)
    language = get_global("language_aliases").get(language, language)
    if language not in Locale("en").languages:
        return ""
    region = next((part.upper() for part in rest if re.fullmatch(r"[a-z]{2}|\d{3}", part)), "")
    return f"{language}-{region}" if region in Locale("en").territories else language


@cache
def _names() -> dict[str, str]:
    """Name of a language, folded -> its tag."""
    from babel import Locale

    names = {"castellano": "es", "castilian": "es"}
    for own in CATALOGUES:
        for code, name in Locale(own).languages.items():
            names.setdefault(_plain(name), _tag(code) or code.replace("_", "-"))
    return names


def _plain(text: str) -> str:
    """A text without case, accents and outer white space."""
    apart = unicodedata.normalize("NFKD", text.casefold())
    return " ".join("".join(char for char in apart if not unicodedata.combining(char)).split())


@dataclass(frozen=True, slots=True)
class Languages:
    """The languages of messages to the people of a shoot, from its settings."""

    shoot: str
    """The tag for everybody else."""
    groups: tuple[tuple[str, str], ...] = ()
    """(name of the group, folded; tag)."""

    @classmethod
    def of_shoot(cls, settings: Settings) -> Languages:
        """The languages in `shoot.toml`. Raises Problem if one is unknown or has no catalogue."""
        groups = tuple(
            (_plain(group), _language_from_settings(text, group))
            for group, text in settings.languages.items()
        )
        agreed = settings.agreed.language
        return cls(_language_from_settings(agreed, "language") if agreed else CATALOGUES[0], groups)

    def language_for(self, written: str, group: str) -> str:
        """The tag for a person: by their own language, else their group's, else the shoot's."""
        own = language_of(written) if written else ""
        if own and has_catalogue(own):
            return own
        return dict(self.groups).get(_plain(group), self.shoot)


def parse_language(text: str) -> str:
    """The tag of a language that was named for a whole shoot or group. Raises Problem."""
    tag = language_of(text)
    if not tag or not has_catalogue(tag):
        what = "has no texts here" if tag else "is not understood as a language"
        raise Problem(f"{text!r} {what}.", f"There are texts in: {', '.join(CATALOGUES)}.")
    return tag


def _language_from_settings(text: str, name: str) -> str:
    try:
        return parse_language(text)
    except Problem as error:
        raise Problem(f"{SETTINGS_FILE}: {name}: {error.what}", error.remedy) from error


def unusable_languages(written: Collection[str]) -> dict[str, str]:
    """Language as written -> why it cannot be used, for every language without a catalogue."""
    why = {}
    for text in written:
        tag = language_of(text)
        if not tag:
            why[text] = "is not understood as a language"
        elif not has_catalogue(tag):
            why[text] = "is a language without texts here"
    return why
