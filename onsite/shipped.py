"""Where the folders that travel with the program are: themes, the invented roster."""

from __future__ import annotations

from pathlib import Path

from onsite.problems import Problem


def shipped_folder(folder: str) -> Path:
    """The path of a shipped folder, such as `demo_roster`.

    A wheel carries it inside the package; a working copy has it beside the package. Raises Problem where
    neither is there.
    """
    package = Path(__file__).resolve().parent
    for place in (package / "_shipped" / folder, package.parent / folder):
        if place.is_dir():
            return place
    raise Problem(f"The folder {folder} that belongs to the program is missing.", "Install onsite again.")
