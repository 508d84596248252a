"""The index beside the pictures of a yearbook: where each is, and whose.

One line a picture, tab-separated, with a line of headings: common practice among printers of yearbooks, no
source.
"""

from __future__ import annotations

from collections.abc import Iterable

from onsite.delivery.made import DeliveredFile
from onsite.files.tables import tab_separated_text

INDEX = "index.tsv"
COLUMNS = ("volume", "folder", "file", "group", "family", "given")


def yearbook_index(volume: str, files: Iterable[DeliveredFile], before: str = "") -> str:
    """The index of these files, behind the other lines of an earlier index in the same folder."""
    lines = before.splitlines(keepends=True) or [tab_separated_text([COLUMNS])]
    new = [tab_separated_text([_row(volume, kept)]) for kept in files]
    return "".join([line for line in lines if line not in new] + new)


def _row(volume: str, kept: DeliveredFile) -> tuple[str, ...]:
    person = kept.job.wanted.person
    folder, _, file = kept.name.rpartition("/")
    family, given = (person.family, person.given) if person.family or person.given else (person.name, "")
    return volume, folder, file, person.group, family, given
