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
        for entry in self._entries():
            score = matcher.match(entry.title)
            others = max((matcher.match(word.strip()) for word in entry.words.split(",")), default=0.0)
            if score > 0 or others > 0:
                best = max(score, _SYNONYM * others)
                yield Hit(best, matcher.highlight(entry.title), entry.call, entry.title, entry.about)
