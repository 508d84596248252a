"""The receipt of a delivery: what went to whom and when, with the SHA-256 of every file. One HTML file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from onsite.delivery.made import DeliveredFile
from onsite.delivery.sets import LeftOut
from onsite.messages.catalogue import catalogue
from onsite.messages.languages import Languages
from onsite.store.settings import Settings
from onsite.words import shown


@dataclass(frozen=True, slots=True)
class DeliveredSet:
    """A set as delivered. `sha256` is that of a ZIP, empty for folders and bags, whose manifests tell."""

    name: str
    recipient: str
    package: Path
    files: tuple[DeliveredFile, ...]
    sha256: str = ""

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
    """The receipt, to be read in a browser and printed, in the language of the shoot."""
    from markupsafe import Markup

    from onsite.files.page import template_environment, template_text

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
