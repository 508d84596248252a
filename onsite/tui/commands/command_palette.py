"""The palette: every command of the program, and every mode and theme, by its everyday names."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from textual.command import DiscoveryHit, Hit, Hits, Provider

_SYNONYM = 0.9
"""A word beside the title counts a little less than one in it."""


@dataclass(frozen=True, slots=True)
class PaletteEntry:
    """A line of the palette: what it is called, what it does, and other words for it."""

    title: str
    about: str
    words: str
    call: Callable[[], object]


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
        for entry in [entry for entry in entries if has_words(entry, query)] or entries:
            words = max((matcher.match(word.strip()) for word in entry.words.split(",")), default=0.0)
            score = max(matcher.match(entry.title), _SYNONYM * words)
            if score > 0 or has_words(entry, query):
                yield Hit(score, matcher.highlight(entry.title), entry.call, entry.title, entry.about)


def has_words(entry: PaletteEntry, query: str) -> bool:
    """Whether every word that was typed begins a word of the entry; without such an entry, letters do."""
    known = f" {entry.title} {entry.words}".casefold().replace("-", " ").replace(",", " ")
    return all(f" {word}" in known for word in query.casefold().replace("-", " ").split())
