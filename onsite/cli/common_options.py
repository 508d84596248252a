"""The options that every command takes anywhere on the line: `--json` and `--shoot`."""

from __future__ import annotations

import io
import os
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from contextvars import ContextVar
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from typer import Argument

from onsite.core.errors import Problem
from onsite.core.progress import Progress

if TYPE_CHECKING:
    from onsite.store.shoot import Shoot

Frames = Annotated[
    list[str], Argument(metavar="FRAMES", help="Frames, such as A:1043 or A:1043-1051, or file names.")
]
"""The argument FRAMES."""

HELP = "Type onsite alone to open the screens. Each command explains itself with --help."


@dataclass(slots=True)
class CommonOptions:
    """The values of the common options."""

    as_json: bool = False
    shoot: str | None = None


common_options = CommonOptions()
"""The common options of the command line being run."""


@dataclass(slots=True)
class Listener:
    """Whoever runs a command from the screens: takes what it prints, in place of the terminal."""

    progress: Progress
    columns: int
    """Cells in a line."""
    shoot: Path | None
    station: str
    text: io.StringIO
    """What was printed."""
    data: Any = None
    """The answer as JSON data."""
    refused: tuple[str, str] = ("", "")
    """Why nothing was changed, and what to do."""
    after: ExitStack = field(default_factory=ExitStack)
    """What is done when the command ends."""


_listener: ContextVar[Listener | None] = ContextVar("listener", default=None)


def listener() -> Listener | None:
    """Who listens to the command being run in this thread; None where it was typed in a terminal."""
    return _listener.get()


@contextmanager
def listening(to_it: Listener) -> Iterator[None]:
    """Let `to_it` take what commands of this thread print."""
    take_common([])
    before = _listener.set(to_it)
    try:
        yield
    finally:
        _listener.reset(before)
        to_it.after.close()


after_command = ExitStack()
"""What is done when that command ends, however it ends."""


def take_common(arguments: list[str]) -> list[str]:
    """Store `--json` and `--shoot DIR` in `common_options` and return the rest of the line."""
    common_options.as_json, common_options.shoot = False, None
    rest: list[str] = []
    left = iter(arguments)
    for argument in left:
        if argument == "--":
            return [*rest, argument, *left]
        if argument == "--json":
            common_options.as_json = True
        elif argument == "--shoot":
            common_options.shoot = next(left, "")
        elif argument.startswith("--shoot="):
            common_options.shoot = argument.removeprefix("--shoot=")
        else:
            rest.append(argument)
    if common_options.shoot == "":
        raise Problem("--shoot needs a folder.", "Write it as --shoot DIR.")
    return rest


def chosen_folder() -> Path:
    """The folder of the shoot named by --shoot, else by ONSITE_SHOOT, else the nearest one here or above."""
    from onsite.store.shoot import find_shoot

    heard = listener()
    if heard is not None and heard.shoot is not None:
        return heard.shoot
    try:
        here = Path.cwd()
    except OSError as error:
        raise Problem("The folder that you are in is gone.", "Go into another one.") from error
    return find_shoot(common_options.shoot or os.environ.get("ONSITE_SHOOT"), here)


def open_chosen_shoot(even_if_moved: bool = False) -> Shoot:
    """Open the shoot in `chosen_folder`, and make its backups where they are due; it is closed when the
    command ends."""
    from onsite.files.atomic_write import sweep_drafts
    from onsite.store.backups import FOLDER as BACKUPS
    from onsite.store.shoot import open_shoot

    shoot = closed_after_command(open_shoot(chosen_folder(), even_if_moved))
    with suppress(Problem, OSError):  # no room for a backup: `onsite check` says so
        for folder in (shoot.folder, shoot.folder / BACKUPS):
            sweep_drafts(folder, below=False)
        shoot.back_up_if_due()
    return shoot


def closed_after_command(shoot: Shoot) -> Shoot:
    """The shoot, whose connections end with the command."""
    heard = listener()
    (heard.after if heard is not None else after_command).callback(shoot.engine.dispose)
    return shoot


def station(named: str | None) -> str:
    """The name of this station: --station, else ONSITE_STATION, else the machine's name."""
    import platform

    heard = listener()
    return (
        named
        or (heard.station if heard is not None else "")
        or os.environ.get("ONSITE_STATION")
        or platform.node()
    )
