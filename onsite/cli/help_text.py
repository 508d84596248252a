"""Completes the help of every command: the options that all take, and an example at its end."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Annotated, Any

import typer
from typer import Option
from typer.main import get_command

from onsite.cli.everyday_command_names import EVERYDAY

ORDER = (
    *(
        "new",
        "join",
        "roster",
        "plan",
        "slates",
        "check",
        "serve",
        "checkin",
        "walkin",
        "consent",
        "watch",
        "ingest",
        "match",
        "undo",
    ),
    *("frames", "status", "proofs", "picks", "remind", "marks", "retouch", "deliver", "report"),
    *("verify", "backup", "restore", "store", "forget", "retain", "demo"),
)
"""All commands in the order of the working day, and then the care of the shoot."""


def _common(
    json: Annotated[bool, Option("--json", help="Answer with one JSON object, for scripts.")] = False,
    shoot: Annotated[
        Path | None,
        Option("--shoot", metavar="DIR", help="The shoot's folder; else ONSITE_SHOOT, else this one."),
    ] = None,
) -> None:
    """The options that `common_options.take_common` takes from any line."""


def commands_of(group: Any, words: tuple[str, ...] = ()) -> Iterator[tuple[str, Any]]:
    """Every command below a group, with its words, such as `frames give`."""
    for name, command in group.commands.items():
        if hasattr(command, "commands"):
            yield from commands_of(command, (*words, name))
        else:
            yield " ".join((*words, name)), command


def complete_help(root: Any) -> None:
    """Give every command below `root` the common options, for help and completion, and its example."""
    apart = typer.Typer(add_completion=False, rich_markup_mode=None)
    apart.command()(_common)
    options = get_command(apart).params
    for option in options:
        option.expose_value = False
    root.commands = {name: root.commands[name] for name in ORDER}
    for words, command in commands_of(root):
        for parameter in command.params:
            parameter.display_type_rich = partial(_plain_type, parameter)
            if not parameter.opts[0].startswith("-"):
                parameter.get_usage_pieces = partial(_plain_usage, parameter)
        command.params += options
        command.epilog = f"Example: onsite {example_of(words, command)}"


def _plain_type(parameter: Any, ctx: Any) -> str:
    """What is written for a value: nothing after an argument, whose name says it; no type of a language."""
    if not parameter.opts[0].startswith("-"):
        return ""
    kind = str(parameter.display_type(ctx)).strip("<>")
    return parameter.metavar or {"int range": "N", "int": "N", "str": "TEXT"}.get(kind, kind)


def _plain_usage(parameter: Any, ctx: Any) -> list[str]:  # noqa: ARG001
    """An argument in the usage line, in square brackets where it may be left away."""
    name = parameter.metavar or parameter.name.upper()
    return [name if parameter.required else f"[{name}]"]


def example_of(words: str, command: Any) -> str:
    """A command line of the command, without `onsite`."""
    if words in EVERYDAY:
        return EVERYDAY[words].example
    needed = [
        parameter.metavar or parameter.name.upper() for parameter in command.params if parameter.required
    ]
    return " ".join((words, *needed))
