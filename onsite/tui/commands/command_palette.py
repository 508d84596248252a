"""The palette: every command of the program, and every mode and theme, by its everyday names."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from textual.command import DiscoveryHit, Hit, Hits, Provider


@dataclass(frozen=True, slots=True)
class PaletteEntry:
    """A line of the palette: what it is called, what it does, and other words for it."""

    title: str
    about: str
    words: str
    call: Callable[[], object]
    often: int | None = None
    """Its place among what is done on every job; None for the rest."""


class EverydayNames(Provider):
    """Finds entries by their titles and by the other words for them."""

    def _entries(self) -> list[PaletteEntry]:
        app: Any = self.app
        return sorted(app.palette_entries(), key=lambda entry: entry.title)

    async def discover(self) -> Hits:
        for entry in self._entries():
            yield DiscoveryHit(entry.title, entry.call, help=entry.about)

    async def search(self, query: str) -> Hits:
        matcher = self.matcher(query)
        entries = self._entries()
        found = [entry for entry in entries if has_words(entry, query)]
        for entry in found or entries:
            score = _worth(entry, query) if found else matcher.match(entry.title)
            if score > 0:
                yield Hit(score, matcher.highlight(entry.title), entry.call, entry.title, entry.about)


def _worth(entry: PaletteEntry, query: str) -> float:
    """The score of an entry whose words were typed: those with them in their titles come first, and of both
    kinds what is done on every job, in the order of its days."""
    in_title = has_words(PaletteEntry(entry.title, "", "", entry.call), query)
    place = _PLACES - entry.often if entry.often is not None else 0
    return 1 + place + 2 * _PLACES * in_title


_PLACES = 100
"""More than there are commands that are done on every job."""


def has_words(entry: PaletteEntry, query: str) -> bool:
    """Whether every word that was typed begins a word of the entry; without such an entry, letters do."""
    known = f" {entry.title} {entry.words}".casefold().replace("-", " ").replace(",", " ")
    return all(f" {word}" in known for word in query.casefold().replace("-", " ").split())
