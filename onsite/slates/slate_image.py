"""Tickets as PNG pictures: to send to people, or to show on a phone or tablet."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from onsite.core.errors import Problem
from onsite.core.progress import Progress, no_progress
from onsite.core.text import shown
from onsite.files.atomic_write import atomic_file
from onsite.slates.fit_slate_text import compose_ticket
from onsite.slates.qr_symbol import qr_modules, with_quiet_zone
from onsite.slates.slate_fonts import Typeface, can_shape
from onsite.slates.slate_layout import NEUTRAL_GREY, SYMBOL_SIDE, Box, Ticket, ticket_layout

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageFont import FreeTypeFont

WIDTH = 1800
"""Width of a picture in pixels; it is two thirds as high."""

_LONGEST_NAME = 40  # characters of it in a file's name


def ticket_image(card: Ticket, width_px: int = WIDTH) -> Image:
    """Draw a ticket as an 8-bit sRGB picture of 3:2, each module the same whole number of pixels.

    Raises ValueError for a width at which a module would be smaller than a pixel.
    """
    import PIL.Image
    from PIL import ImageDraw

    height_px = round(width_px * 2 / 3)
    places = ticket_layout(width_px, height_px)
    picture = PIL.Image.new("RGB", (width_px, height_px), "white")
    for box in places.symbols:
        _paste_symbol(picture, card.code, box)
    draw = ImageDraw.Draw(picture)
    patch = places.patch
    draw.rectangle(
        (round(patch.x), round(patch.y), round(patch.right) - 1, round(patch.bottom) - 1), fill=NEUTRAL_GREY
    )
    for line in compose_ticket(card, places, shaping=can_shape()):
        font = _font(line.face, line.size)
        draw.text((line.x, line.baseline), line.text, fill="black", font=font, anchor="ls")
    return picture


def _paste_symbol(picture: Image, code: str, box: Box) -> None:
    import PIL.Image

    module = int(box.width / SYMBOL_SIDE)
    if module < 1:
        raise ValueError("too small a picture for a symbol")
    side = module * SYMBOL_SIDE
    modules = PIL.Image.fromarray(~with_quiet_zone(qr_modules(code))).resize(
        (side, side), PIL.Image.Resampling.NEAREST
    )
    slack = (box.width - side) / 2
    picture.paste(modules, (round(box.x + slack), round(box.y + slack)))


@lru_cache(maxsize=256)
def _font(face: Typeface, size: float) -> FreeTypeFont:
    from PIL import ImageFont

    return ImageFont.truetype(str(face.path), size, index=face.number)


def write_images(
    cards: Sequence[Ticket], folder: Path, progress: Progress = no_progress
) -> list[tuple[Ticket, str]]:
    """Write a PNG for each ticket into `folder`, created if missing; return each ticket with its file name.

    `progress` is called with the number done and the total. Each file is written atomically. Raises Problem
    when the folder cannot be created or written to.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise Problem(
            f"{folder} is no folder to write to: {error.strerror}", "Name another folder."
        ) from error
    written = list(zip(cards, file_names(cards), strict=True))
    for done, (card, name) in enumerate(written, start=1):
        with atomic_file(folder / name) as stream:
            ticket_image(card).save(stream, format="PNG", pnginfo=_srgb())
        progress(done, len(written))
    return written


def _srgb() -> object:
    """Return the PNG chunk for sRGB with perceptual rendering intent (PNG specification, 11.3.3.5)."""
    from PIL.PngImagePlugin import PngInfo

    chunks = PngInfo()
    chunks.add(b"sRGB", b"\x00")
    return chunks


def file_names(cards: Sequence[Ticket]) -> list[str]:
    """Return a file name for each ticket: the name in ASCII letters, then the code, which makes it unique.

    Only letters, digits and dashes, so that every file system accepts it and no name can escape the folder;
    with the code it is never a reserved name of Windows. Where a code comes twice, the later file is
    numbered.
    """
    names: list[str] = []
    taken: set[str] = set()
    for card in cards:
        stem = "-".join(
            part for part in (_plain(card.name)[:_LONGEST_NAME].strip("-"), _plain(card.code)) if part
        )
        name, count = f"{stem}.png", 1
        while name.lower() in taken:
            count += 1
            name = f"{stem}-{count}.png"
        taken.add(name.lower())
        names.append(name)
    return names


def _plain(text: str) -> str:
    """Transliterate `text` to ASCII letters and digits, joined by dashes."""
    from anyascii import anyascii

    return re.sub(r"[^A-Za-z0-9]+", "-", anyascii(shown(text))).strip("-")
