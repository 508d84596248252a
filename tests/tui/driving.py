"""Driving the screens as a person does, and reading what stands on them."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from time import monotonic

from textual.pilot import Pilot

from onsite.cli.command_tree import root_command
from onsite.cli.screen_commands import palette_commands
from onsite.store.shoot import Shoot
from onsite.tui.app import OnsiteApp
from onsite.tui.widgets.status_line import StatusLine
from tests.patience import PATIENCE

Driven = Pilot[None]

COMMANDS = palette_commands(root_command)
"""Every command, as the screens get them."""


@asynccontextmanager
async def opened(
    shoot: Shoot,
    mode: str = "door",
    size: tuple[int, int] = (100, 30),
    station: str = "door-1",
    last_known: Shoot | None = None,
) -> AsyncIterator[Driven]:
    """The screens of a shoot, ready for keys."""
    app = OnsiteApp(shoot, station, mode, commands=COMMANDS, last_known=last_known)
    async with app.run_test(size=size) as pilot:
        await until(pilot, lambda: app.ready)
        yield pilot


async def until(pilot: Driven, holds: Callable[[], object]) -> None:
    """Waits for what is to come about; fails when it does not."""
    began = monotonic()
    while not holds():
        assert monotonic() - began < PATIENCE, f"it did not come about; on the screen:\n{screen_text(pilot)}"
        await pilot.pause(0.01)
    await pilot.pause()


async def typed(pilot: Driven, text: str) -> None:
    """Types a text, key by key."""
    await pilot.press(*("space" if letter == " " else letter for letter in text))
    await pilot.pause()


def told(pilot: Driven) -> str:
    """The line that answers what was pressed."""
    return pilot.app.screen.query_one(StatusLine).text


def screen_text(pilot: Driven) -> str:
    """All that stands on the screen, line by line."""
    strips = pilot.app.screen._compositor.render_strips()
    return "\n".join(strip.text.rstrip() for strip in strips)
