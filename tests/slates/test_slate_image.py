from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageDraw, ImageFont, features

from onsite.core.errors import Problem
from onsite.slates.fit_slate_text import compose_ticket
from onsite.slates.qr_symbol import qr_modules
from onsite.slates.slate_image import file_names, ticket_image, write_images
from onsite.slates.slate_layout import Ticket, ticket_layout

CODE = "NX34ACDEFHJK"
RESERVED = {
    "con",
    "prn",
    "aux",
    "nul",
    *(f"{port}{number}" for port in ("com", "lpt") for number in range(10)),
}
"""Names that Windows keeps for devices ("Naming Files, Paths, and Namespaces" in its documentation)."""


def ink(picture: Image.Image) -> np.ndarray:
    """The dark pixels of a picture."""
    return np.asarray(picture.convert("L")) < 128


@pytest.mark.long
def test_every_picture_decodes_to_its_code(
    cards: list[Ticket], tmp_path: Path, zbar: Callable[[Path], list[str]]
) -> None:
    for card, name in write_images(cards, tmp_path / "slates"):
        assert zbar(tmp_path / "slates" / name) == [card.code] * 2


@pytest.mark.parametrize("width", [1800, 1001, 320])
@pytest.mark.parametrize("mirrored", [False, True])
def test_both_symbols_are_21_whole_modules_with_four_light_ones_around_them(
    width: int, mirrored: bool
) -> None:
    picture = ticket_image(Ticket(CODE, "Ida Berg"), width)
    dark = ink(picture)[: int(ticket_layout(*picture.size).symbols[0].bottom)]  # above the type
    if mirrored:  # the copy on the right is the first from the left
        dark = dark[:, ::-1]
    left = np.flatnonzero(dark.any(axis=0))[0]
    top = np.flatnonzero(dark[:, left])[0]
    # The finder pattern's upper edge is a dark line of seven modules (ISO/IEC 18004, 5.3.2).
    seven = int(np.flatnonzero(~dark[top, left:])[0])
    module = seven // 7
    assert seven == 7 * module
    side = 21 * module
    inside = dark[top : top + side, left : left + side]
    expected = qr_modules(CODE)[:, ::-1] if mirrored else qr_modules(CODE)
    assert (inside == np.kron(expected, np.ones((module, module), bool))).all()
    quiet = 4 * module  # ISO/IEC 18004, 5.3.8
    assert min(left, top) >= quiet
    around = dark[top - quiet : top + side + quiet, left - quiet : left + side + quiet]
    assert around.shape == (side + 2 * quiet, side + 2 * quiet)
    assert around.sum() == inside.sum()


def test_the_symbol_has_no_half_tones() -> None:
    picture = ticket_image(Ticket(CODE, "Ida Berg"))
    for box in ticket_layout(*picture.size).symbols:
        area = picture.crop((round(box.x), round(box.y), round(box.right), round(box.bottom)))
        assert {colour for _, colour in area.getcolors() or ()} == {(0, 0, 0), (255, 255, 255)}


def test_the_patch_is_neutral_grey() -> None:
    picture = ticket_image(Ticket(CODE, "Ida Berg"))
    patch = ticket_layout(*picture.size).patch
    inside = picture.crop(
        (round(patch.x) + 1, round(patch.y) + 1, round(patch.right) - 1, round(patch.bottom) - 1)
    )
    assert [colour for _, colour in inside.getcolors() or ()] == [(119, 119, 119)]


@pytest.mark.skipif(not features.check("raqm"), reason="Pillow cannot order right-to-left text here")
def test_a_right_to_left_name_stands_in_visual_order() -> None:
    # Hebrew letters do not join: the name read backwards and set left to right is the same picture.
    card = Ticket(CODE, "אבגד")
    picture = ticket_image(card)
    line = compose_ticket(card, ticket_layout(*picture.size))[0]
    font = ImageFont.truetype(str(line.face.path), line.size, layout_engine=ImageFont.Layout.BASIC)
    name = ticket_layout(*picture.size).name
    area = (round(name.x), round(name.y), round(name.right), round(name.bottom))
    drawn = np.asarray(picture.crop(area).convert("L"), dtype=int)

    def unlike(letters: str) -> float:
        """How far the drawn name is from these letters set left to right."""
        expected = Image.new("L", picture.size, "white")
        ImageDraw.Draw(expected).text((line.x, line.baseline), letters, fill="black", font=font, anchor="ls")
        wanted = np.asarray(expected.crop(area), dtype=int)
        assert wanted.min() == 0
        return float(np.abs(drawn - wanted).mean())

    assert unlike("דגבא") < 2
    assert unlike("דגבא") < 0.2 * unlike("אבגד")


def test_the_picture_is_8_bit_srgb(tmp_path: Path) -> None:
    ((_, name),) = write_images([Ticket(CODE, "Ida Berg")], tmp_path)
    with Image.open(tmp_path / name) as picture:
        assert (picture.format, picture.mode, picture.size) == ("PNG", "RGB", (1800, 1200))
        assert picture.info["srgb"] == 0  # PNG specification, 11.3.3.5: the sRGB chunk, perceptual


def test_progress_is_told_and_nothing_but_the_pictures_is_left(tmp_path: Path, cards: list[Ticket]) -> None:
    told: list[tuple[int, int]] = []
    written = write_images(cards[:3], tmp_path, lambda done, total: told.append((done, total)))
    assert told == [(1, 3), (2, 3), (3, 3)]
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(name for _, name in written)


def test_a_file_in_the_place_of_the_folder_is_a_problem(tmp_path: Path) -> None:
    (tmp_path / "slates").write_text("in the way")
    with pytest.raises(Problem):
        write_images([Ticket(CODE, "Ida Berg")], tmp_path / "slates")


def test_file_names_say_who_and_which_code() -> None:
    cards = [Ticket(CODE, "Zoë Ó Súilleabháin"), Ticket(CODE, "../../etc/passwd"), Ticket(CODE, "con")]
    assert file_names(cards) == [
        "Zoe-O-Suilleabhain-NX34ACDEFHJK.png",
        "etc-passwd-NX34ACDEFHJK.png",
        "con-NX34ACDEFHJK.png",
    ]


def test_files_that_would_share_a_name_are_numbered() -> None:
    cards = [Ticket(CODE, "Ida Berg"), Ticket(CODE, "IDA BERG"), Ticket(CODE, "Ida/Berg")]
    assert file_names(cards) == [
        "Ida-Berg-NX34ACDEFHJK.png",
        "IDA-BERG-NX34ACDEFHJK-2.png",
        "Ida-Berg-NX34ACDEFHJK-3.png",
    ]


@given(st.lists(st.text(max_size=60), max_size=6))
def test_no_name_makes_a_hostile_file_name(names: list[str]) -> None:
    made = file_names([Ticket(CODE, name) for name in names])
    assert len({name.lower() for name in made}) == len(names)
    for name in made:
        assert re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9-]{0,80}\.png", name)
        assert name.split(".")[0].lower() not in RESERVED
