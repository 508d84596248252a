"""The commands of the command line as the screens offer them: one form derived from each, and its run."""

from __future__ import annotations

import io
import shlex
from collections.abc import Iterator, Mapping, Sequence
from enum import Enum
from functools import partial
from pathlib import Path
from typing import Any, get_args, get_origin

from onsite.cli.common_options import Listener, listening
from onsite.cli.everyday_command_names import EVERYDAY, OFTEN, Everyday
from onsite.cli.help_text import commands_of
from onsite.core.errors import Problem, path_problem, save_traceback
from onsite.tui.commands.palette_command import (
    CommandField,
    CommandResult,
    FieldKind,
    PaletteCommand,
    RunSettings,
)

_LEFT_OUT = ("demo", "new", "join", "serve")
"""What is done before a shoot is open, or beside its screens."""

_COMMON = ("json", "shoot", "station", "at_station", "at", "dry_run")
"""Options that a form does not ask for: the screens know the shoot and the station."""

_LABELS = {
    "as_": "packed as",
    "at_": "web address",
    "blank_consents": "also without answer",
    "by": "answer by",
    "copy_to": "second copy in",
    "developed": "developed files",
    "due": "back by",
    "ends": "planned end",
    "folder": "folder",
    "given": "given name",
    "family": "family name",
    "hand": "retoucher",
    "list_": "list",
    "paths": "card or folder",
    "per": "one set for each",
    "reply_to": "answers to",
    "studio": "photographer",
    "up": "tickets on a page",
    "who": "person",
}
_MADE = ("file", "folder", "receipt", "list", "shoot")
"""Keys of an answer that may hold a path of what was made."""


def palette_commands(root: Any) -> list[PaletteCommand]:
    """Every command below `root` that is done in an open shoot, with the fields of its form."""
    commands = {words: command for words, command in commands_of(root) if words not in _LEFT_OUT}
    found = [_palette_command(root, words, (), command) for words, command in commands.items()]
    for words in EVERYDAY:  # such as `checkin undo`: a command with its first argument
        first, _, rest = words.rpartition(" ")
        if words not in commands and first in commands:
            found.append(_palette_command(root, words, (rest,), commands[first]))
    return found


def opening_commands(root: Any) -> list[PaletteCommand]:
    """The commands that make a shoot and join one, which are done before one is open."""
    commands = dict(commands_of(root))
    return [_palette_command(root, words, (), commands[words]) for words in ("new", "join")]


def _palette_command(root: Any, words: str, first: Sequence[str], command: Any) -> PaletteCommand:
    about = " ".join((command.help or "").split("\n\n")[0].split())
    everyday = EVERYDAY.get(words) or Everyday(about.split(". ")[0].rstrip("."), words)
    options = [p for p in command.params if p.name not in _COMMON]
    fields = tuple(field for p in options for field in _fields(p, everyday))

    def run(values: Mapping[str, str], settings: RunSettings, dry_run: bool = False) -> CommandResult:
        dry = ["--dry-run"] if dry_run else []
        line = [*words.split()[: len(words.split()) - len(first)], *dry, *_line(options, first, values)]
        return run_in_screens(root, line, settings)

    return PaletteCommand(
        everyday.title,
        everyday.about or about,
        f"{everyday.words}, {words}",
        fields,
        run,
        everyday.then,
        everyday.by,
        everyday.asks,
        partial(run, dry_run=True) if everyday.asks else None,
        words,
        OFTEN.index(words) if words in OFTEN else None,
    )


def _fields(parameter: Any, everyday: Everyday) -> Iterator[CommandField]:
    """The fields of a parameter: one, or two where its argument is frames and a person."""
    metavar = parameter.metavar or ""
    for part in metavar.split() if set(metavar.split()) == {"FRAMES", "WHO"} else (parameter.name,):
        name = part.lower()
        kind, choices = _kind(parameter, name)
        value = everyday.values.get(name) or _default(parameter, kind)
        yield CommandField(
            name,
            everyday.labels.get(name) or _LABELS.get(name, name.strip("_").replace("_", " ")),
            kind,
            value,
            choices,
            _about(parameter),
            required=parameter.required or len(metavar.split()) == 2,
            at_once=_is_argument(parameter) or parameter.required or name in everyday.short,
        )


def _is_argument(parameter: Any) -> bool:
    return not parameter.opts[0].startswith("-")


def _kind(parameter: Any, name: str) -> tuple[FieldKind, tuple[str, ...]]:
    annotation = _annotation(parameter)
    if getattr(parameter, "is_flag", False):
        return FieldKind.CHOICE, ("no", "yes") if parameter.default is not None else ("", "yes", "no")
    if isinstance(annotation, type) and issubclass(annotation, Enum):
        return FieldKind.CHOICE, tuple(str(member.value) for member in annotation)
    if (parameter.metavar or "").replace("|", "").isalnum() and "|" in (parameter.metavar or ""):
        choices = tuple(parameter.metavar.split("|"))
        return FieldKind.CHOICE, choices if parameter.default else ("", *choices)
    if annotation is Path:
        return FieldKind.PATH, ()
    if name == "who" or (parameter.metavar or "").startswith("WHO |"):
        return FieldKind.PERSON, ()
    return (FieldKind.GROUP if name == "group" else FieldKind.TEXT), ()


