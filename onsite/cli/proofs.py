"""`onsite proofs build`, `onsite picks load`, `add`, `list`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from typer import Argument, Option

from onsite.cli.options import station, the_shoot
from onsite.cli.output import answer, progress, say


def build(
    folder: Annotated[Path, Argument(metavar="DIR", help="Where proofs are made.")],
    group: Annotated[str | None, Option(help="Only this group.")] = None,
    blank_consents: Annotated[
        bool, Option("--blank-consents", help="Pages also where the list says nothing of consent.")
    ] = False,
) -> None:
    """Makes a sheet for each person, and a page for each who consented; only what changed is made again."""
    from onsite.proofs.build import LIST, PRIVATE, PUBLIC, build_proofs

    shoot = the_shoot()
    with progress("making proofs") as step:
        built = build_proofs(shoot, folder, group, station(None), blank_consents, step)
    data = {
        "people": built.people,
        "made": built.made,
        "pages": built.pages,
        "pictures": built.pictures,
        "small": built.small,
        "without_frames": built.without_frames,
        "no_page": [{"key": key, "name": name, "reason": why} for key, name, why in built.no_page],
        "troubled": [
            {"name": name, "frame": frame, "reason": why} for name, frame, why in built.troubled
        ],
        "removed": built.removed,
        "folder": str(folder),
        "list": str(folder / PRIVATE / LIST),
    }

    def text() -> None:
        say(f"Proofs of {built.people} people, {built.pictures} pictures; made now: {built.made} people.")
        say(f"Pages: {built.pages}, in {folder / PUBLIC}: that folder may go to a host.")
        say(f"Sheets, and the list of who has which page: in {folder / PRIVATE}. Keep that to yourself.")
        reasons: dict[str, list[str]] = {}
        for _, name, why in built.no_page:
            reasons.setdefault(why, []).append(name)
        for why, names in reasons.items():
            say(f"No page for {len(names)}: {why}: {', '.join(names)}")
        if built.without_frames:
            say(f"People without frames: {built.without_frames}.")
        if built.small:
            say(f"Made from previews, since the originals are not where they were: {built.small} pictures.")
        for name in built.removed:
            say(f"  taken away: {name}")
        for name, frame, why in built.troubled:
            say(f"  on no proof: {frame} of {name}: {why}")

    answer(data, text, in_part=bool(built.troubled))
