"""The names of finished files, from a pattern such as `{family}_{given}_{group}_{sequence:04}`."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Protocol

from onsite.core.errors import Problem
from onsite.core.text import plural
from onsite.files.file_names import name_within_limit, safe_name
from onsite.store.settings import Settings

TEXTS = ("family", "given", "name", "group", "key", "original", "shoot", "client", "date")
NUMBERS = ("sequence", "pick", "frame")
FIELDS = TEXTS + NUMBERS
"""The fields that a pattern may contain. None is private: no address, telephone number, note or consent."""

_PIECE = re.compile(r"\{(?P<field>[^{}:]*)(?::(?P<format>[^{}]*))?\}|(?P<text>[^{}]+)|(?P<stray>[{}])")
_EMPTY = "\0"
"""Placeholder for an empty field until the separators around it are removed."""

_AFTER_EMPTY = re.compile(rf"{_EMPTY}[_\-. ]*")
_WIDTH = re.compile(r"0?([1-9])")


@dataclass(frozen=True, slots=True)
class PatternField:
    """One field of a pattern; numbers are padded with zeros to `width`."""

    name: str
    width: int = 0


@dataclass(frozen=True, slots=True)
class NamePattern:
    """A parsed pattern: literal texts and fields."""

    pieces: tuple[str | PatternField, ...]

    def fill(self, values: Mapping[str, str | int | None]) -> str:
        """The name for these values. An empty field is left out together with the separator after it."""
        whole = "".join(self._piece(piece, values) for piece in self.pieces)
        return _AFTER_EMPTY.sub("", whole).strip("_-. ")

    def empty(self, values: Mapping[str, str | int | None]) -> tuple[str, ...]:
        """The fields of the pattern that these values leave empty."""
        fields = dict.fromkeys(piece.name for piece in self.pieces if isinstance(piece, PatternField))
        return tuple(field for field in fields if values[field] in (None, ""))

    def _piece(self, piece: str | PatternField, values: Mapping[str, str | int | None]) -> str:
        if isinstance(piece, str):
            return piece
        value = values[piece.name]
        return _EMPTY if value in (None, "") else str(value).zfill(piece.width)


def parse_pattern(text: str) -> NamePattern:
    """Parses a pattern. Raises Problem for unknown fields, slashes and stray braces."""
    if "/" in text or "\\" in text:
        raise Problem(
            f"The pattern {text!r} of file names has a / or \\ in it.",
            "Folders come from --per client, group or person; leave them out of the pattern.",
        )
    pieces: list[str | PatternField] = []
    for match in _PIECE.finditer(text):
        if match["stray"]:
            raise Problem(f"The pattern {text!r} has a brace alone.", f"Write fields as {known_fields()}.")
        pieces.append(match["text"] or _field(text, match["field"].strip(), match["format"]))
    if not any(isinstance(piece, PatternField) for piece in pieces):
        raise Problem(
            f"The pattern {text!r} names every file the same.", f"Put a field into it: {known_fields()}."
        )
    return NamePattern(tuple(pieces))


def _field(text: str, name: str, form: str | None) -> PatternField:
    if name not in FIELDS:
        raise Problem(
            f"The pattern {text!r} asks for {{{name}}}, which is not known.", f"Known are {known_fields()}."
        )
    if form is None:
        return PatternField(name)
    width = _WIDTH.fullmatch(form)
    if name not in NUMBERS or width is None:
        raise Problem(
            f"The pattern {text!r}: {{{name}:{form}}} is not understood.",
            f"Digits are for numbers only, such as {{sequence:04}}; numbers are {', '.join(NUMBERS)}.",
        )
    return PatternField(name, int(width[1]))


def known_fields() -> str:
    """The fields that a pattern may contain, for a message."""
    return ", ".join(f"{{{name}}}" for name in FIELDS)


class NamedPerson(Protocol):
    """The person in a picture."""

    @property
    def key(self) -> str: ...
    @property
    def name(self) -> str: ...
    @property
    def given(self) -> str: ...
    @property
    def family(self) -> str: ...
    @property
    def group(self) -> str: ...
    @property
    def sequence(self) -> int | None: ...


@dataclass(frozen=True, slots=True)
class FileName:
    """The name of a picture's file without its extension, and the fields of the pattern that were empty."""

    text: str
    empty: tuple[str, ...]


def file_stem(
    pattern: NamePattern,
    person: NamedPerson,
    settings: Settings,
    *,
    frame: int,
    pick: int,
    original: str,
    day: date | None = None,
    ascii_only: bool = False,
) -> FileName:
    """The file's name without its extension.

    `pick` is the rank of the picture among the person's picks, from 1; `original` the frame's own name
    without its extension; `day` when it was taken, None for the day of the shoot.
    """
    texts = {
        "family": person.family,
        "given": person.given,
        "name": person.name,
        "group": person.group,
        "key": person.key,
        "original": original,
        "shoot": settings.name,
        "client": settings.client,
        "date": day.isoformat() if day else settings.date,
    }
    if not person.family and not person.given:
        texts["family"] = person.name
    values: dict[str, str | int | None] = {
        field: safe_name(text, ascii_only) for field, text in texts.items()
    }
    values |= {"sequence": person.sequence, "pick": pick, "frame": frame}
    return FileName(name_within_limit(values, pattern.fill) or f"picture {frame}", pattern.empty(values))


def empty_field_notices(names: Iterable[tuple[NamedPerson, FileName]]) -> list[str]:
    """Notices about fields that are empty in some people's file names, before the files are written."""
    people: set[str] = set()
    without: dict[str, dict[str, tuple[NamedPerson, FileName]]] = {}
    for person, name in names:
        people.add(person.key)
        for field in name.empty:
            without.setdefault(field, {}).setdefault(person.key, (person, name))
    said = [
        f"{{{field}}} in the names of files is empty for {_share_text(len(named_people), len(people))}:"
        f" {person.name} ({person.key}) gets {name.text}."
        for field, named_people in without.items()
        for person, name in [next(iter(named_people.values()))]
    ]
    return [*said, f"Fields for names under [agreed] in shoot.toml: {known_fields()}."] if said else []


def _share_text(part: int, all_: int) -> str:
    if part == all_:
        return "everybody" if all_ > 1 else "the only person here"
    return f"{part} of {plural(all_, 'person', 'people')}"
