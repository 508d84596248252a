from __future__ import annotations

from pathlib import Path

import pytest

from onsite.slates import slate_fonts
from onsite.slates.slate_fonts import Typeface, bundled_typeface, font_folders, typeface_for


@pytest.mark.parametrize("bold", [False, True])
@pytest.mark.parametrize("text", ["Łódź Ångström", "Ωμέγα ΐ", "Щёлково Ґ", "فاطمة", "שרה", "Հայ", "… � –"])
def test_the_font_that_comes_along_draws_these_scripts(text: str, bold: bool) -> None:
    assert bundled_typeface(bold).draws(text)


@pytest.mark.parametrize("text", ["李", "अ", "a漢"])
def test_a_font_does_not_claim_letters_that_it_lacks(text: str) -> None:
    assert not bundled_typeface().draws(text)


def test_width_grows_with_the_text_and_knows_kerning() -> None:
    face = bundled_typeface()
    assert face.width("") == 0
    assert face.width("AV") < face.width("A") + face.width("V")
    # DejaVu Sans: the digits are 1303 of 2048 units wide (its hmtx table).
    assert face.width("7777") == pytest.approx(4 * 1303 / 2048)


@pytest.mark.usefixtures("only_bundled_fonts")
def test_the_font_of_a_name_is_looked_for_among_those_installed(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    collection = make_collection(tmp_path / "two.ttc", "A漢", "A字")
    monkeypatch.setattr(slate_fonts, "installed_fonts", lambda: (collection,))
    assert typeface_for("字") == Typeface(collection, 1)
    assert typeface_for("漢") == Typeface(collection, 0)
    assert typeface_for("अ") is None


@pytest.mark.usefixtures("only_bundled_fonts")
def test_a_damaged_file_among_the_fonts_is_passed_over(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    damaged, gone = tmp_path / "damaged.ttf", tmp_path / "gone.ttf"
    damaged.write_bytes(b"\x00\x01\x00\x00 no font")
    whole = make_collection(tmp_path / "whole.ttc", "漢")
    monkeypatch.setattr(slate_fonts, "installed_fonts", lambda: (damaged, gone, whole))
    assert typeface_for("漢") == Typeface(whole, 0)


@pytest.mark.usefixtures("only_bundled_fonts")
def test_a_font_whose_licence_forbids_embedding_is_passed_over(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    # OpenType specification, OS/2 table, fsType: 0x0002 is "restricted licence embedding".
    restricted = make_collection(tmp_path / "restricted.ttc", "漢", permissions=0x0002)
    monkeypatch.setattr(slate_fonts, "installed_fonts", lambda: (restricted,))
    assert typeface_for("漢") is None


@pytest.mark.usefixtures("only_bundled_fonts")
def test_a_font_that_shows_one_box_for_every_letter_is_passed_over(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    boxes = make_collection(tmp_path / "boxes.ttc", "AB漢", one_glyph=True)
    monkeypatch.setattr(slate_fonts, "installed_fonts", lambda: (boxes,))
    assert typeface_for("漢") is None


def test_font_folders_of_each_platform() -> None:
    home = Path("home")
    windows = list(font_folders("win32", {"WINDIR": "W", "LOCALAPPDATA": "L"}, home))
    assert windows == [Path("W/Fonts"), Path("L/Microsoft/Windows/Fonts")]
    assert home / "Library/Fonts" in font_folders("darwin", {}, home)
    assert Path("/usr/share/fonts") in font_folders("linux", {}, home)
    assert Path("elsewhere/fonts") in font_folders("linux", {"XDG_DATA_DIRS": "elsewhere"}, home)


def make_collection(path: Path, *letters: str, permissions: int = 0, one_glyph: bool = False) -> Path:
    """A font collection with one font for each text, which has squares for its letters."""
    from fontTools.fontBuilder import FontBuilder
    from fontTools.pens.ttGlyphPen import TTGlyphPen
    from fontTools.ttLib import TTCollection

    collection = TTCollection()
    for text in letters:
        names = [".notdef", *(f"glyph{number}" for number in range(len(text)))]
        pen = TTGlyphPen(None)
        pen.moveTo((0, 0))
        for corner in ((0, 700), (700, 700), (700, 0)):
            pen.lineTo(corner)
        pen.closePath()
        square = pen.glyph()
        font = FontBuilder(1000, isTTF=True)
        font.setupGlyphOrder(names)
        font.setupCharacterMap({ord(char): names[1 if one_glyph else 1 + i] for i, char in enumerate(text)})
        font.setupGlyf(dict.fromkeys(names, square))
        font.setupHorizontalMetrics(dict.fromkeys(names, (800, 0)))
        font.setupHorizontalHeader(ascent=900, descent=-200)
        font.setupNameTable({"familyName": "Squares", "styleName": "Regular"})
        font.setupOS2(fsType=permissions)
        font.setupPost()
        collection.fonts.append(font.font)
    collection.save(path)
    return path
