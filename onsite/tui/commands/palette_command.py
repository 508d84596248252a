"""A command as the screens see it: its names, the fields of its form, and how it is run."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from onsite.core.errors import Problem
from onsite.core.progress import Progress


class FieldKind(StrEnum):
    """What is filled into a field."""

    TEXT = "text"
    CHOICE = "choice"
    PATH = "path"
    """A file or a folder."""
    PERSON = "person"
    GROUP = "group"


@dataclass(frozen=True, slots=True)
class CommandField:
    """A field of a command's form."""

    name: str
    label: str
    kind: FieldKind = FieldKind.TEXT
    value: str = ""
    """What the form proposes."""
    choices: tuple[str, ...] = ()
    about: str = ""
    """A line about the field."""
    required: bool = False
    at_once: bool = True
    """Whether the short form shows it."""


@dataclass(frozen=True, slots=True)
class RunSettings:
    """What a run needs beside the values of its fields."""

    shoot: Path | None
    station: str
    columns: int
    """Cells in a line of the result."""
    progress: Progress
    """Raises KeyboardInterrupt to stop the run."""


@dataclass(frozen=True, slots=True)
class CommandResult:
    """What a run printed, and what it made."""

    text: str
    made: tuple[Path, ...] = ()
    problem: Problem | None = None
    """Why it was refused, or what went wrong."""
    stopped: bool = False
    agreed: bool = False
    """Whether what was shown is to be done."""


@dataclass(frozen=True, slots=True)
class PaletteCommand:
    """A command by its everyday name."""

    title: str
    about: str
    words: str
    """Other words by which it is found."""
    fields: tuple[CommandField, ...]
    run: Callable[[Mapping[str, str], RunSettings], CommandResult]
    then: str = ""
    """What to do next."""
    by: tuple[str, str] | None = None
    """(mode, action) of the screens that do the same in their own way."""
    asks: str = ""
    """What is asked before it is done; empty where nothing is."""
    rehearse: Callable[[Mapping[str, str], RunSettings], CommandResult] | None = None
    """Shows what would be done, before it is asked."""
    line: str = ""
    """How the command line calls it, without `onsite`: "checkin undo"."""
    often: int | None = None
    """Its place among what is done on every job; None for the rest."""
