"""Carries a command out from the screens: its form, its run, and the form again where it was refused."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from textual.app import App

from onsite.core.errors import Problem
from onsite.retouch.retouch_folder import FOLDER
from onsite.roster.roster_groups import group_sort_key
from onsite.tui.commands.command_form import CommandFormScreen
from onsite.tui.commands.command_run import CommandRunScreen
from onsite.tui.commands.palette_command import CommandResult, FieldKind, PaletteCommand
from onsite.tui.screen_host import ScreenHost


def start_command(
    app: App[Any],
    host: ScreenHost,
    command: PaletteCommand,
    values: Mapping[str, str] | None = None,
    problem: Problem | None = None,
) -> None:
    """Ask for the fields of a command, if it has any, and run it. It is asked again where it is refused."""
    if not command.fields:
        _run(app, host, command, {})
        return
    statuses = host.status_cache.statuses.values()
    people = [s.person.name for s in statuses]
    groups = sorted({s.person.group for s in statuses if s.person.group}, key=group_sort_key)
    proposed = {
        f.name: _in_shoot(f.value, host) for f in command.fields if f.kind is FieldKind.PATH and f.value
    }
    if not command.asks:
        proposed |= {
            field.name: host.name_in_front
            for place, field in enumerate(command.fields)
            if field.kind is FieldKind.PERSON and (field.required or not place)
        }

    def filled(given: dict[str, str] | None) -> None:
        if given is not None:
            _run(app, host, command, given)

    app.push_screen(
        CommandFormScreen(
            command.title, command.about, command.fields, people, groups, values or proposed, problem
        ),
        filled,
    )


def _run(
    app: App[Any], host: ScreenHost, command: PaletteCommand, values: Mapping[str, str], agreed: bool = False
) -> None:
    """Run a command; one that asks only shows what it would do, until it was `agreed` to."""

    def ended(result: CommandResult | None) -> None:
        if result is not None and result.agreed:
            _run(app, host, command, values, agreed=True)
        elif result is not None and result.problem is not None and command.fields:
            start_command(app, host, command, values, result.problem)
        elif result is not None and result.problem is not None:
            host.show_message(result.problem)

    app.push_screen(CommandRunScreen(command, values, host.shoot.folder, host.station, agreed), ended)


def _in_shoot(path: str, host: ScreenHost) -> str:
    """The proposed path in the shoot's folder; of one that ends in a star, the first number that is free."""
    proposed = host.shoot.folder.absolute() / path.rstrip("*")
    if not path.endswith("*"):
        return str(proposed)
    numbered = (Path(f"{proposed}{number}") for number in range(1, 1000))
    taken = host.shoot.folder / FOLDER  # what is kept of batches that went elsewhere
    return str(next(free for free in numbered if not free.exists() and not (taken / free.name).exists()))
