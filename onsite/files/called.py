"""What a picture's file is called: the agreed pattern, filled with what is known of the picture."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Protocol

from onsite.files.names import name_within_limit, safe_name
from onsite.files.pattern import NamePattern, known_fields
from onsite.store.settings import Settings
from onsite.words import plural


class NamedPerson(Protocol):
    """Whose picture it is."""

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
    """The name of a picture's file without its ending, and the fields of the pattern that were empty."""

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
    """What the file is called. `pick` is which of the person's choices it is, from 1; `original` the frame's
    own name without its ending; `day` when it was taken, the shoot's if that is not known."""
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
    """What is said of fields that are empty in the names of some people's files, before these are written."""
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
