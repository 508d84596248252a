"""Fonts for names: the two bundled ones, then those installed on this machine.

HarfBuzz says what a font can draw and how wide a text is. The PDF and picture libraries shape text with it
too, so measured and drawn widths agree.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from onsite.core.text import JOINERS

if TYPE_CHECKING:
    import uharfbuzz


_BUNDLED = Path(__file__).parent / "fonts"
_NOT_EMBEDDABLE = 0x0002 | 0x0100 | 0x0200
"""Bits of fsType for restricted licence, no subsetting, bitmaps only (OpenType specification, OS/2 table)."""

_UNWANTED = (
    "italic",
    "oblique",
    "condensed",
    "narrow",
    "mono",
    "light",
    "thin",
    "black",
    "serif",
    "[",
    "-vf",
)
"""Parts of file names of less suitable fonts; "[" and "-vf" mark variable fonts."""


@dataclass(frozen=True, slots=True)
class Typeface:
    """A font: a file, and its index in a font collection."""

    path: Path
    number: int = 0

    def draws(self, text: str) -> bool:
        """Whether the font has a glyph for every character of `text`."""
        font = _font(self)
        return all(font.get_nominal_glyph(ord(char)) for char in text if char not in JOINERS)

    def width(self, text: str) -> float:
        """Return the width of the shaped `text`, in em."""
        import uharfbuzz

        buffer = uharfbuzz.Buffer()
        buffer.add_str(text)
        buffer.guess_segment_properties()
        font = _font(self)
        uharfbuzz.shape(font, buffer)
        return float(sum(glyph.x_advance for glyph in buffer.glyph_positions or ()) / font.face.upem)

    def parts(self, text: str) -> list[tuple[str, Typeface]]:
        """Return `text` in pieces of one font each: always a single piece."""
        return [(text, self)]

    @property
    def ascent(self) -> float:
        """From the baseline up to the top of a line, in em."""
        return float(_font(self).get_font_extents("ltr").ascender / _font(self).face.upem)

    @property
    def line_height(self) -> float:
        """From the top of a line to the top of the next, in em."""
        extents = _font(self).get_font_extents("ltr")
        return float((extents.ascender - extents.descender) / _font(self).face.upem)


@dataclass(frozen=True, slots=True)
class MixedTypeface:
    """Several fonts for a text that no single font draws: each word takes the first that draws it."""

    faces: tuple[Typeface, ...]

    def draws(self, text: str) -> bool:
        """Whether every word of `text` has a font that draws it."""
        return all(any(face.draws(word) for face in self.faces) for word in text.split(" "))

    def width(self, text: str) -> float:
        """Return the width of the shaped `text`, in em."""
        return sum(face.width(part) for part, face in self.parts(text))

    def parts(self, text: str) -> list[tuple[str, Typeface]]:
        """Return `text` in pieces of one font each; a space belongs to the word before it."""
        pieces: list[tuple[str, Typeface]] = []
        words = text.split(" ")
        for place, word in enumerate(words):
            face = next((face for face in self.faces if face.draws(word)), self.faces[0])
            word += " " if place < len(words) - 1 else ""
            if pieces and pieces[-1][1] == face:
                pieces[-1] = (pieces[-1][0] + word, face)
            else:
                pieces.append((word, face))
        return pieces

    @property
    def ascent(self) -> float:
        """From the baseline up to the top of a line, in em."""
        return max(face.ascent for face in self.faces)

    @property
    def line_height(self) -> float:
        """From the top of a line to the top of the next, in em."""
        return self.ascent + max(face.line_height - face.ascent for face in self.faces)


def bundled_typeface(bold: bool = False) -> Typeface:
    """Return the bundled font: Latin, Greek, Cyrillic, Arabic, Hebrew, Armenian, Georgian."""
    return Typeface(_BUNDLED / ("DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"))


@lru_cache(maxsize=4096)
def typeface_for(text: str, bold: bool = False) -> Typeface | None:
    """Return the first font that draws all of `text`: the bundled font, an installed one, or None."""
    own = bundled_typeface(bold)
    if own.draws(text):
        return own
    wanted = "".join(set(text))
    for path in _by_preference(installed_fonts(), bold):
        for face in _usable(path):
            if face.draws(wanted):
                return face
    return None


@lru_cache(maxsize=1)
def installed_fonts() -> tuple[Path, ...]:
    """Return the font files in the standard folders of this system, sorted by path."""
    found: set[Path] = set()
    for folder in font_folders(sys.platform, os.environ, Path.home()):
        for parent, _, names in os.walk(folder):
            found.update(
                Path(parent, name) for name in names if name.lower().endswith((".ttf", ".otf", ".ttc"))
            )
    return tuple(sorted(found))


def font_folders(platform: str, environ: Mapping[str, str], home: Path) -> Iterator[Path]:
    """Yield the font folders of a platform (`sys.platform`), whether or not they exist."""
    if platform == "win32":
        yield Path(environ.get("WINDIR", r"C:\Windows"), "Fonts")
        yield Path(environ.get("LOCALAPPDATA", home / "AppData/Local"), "Microsoft/Windows/Fonts")
    elif platform == "darwin":
        yield from (Path("/System/Library/Fonts"), Path("/Library/Fonts"), home / "Library/Fonts")
    else:
        yield Path(environ.get("XDG_DATA_HOME") or home / ".local/share", "fonts")
        yield home / ".fonts"
        shared = environ.get("XDG_DATA_DIRS") or "/usr/local/share:/usr/share"
        yield from (Path(folder, "fonts") for folder in shared.split(":") if folder)


def _by_preference(paths: tuple[Path, ...], bold: bool) -> list[Path]:
    """Sort font files: upright sans-serif fonts of the requested weight first."""

    def faults(path: Path) -> tuple[int, bool, bool, str]:
        name = path.name.lower()
        wrong = sum(word in name.replace("sans", "") for word in _UNWANTED)
        return wrong, ("bold" in name) != bold, "sans" not in name, name

    return sorted(paths, key=faults)


@cache
def _usable(path: Path) -> tuple[Typeface, ...]:
    """Return the embeddable fonts with letters in a file; none when the file cannot be read."""
    import uharfbuzz

    try:
        count = uharfbuzz.Face(uharfbuzz.Blob.from_file_path(str(path)), 0).count
    except (OSError, uharfbuzz.HarfBuzzError):
        return ()
    return tuple(face for face in (Typeface(path, number) for number in range(count)) if _draws_letters(face))


def _draws_letters(face: Typeface) -> bool:
    """False for damaged, non-embeddable and bitmap fonts, and fonts with one box for every letter."""
    font = _font(face)
    tables = set(font.face.table_tags)
    if not {"cmap", "OS/2", "hmtx"} <= tables or not tables & {"glyf", "CFF "} or tables & {"sbix", "CBDT"}:
        return False
    permissions = int.from_bytes(font.face.reference_table("OS/2").data[8:10], "big")
    latin_a, latin_b = (font.get_nominal_glyph(ord(letter)) for letter in "AB")
    return not permissions & _NOT_EMBEDDABLE and (latin_a is None or latin_a != latin_b)


@cache
def _font(face: Typeface) -> uharfbuzz.Font:
    import uharfbuzz

    return uharfbuzz.Font(uharfbuzz.Face(uharfbuzz.Blob.from_file_path(str(face.path)), face.number))


@lru_cache(maxsize=1)
def can_shape() -> bool:
    """Whether Pillow can shape text on this machine: join Arabic letters, order right-to-left scripts."""
    from PIL import features

    return bool(features.check("raqm"))
