"""Texts of a delivery: the receipt as an HTML page, and the index file of a yearbook.

The receipt says what went to whom and when, with the SHA-256 of every file. The index has a line for each
picture, tab-separated, below a line of headings: common practice among printers of yearbooks, no source.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from html import unescape
from pathlib import Path
from typing import Any

from onsite.core.text import shown
from onsite.delivery.delivery_sets import LeftOut
from onsite.delivery.make_delivery_files import DeliveredFile
from onsite.files.write_tables import tab_separated_text
from onsite.messages.languages import Languages
from onsite.messages.message_catalogue import catalogue
from onsite.store.settings import Settings


@dataclass(frozen=True, slots=True)
class DeliveredSet:
    """A set as delivered."""

    name: str
    recipient: str
    package: Path
    files: tuple[DeliveredFile, ...]
    sha256: str = ""  # of a ZIP; empty for folders and bags, which have manifests

    def data(self) -> dict[str, Any]:
        """The set as a JSON object."""
        files = [{"file": kept.name, "sha256": kept.sha256} for kept in self.files]
        return {"set": self.name, "package": str(self.package), "files": files}

    @property
    def count(self) -> int:
        return len(self.files)

    @property
    def size(self) -> int:
        return sum(kept.size for kept in self.files)


def receipt_of(
    settings: Settings,
    number: int,
    at: datetime,
    sets: Sequence[DeliveredSet],
    left_out: Sequence[LeftOut] = (),
) -> str:
    """The receipt as HTML for reading and printing, in the language of the shoot."""
    from markupsafe import Markup

    from onsite.files.program_resources import template_environment, template_text

    package = "onsite.delivery"
    words = catalogue(Languages.of_shoot(settings).shoot)
    pages = template_environment(
        package,
        shown=shown,
        pictures=lambda count: words.text("receipt-pictures", count=count),
        megabytes=words.megabytes,
        number=words.number,
    )
    return pages.get_template("receipt.html").render(
        settings=settings,
        number=number,
        lang=words.tag,
        t=words.text,
        when=f"{words.day(at)}, {words.clock(at)} {at.tzname() or ''}".rstrip(),
        sets=sets,
        left_out=left_out,
        css=Markup(template_text(package, "receipt.css")),
    )


_ROW = re.compile(r"<tr><td>[^<]*</td><td>.*?</tr>")
_CELL = re.compile(r"<td>([^<]*)</td>")
_HEAD = re.compile(r"<h2>([^<]*)</h2>\n<p>[^<]*</p>")


def receipt_without(
    text: str,
    files: Collection[str],
    keys: Collection[str],
    left_out: Collection[tuple[str, str]],
    instead: str,
) -> str:
    """A receipt without a person: `instead` stands for each text in their rows, and at a set of their own.

    Their rows are those of `files`, by SHA-256, and those of people who were left out with a (name, group) in
    `left_out`. A set of their own goes by one of `keys`.
    """

    def has_file(part: str) -> bool:
        return any(f"<code>{sha256}</code>" in part for sha256 in files)

    def blanked(row: re.Match[str]) -> str:
        name, group = [unescape(cell) for cell in _CELL.findall(row[0])][:2]
        theirs = has_file(row[0]) if "<code>" in row[0] else (name, group) in left_out
        return _CELL.sub(f"<td>{instead}</td>", row[0]) if theirs else row[0]

    sections = re.split("(?=<h2>)", text)
    for place, section in enumerate(sections):
        head = _HEAD.match(section)
        if head and unescape(head[1]) in keys and has_file(section):
            sections[place] = _HEAD.sub(f"<h2>{instead}</h2>\n<p>{instead}</p>", section)
    return _ROW.sub(blanked, "".join(sections))


INDEX = "index.tsv"
COLUMNS = ("volume", "folder", "file", "group", "family", "given")


def yearbook_index(volume: str, files: Iterable[DeliveredFile], before: str = "") -> str:
    """The index of these files, appended to the other lines of an earlier index in the same folder."""
    lines = before.splitlines(keepends=True) or [tab_separated_text([COLUMNS])]
    new = [tab_separated_text([_row(volume, kept)]) for kept in files]
    return "".join([line for line in lines if line not in new] + new)


def _row(volume: str, kept: DeliveredFile) -> tuple[str, ...]:
    person = kept.job.wanted.person
    folder, _, file = kept.name.rpartition("/")
    family, given = (person.family, person.given) if person.family or person.given else (person.name, "")
    return volume, folder, file, person.group, family, given
