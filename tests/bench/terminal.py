"""What a terminal would show, and when: each frame that an app under Textual's pilot writes is noted."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Callable, Sequence
from time import perf_counter
from typing import Any

from rich.cells import cell_len
from textual.geometry import Region
from textual.pilot import Pilot

Holds = Callable[["Terminal"], bool]
"""Whether what is waited for stands on the terminal."""

_STYLES = re.compile(r"\x1b\[[\d;]*m|\n")
_MOVES = re.compile(r"\x1b\[(\d+);(\d+)H")
_PATIENCE = 10.0  # seconds


class Terminal:
    """Takes each frame at the moment when it would be written, the writing of its escape sequences included,
    which Textual leaves out without a terminal. What it costs to look at a frame is not counted."""

    def __init__(self, pilot: Pilot[Any]) -> None:
        self._pilot = pilot
        app = pilot.app
        width, height = app.size
        self._cells = [[" "] * width for _ in range(height)]
        self._holds: Holds | None = None
        self._seen = asyncio.Event()
        self.at = self._lost = 0.0
        """`at` is when the last frame was written that was looked at."""
        self._plain = app._display
        app._display = self._display  # type: ignore[method-assign]

    async def press(self, key: str, holds: Holds) -> float:
        """Seconds from a key until `holds`."""
        begun = perf_counter()
        self.expect(holds)
        await self._pilot.press(key)
        return await self.seen() - begun

    def expect(self, holds: Holds) -> None:
        """Waits for a frame in which that holds, from now on."""
        self._holds, self._lost = holds, 0.0
        self._seen.clear()

    async def seen(self) -> float:
        """When the frame was written that was waited for."""
        try:
            await asyncio.wait_for(self._seen.wait(), _PATIENCE)
        except TimeoutError:
            raise RuntimeError(f"it never stood there:\n{self.text}") from None
        return self.at

    @property
    def text(self) -> str:
        return "\n".join("".join(row).rstrip() for row in self._cells)

    def rows(self, region: Region) -> list[str]:
        """The rows of a part of the terminal."""
        return ["".join(row[region.x : region.right]) for row in self._cells[region.y : region.bottom]]

    def _display(self, screen: Any, update: Any) -> None:
        self._plain(screen, update)
        app = self._pilot.app
        if update is None or app._batch_count:
            return
        written = update.render_segments(app.console)
        at = perf_counter()
        self._write(_MOVES.split(written)[1:])
        if self._holds is not None:
            self.at = at - self._lost
            if self._holds(self):
                self._holds = None
                self._seen.set()
        self._lost += perf_counter() - at

    def _write(self, moves: Sequence[str]) -> None:
        for y, x, styled in zip(moves[::3], moves[1::3], moves[2::3], strict=True):
            row, at = self._cells[int(y) - 1], int(x) - 1
            for letter in _STYLES.sub("", styled):
                wide = cell_len(letter)
                if wide:
                    row[at : at + wide] = [letter, ""][:wide]
                elif at:
                    row[at - 1] += letter  # an accent that belongs to the letter before
                at += wide
