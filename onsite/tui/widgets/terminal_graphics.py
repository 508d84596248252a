"""Which widget draws a picture in this terminal: graphics where they are known to work, else half blocks.

textual-image asks the terminal when it is imported, before the screens are open, and takes the first answer.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterable
from typing import Any

from rich.control import Control
from rich.segment import ControlType, Segment
from textual.app import ComposeResult
from textual.geometry import Region
from textual.strip import Strip
from textual_image._terminal import capture_terminal_response
from textual_image.renderable.unicode import Image as UnicodeRenderable
from textual_image.widget import HalfcellImage, SixelImage, TGPImage
from textual_image.widget import Image as BestImage
from textual_image.widget._base import Image as AnyImage
from textual_image.widget.sixel import _ImageSixelImpl, _NoopRenderable

_KITTY = "xterm-kitty"
"""A terminal by its name in terminfo: where its answer comes too late to be heard, it draws graphics too."""

_PLACEHOLDERS_SINCE = (0, 28)
"""The first version of that terminal that draws graphics on text cells, as screens need it (its protocol's
description says so, from memory). Earlier ones show boxes."""

_PATIENCE = 0.5  # seconds until the terminal has said its name and version

_KITTY_VERSION = re.compile(r"kitty\((\d+)\.(\d+)")


def picture_widget() -> AnyImage:
    """A new widget that draws a picture as well as this terminal can."""
    if _BEST is SixelImage:
        return SixelPicture()
    return _BEST()


def _best() -> type[AnyImage]:
    found: type[AnyImage] = BestImage
    is_kitty = os.environ.get("TERM") == _KITTY
    if found is TGPImage or is_kitty:
        version = kitty_version(_name_and_version()) if is_kitty else None
        return HalfcellImage if version is not None and version < _PLACEHOLDERS_SINCE else TGPImage
    return HalfcellImage if getattr(found, "_Renderable", None) is UnicodeRenderable else found


def _name_and_version() -> str:
    """What the terminal answers to XTVERSION (xterm's control sequences); empty where it says nothing."""
    if sys.__stdout__ is None or not sys.__stdout__.isatty():
        return ""
    try:
        with capture_terminal_response("\x1bP>|", "\x1b\\", _PATIENCE) as response:
            sys.__stdout__.write("\x1b[>q")
            sys.__stdout__.flush()
    except Exception:  # whatever a terminal answers, or somebody types meanwhile, the screens open
        return ""
    return str(response.sequence)


def kitty_version(answer: str) -> tuple[int, int] | None:
    r"""Major and minor version in the answer to XTVERSION; None where it is no such terminal's.

    >>> kitty_version("\x1bP>|kitty(0.26.5)\x1b\\")
    (0, 26)
    """
    found = _KITTY_VERSION.search(answer)
    return (int(found[1]), int(found[2])) if found is not None else None


_DEFINITION = re.compile(r"#(\d+)(;2;\d+;\d+;\d+)")
"""Defines a colour: its number and its red, green and blue in per cent."""


class SixelPicture(SixelImage, Renderable=_NoopRenderable):
    """A picture as Sixel graphics, drawn so that each terminal shows the same and no earlier picture stays.

    It differs from the widget of textual-image in three things, each seen in xterm: a colour is selected
    where it is defined, which other terminals do by themselves; the lines under the picture keep the cells
    beside it in their place; and the cursor ends on the picture's last line, so that the cells beside that
    one are drawn as well.
    """

    def compose(self) -> ComposeResult:
        yield _SixelCells(self.image, self._sixel_options)


class _SixelCells(_ImageSixelImpl, can_focus=False, inherit_css=False):
    """The cells that the graphics stand on."""

    def render_lines(self, crop: Region) -> list[Strip]:
        lines = super().render_lines(crop)
        if len(lines) != crop.height:
            return lines
        over = Segment(f"\x1b[{crop.width}C", control=((ControlType.CURSOR_FORWARD, crop.width),))
        return [Strip([over], crop.width) for _ in lines[:-1]] + lines[-1:]

    def _image_to_sixels(self, *arguments: Any, **options: Any) -> str:
        return selected_when_defined(super()._image_to_sixels(*arguments, **options))

    def _get_sixel_segments(self, sixel_data: str) -> Iterable[Segment]:
        *graphics, after = super()._get_sixel_segments(sixel_data)
        region = self.screen.find_widget(self).visible_region
        return [
            *graphics,
            Segment(Control.move_to(region.right, region.bottom - 1).segment.text, after.style),
        ]


def selected_when_defined(sixels: str) -> str:
    """The graphics with each colour selected where it is defined.

    >>> selected_when_defined("#3;2;10;20;30~~")
    '#3;2;10;20;30#3~~'
    """
    return _DEFINITION.sub(r"#\1\2#\1", sixels)


_BEST = _best()
"""Found once, before the screens read what the terminal sends."""
