"""A picture as Sixel graphics, drawn so that each terminal shows the same and no earlier picture stays.

Differs from the widget of textual-image in three things, each seen in xterm: a colour is selected where it is
defined, which other terminals do by themselves; the lines under the picture keep the cells beside it in their
place; and the cursor ends on the picture's last line, so that the cells beside that one are drawn as well.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from rich.control import Control
from rich.segment import ControlType, Segment
from textual.app import ComposeResult
from textual.geometry import Region
from textual.strip import Strip
from textual_image.widget import SixelImage
from textual_image.widget.sixel import _ImageSixelImpl, _NoopRenderable

_DEFINITION = re.compile(r"#(\d+)(;2;\d+;\d+;\d+)")
"""Defines a colour: its number and its red, green and blue in per cent."""


class SixelPicture(SixelImage, Renderable=_NoopRenderable):
    """A picture as Sixel graphics."""

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