def _annotation(parameter: Any) -> Any:
    """The type of a value of the parameter; of a list, that of one of its items."""
    annotation = parameter.type_descriptor.annotation
    return get_args(annotation)[0] if get_origin(annotation) is list else annotation


def _default(parameter: Any, kind: FieldKind) -> str:
    if getattr(parameter, "is_flag", False):
        return {True: "yes", False: "no", None: ""}[parameter.default]
    default = parameter.default
    if default is None or (kind is FieldKind.PATH and not default):
        return ""
    return str(default.value if isinstance(default, Enum) else default)


def _about(parameter: Any) -> str:
    return str(getattr(parameter, "help", None) or "")


def _line(options: Sequence[Any], first: Sequence[str], values: Mapping[str, str]) -> list[str]:
    """The options and arguments of a command line with these values; what is empty is left away."""
    line: list[str] = []
    arguments = list(first)
    for parameter in options:
        if _is_argument(parameter):
            arguments += _argument(parameter, values)
        elif getattr(parameter, "is_flag", False):
            line += _flag(parameter, values[parameter.name])
        elif value := values[parameter.name]:
            items = shlex.split(value) if parameter.multiple and _annotation(parameter) is str else [value]
            line += [text for item in items for text in (parameter.opts[0], item)]
    return [*line, "--", *arguments]


def _argument(parameter: Any, values: Mapping[str, str]) -> list[str]:
    parts = (parameter.metavar or "").split()
    if set(parts) == {"FRAMES", "WHO"}:
        return [text for part in parts for text in _words(part, values[part.lower()]) if values[part.lower()]]
    value = values[parameter.name]
    return _words(parts[0] if parts else "", value) if value else []


def _words(metavar: str, value: str) -> list[str]:
    """The words of an argument: frames are several, with blanks or commas between; anything else is one."""
    return value.replace(",", " ").split() if metavar == "FRAMES" else [value]


def _flag(parameter: Any, value: str) -> list[str]:
    if value == "yes" and parameter.default is not True:
        return [parameter.opts[0]]
    if value == "no" and parameter.default is not False and parameter.secondary_opts:
        return [parameter.secondary_opts[0]]
    return []


def run_in_screens(root: Any, line: Sequence[str], settings: RunSettings) -> CommandResult:
    """Run a command line and return what it printed and made."""
    import typer

    listener = Listener(settings.progress, settings.columns, settings.shoot, settings.station, io.StringIO())
    problem, stopped = None, False
    with listening(listener):
        try:
            with root.make_context("onsite", list(line)) as context:
                root.invoke(context)
        except typer.Exit as ended:
            problem = Problem(*listener.refused) if ended.exit_code == 2 else None
        except Problem as error:
            problem = error
        except typer.TyperException as error:
            problem = Problem(error.format_message())
        except KeyboardInterrupt:
            stopped = True
        except Exception as error:
            what = f"Something unexpected went wrong: {type(error).__name__}: {error}"
            problem = path_problem(error) or Problem(what, save_traceback(error))
    if problem is not None:
        problem = Problem(_in_words(problem.what), _in_words(problem.remedy))
    return CommandResult(_in_words(listener.text.getvalue()), tuple(_made(listener)), problem, stopped)


def _made(listener: Listener) -> Iterator[Path]:
    data = listener.data if isinstance(listener.data, dict) else {}
    for key in _MADE:
        if isinstance(data.get(key), str) and data[key] and Path(data[key]).exists():
            yield Path(data[key])


def _in_words(text: str) -> str:
    """A text in which commands are called by their everyday names, and options by their fields."""
    import re

    by_length = sorted(EVERYDAY, key=len, reverse=True)
    values = r"(?: (?:[A-Z]+:\d+(?:-\d+)?|[A-Z]{2,})\b)*"  # placeholders, and frames such as A:1043
    commands = re.compile(rf"onsite ({'|'.join(map(re.escape, by_length))})\b{values}")
    text = commands.sub(lambda found: f"“{EVERYDAY[found[1]].title}”", text)

    def option(found: re.Match[str]) -> str:
        name = found[1].replace("-", "_")
        return f"“{_LABELS.get(name) or _LABELS.get(f'{name}_') or found[1].replace('-', ' ')}”"

    text = re.sub(r"(?<!\w)--([a-z][a-z-]+)(?: [A-Z]{2,}(?:=[A-Z]+)?\b)?", option, text)
    return text.replace("” “", "” with “")
