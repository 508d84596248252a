"""The commands `onsite join` and `onsite store move`: one shoot on several machines."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from typer import Argument

from onsite.cli.common_options import open_chosen_shoot
from onsite.cli.output import print_answer, show_progress


def join(
    url: Annotated[str, Argument(metavar="URL", help="The shoot's PostgreSQL database.")],
    folder: Annotated[Path, Argument(metavar="DIR", help="A new folder for the shoot on this computer.")],
) -> None:
    """Join a shoot from another computer. All see each frame and each arrival at once."""
    from onsite.store.join_store import join_store

    settings = join_store(url, folder)
    print_answer(
        {"shoot": str(folder), "name": settings.name, "timezone": settings.timezone},
        f"{settings.name}: this machine has joined; its folder is {folder}. "
        "Name the station, such as ONSITE_STATION=door-2, and open the screens there with: onsite",
    )


def move(
    url: Annotated[
        str,
        Argument(metavar="URL", help="A PostgreSQL database; or sqlite, for the file in the shoot's folder."),
    ],
) -> None:
    """Move the shoot to another database. Close the screens of other stations first."""
    from onsite.store.move_store import move_store

    shoot = open_chosen_shoot(even_if_moved=True)
    with show_progress("Moving") as step:
        moved = move_store(shoot, "" if url == "sqlite" else url, step)
    events = f", with all of its {moved.rows['event']:,} events" if moved.rows else ""
    print_answer(moved, f"The shoot is in {moved.store} now{events}.")
