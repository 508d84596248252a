"""What a picture's file is called: the agreed pattern, filled with what is known of the picture."""

from __future__ import annotations

from datetime import date
from typing import Protocol

from onsite.files.names import named, safe
from onsite.files.pattern import Pattern
from onsite.store.settings import Settings


class Named(Protocol):
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


def called(
    pattern: Pattern,
    person: Named,
    settings: Settings,
    *,
    frame: int,
    pick: int,
    original: str,
    day: date | None = None,
    ascii_only: bool = False,
) -> str:
    """The name without ending. `pick` is which of the person's choices it is, from 1; `original` the frame's
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
    values: dict[str, str | int | None] = {field: safe(text, ascii_only) for field, text in texts.items()}
    values |= {"sequence": person.sequence, "pick": pick, "frame": frame}
    return named(values, pattern.filled) or f"picture {frame}"
