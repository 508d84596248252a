"""A frame's picture, as well as the terminal can show it: as graphics, else in half blocks."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Static
from textual_image.widget._base import Image as AnyImage

from onsite.core.text import shown
from onsite.tui.background_workers import background_worker
from onsite.tui.screen_host import host_of
from onsite.tui.widgets.terminal_graphics import picture_widget

if TYPE_CHECKING:
    from PIL import Image


CELL = (1, 2)
"""Width and height of a terminal's cell relative to each other; most are close to this."""


class FramePicture(Vertical):
    """A picture with a line under it. It keeps its aspect ratio and fills the room it has."""

    DEFAULT_CSS = """
    FramePicture {
        align: center top;
        & > .picture--under { height: auto; max-height: 2; width: 100%; text-align: center; color: $ink; }
        & > .picture--none { height: 1; width: 100%; text-align: center; color: $quiet; }
    }
    """

    def __init__(self, id: str | None = None, classes: str | None = None) -> None:
        super().__init__(id=id, classes=classes)
        self._asked = 0
        self._shown: tuple[Path | None, str] = (None, "")
        self._shape: tuple[int, int] = (0, 0)

    def compose(self) -> ComposeResult:
        yield picture_widget()
        yield Static("", classes="picture--none", markup=False)
        yield Static("", classes="picture--under", markup=False)

    def on_mount(self) -> None:
        self.app.theme_changed_signal.subscribe(self, lambda _: self._read_again())

    def _read_again(self) -> None:
        """Show the same picture in the colours of another theme."""
        path, missing = self._shown
        if path is not None:
            self._read(path, missing)

    def show(self, path: Path | None, under: str = "", missing: str = "no picture") -> None:
        """Show the picture in this file, or the text `missing` where there is no file."""
        self.query_one(".picture--under", Static).update(Text(shown(under)))
        self._shown = path, missing
        self._read(path, missing)

    def _read(self, path: Path | None, missing: str) -> None:
        self._asked += 1
        self._put(None, "" if path is not None else missing)  # never a picture over another's name
        if path is not None:
            tint = self._ink if host_of(self).screen_theme.tint else None
            self._load(path, missing, tint, self._asked)

    def relabel(self, under: str) -> None:
        """Change the line under the same picture."""
        self.query_one(".picture--under", Static).update(Text(shown(under)))

    @background_worker("Reading the picture")
    def _load(self, path: Path, missing: str, tint: str | None, asked: int) -> None:
        picture = _read(path, tint)
        host_of(self).call_later_from_anywhere(self._loaded, picture, missing, asked)

    def _loaded(self, picture: Image.Image | None, missing: str, asked: int) -> None:
        # else another picture was asked for meanwhile, or the screen is being closed
        if asked == self._asked and self.is_mounted and self.children:
            self._put(picture, missing)

    def _put(self, picture: Image.Image | None, missing: str) -> None:
        none = self.query_one(".picture--none", Static)
        image = self.query_one(AnyImage)
        none.update("" if picture is not None else Text(missing))
        none.display, image.display = picture is None, picture is not None
        self._shape = picture.size if picture is not None else (0, 0)
        image.image = picture
        self._fit()

    def on_resize(self) -> None:
        self._fit()

    def _fit(self) -> None:
        """Make the picture as large as fits above the line under it, with its aspect ratio."""
        width, height = self._shape
        room = self.content_size
        if not width or not room.width or room.height < 2:
            return
        rows = room.height - self.query_one(".picture--under", Static).size.height
        columns = min(room.width, max(rows * CELL[1] * width // (height * CELL[0]), 1))
        image = self.query_one(AnyImage)
        image.styles.width = columns
        image.styles.margin = (0, 0, 0, (room.width - columns) // 2)
        image.styles.height = max(min(rows, columns * height * CELL[0] // (width * CELL[1])), 1)

    @property
    def _ink(self) -> str:
        return host_of(self).screen_theme.colours["ink"]


def _read(path: Path, tint: str | None) -> Image.Image | None:
    """The picture, in shades of the colour `tint` where one is given; None where it cannot be read."""
    from PIL import Image, ImageOps

    try:
        with Image.open(path) as picture:
            picture.load()
            if tint is None:
                return picture.convert("RGB")
            return ImageOps.colorize(picture.convert("L"), "#000000", tint)
    except Exception:  # a damaged preview fails in many ways; the frame itself is reported elsewhere
        return None
