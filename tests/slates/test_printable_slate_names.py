from __future__ import annotations

import unicodedata

import pytest
import uharfbuzz
from hypothesis import given
from hypothesis import strategies as st

from onsite.core.text import JOINERS, SUBSTITUTE, shown
from onsite.slates.printable_slate_names import letter_in_latin, letter_text, needs_shaping, reads_from_right
from onsite.slates.slate_fonts import Typeface
from tests.slates.sample_cards import NAMES


def glyphs(text: str, face: Typeface) -> list[int]:
    """The glyphs that HarfBuzz draws for a text; 0 is .notdef (OpenType specification, "glyf")."""
    buffer = uharfbuzz.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    uharfbuzz.shape(uharfbuzz.Font(uharfbuzz.Face(face.path.read_bytes(), face.number)), buffer)
    return [info.codepoint for info in buffer.glyph_infos]


@pytest.mark.parametrize("bold", [False, True])
@pytest.mark.parametrize("name", [*NAMES, "李小龍", "अमृता शर्मा", "Ana 🎻"])
def test_no_name_is_drawn_with_a_missing_glyph(name: str, bold: bool) -> None:
    lettered = letter_text(name, bold)
    assert lettered.text
    assert 0 not in glyphs(lettered.text, lettered.face)


@pytest.mark.usefixtures("only_bundled_fonts")
@pytest.mark.parametrize("name", NAMES[:9])
def test_names_in_the_scripts_that_come_along_are_drawn_as_written(name: str) -> None:
    lettered = letter_text(name)
    assert (lettered.text, lettered.missing) == (name, "")


@pytest.mark.usefixtures("only_bundled_fonts")
@pytest.mark.parametrize(
    ("name", "latin", "missing"),
    [
        ("李小龍", "LiXiaoLong", "小李龍"),
        ("अमृता शर्मा", "Amrta Srma", "अतमरशाृ्"),
        ("Δημήτρης 李", "Δημήτρης Li", "李"),
    ],
)
def test_without_a_font_only_the_words_that_need_it_are_put_in_latin_letters(
    name: str, latin: str, missing: str
) -> None:
    lettered = letter_text(name)
    assert (lettered.original, lettered.text, lettered.missing) == (name, latin, missing)


@pytest.mark.usefixtures("only_bundled_fonts")
def test_the_caller_can_ask_which_names_are_in_latin_letters() -> None:
    found = letter_in_latin(["Bo Li", "李小龍", "Евгения", "李小龍"])
    assert [(one.original, one.text) for one in found] == [("李小龍", "LiXiaoLong")]


def test_without_shaping_a_right_to_left_name_is_put_in_latin_letters_and_not_drawn_backwards() -> None:
    lettered = letter_text("Sara שרה", shaping=False)
    assert lettered.text.isascii()
    assert lettered.missing == "".join(sorted("שרה"))


def test_what_a_terminal_would_obey_is_shown_and_not_obeyed() -> None:
    assert shown("Eve\x1b[31m [bold]") == f"Eve{SUBSTITUTE}[31m [bold]"
    assert shown("Eve\r\nKlein\tB.\u2028C.") == "Eve Klein B. C."
    assert shown("\u202egnp.exe\u2066\x9b\ud800") == f"{SUBSTITUTE}gnp.exe{SUBSTITUTE * 3}"


def test_joiners_stay_and_other_invisible_characters_go() -> None:
    assert shown("علی\u200cرضا") == "علی\u200cرضا"
    assert shown("\ufeffAnna\u200b\u200e") == "Anna"


@given(st.text())
def test_no_text_whatever_keeps_a_control_character_or_lacks_a_glyph(text: str) -> None:
    safe = shown(text)
    assert not any(
        unicodedata.category(char) in ("Cc", "Cf", "Cs", "Zl", "Zp") for char in safe if char not in JOINERS
    )
    assert shown(safe) == safe
    lettered = letter_text(text)
    assert lettered.face.draws(lettered.text)


@pytest.mark.parametrize(
    ("text", "shaped", "from_right"),
    [
        ("Anna", False, False),
        ("1. שרה", True, True),
        ("Sara שרה", True, False),
        ("अमृता", True, False),
        ("12", False, False),
    ],
)
def test_direction_and_shaping(text: str, shaped: bool, from_right: bool) -> None:
    # UAX 9, rules P2 and P3: the first strong character decides; digits are weak.
    assert needs_shaping(text) is shaped
    assert reads_from_right(text) is from_right
