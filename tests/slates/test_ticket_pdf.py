"""Tickets as they come out of a viewer that is not part of the project: Poppler."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import zxingcpp
from numpy.typing import NDArray
from PIL import Image

from onsite.core.errors import Problem
from onsite.slates.qr_symbol import MODULES, QUIET_ZONE, qr_modules
from onsite.slates.slate_image import ticket_image
from onsite.slates.slate_layout import SYMBOL_SIDE, Box, Ticket, ticket_layout
from onsite.slates.ticket_pdf import GRIDS, PAPERS, bars, sheet, write_tickets
from tests.slates.sample_cards import cards_for

Tool = Callable[[str], Callable[..., str]]
EVERY_TIME = {("a4", 2), ("letter", 8)}
LAYOUTS = [
    pytest.param(paper, up, marks=[] if (paper, up) in EVERY_TIME else pytest.mark.long)
    for paper in PAPERS
    for up in GRIDS
]


def pages(pdf: Path, dpi: int, pdf_tool: Tool) -> list[Path]:
    pdf_tool("pdftoppm")("-r", dpi, "-png", pdf, pdf.with_suffix(f".{dpi}"))
    return sorted(pdf.parent.glob(f"{pdf.stem}.{dpi}*.png"))


def pixels(page: Path) -> NDArray[np.uint8]:
    with Image.open(page) as picture:
        return np.asarray(picture.convert("RGB"))


@pytest.mark.long
@pytest.mark.parametrize(("paper", "up"), LAYOUTS)
def test_every_ticket_of_a_sheet_decodes(
    paper: str, up: int, tmp_path: Path, pdf_tool: Tool, zbar: Callable[[Path], list[str]]
) -> None:
    cards = cards_for([f"Singer {number}" for number in range(up + 1)])
    write_tickets(cards, tmp_path / "tickets.pdf", paper, up)
    found = [
        {*zbar(page), *(found.text for found in zxingcpp.read_barcodes(Image.open(page)))}
        for page in pages(tmp_path / "tickets.pdf", 150, pdf_tool)
    ]
    # Two decoders: ZBar passes over some of the sixteen symbols of a full sheet.
    assert found == [{card.code for card in cards[:up]}, {cards[up].code}]


@pytest.mark.parametrize(("paper", "up"), LAYOUTS)
def test_name_group_code_and_symbol_of_a_person_are_on_one_ticket(
    paper: str, up: int, tmp_path: Path, pdf_tool: Tool, zbar: Callable[[Path], list[str]]
) -> None:
    pdf = tmp_path / "tickets.pdf"
    cards = cards_for([f"Singer{number}" for number in range(up)])
    write_tickets(cards, pdf, paper, up)
    with Image.open(pages(pdf, 150, pdf_tool)[0]) as page:
        for card, face in zip(cards, sheet(paper, up).faces, strict=True):
            area = [round(side * 150 / 25.4) for side in (face.x, face.y, face.width, face.height)]
            text = pdf_tool("pdftotext")(
                "-r", 150, "-x", area[0], "-y", area[1], "-W", area[2], "-H", area[3], pdf, "-"
            )
            assert sorted(text.split()) == sorted(
                [
                    *f"{card.name} {card.group} {card.shoot}".split(),
                    *(card.code[at : at + 4] for at in (0, 4, 8)),
                ]
            )
            page.crop((area[0], area[1], area[0] + area[2], area[1] + area[3])).save(tmp_path / "ticket.png")
            assert set(zbar(tmp_path / "ticket.png")) == {card.code}


@pytest.mark.long
@pytest.mark.parametrize(("paper", "up"), LAYOUTS)
def test_the_symbol_has_21_modules_and_its_quiet_zone(
    paper: str, up: int, tmp_path: Path, pdf_tool: Tool
) -> None:
    (card,) = cards_for(["Wolfeschlegelsteinhausenbergerdorff" * 3])
    write_tickets([card], tmp_path / "ticket.pdf", paper, up)
    (page,) = pages(tmp_path / "ticket.pdf", 300, pdf_tool)
    dark = pixels(page)[:, :, 0] < 64
    face = sheet(paper, up).faces[0]
    for place in ticket_layout(face.width, face.height).symbols:
        left, top, right, bottom = (
            round(side * 300 / 25.4)
            for side in (face.x + place.x, face.y + place.y, face.x + place.right, face.y + place.bottom)
        )
        # The box of a copy holds its symbol only, up to the ink of the other: measure it from its own ink.
        check_symbol(dark[top:bottom, left + 2 : right - 2], card)


def check_symbol(area: NDArray[np.bool_], card: Ticket) -> None:
    rows, columns = np.flatnonzero(area.any(axis=1)), np.flatnonzero(area.any(axis=0))
    module = (columns[-1] + 1 - columns[0]) / MODULES
    assert (rows[-1] + 1 - rows[0]) / MODULES == pytest.approx(module, abs=0.2)
    centres = (np.arange(MODULES) + 0.5) * module
    sampled = area[np.ix_((rows[0] + centres).astype(int), (columns[0] + centres).astype(int))]
    assert (sampled == qr_modules(card.code)).all()
    # ISO/IEC 18004, 5.3.8: four light modules on every side, to within a pixel of this rendering.
    height, width = area.shape
    for blank in (columns[0] + 2, rows[0], width + 1 - columns[-1], height - 1 - rows[-1]):
        assert blank >= QUIET_ZONE * module - 1.5


def test_no_hairline_of_paper_shows_inside_the_dark_parts(tmp_path: Path, pdf_tool: Tool) -> None:
    (card,) = cards_for(["Ida Berg"])
    write_tickets([card], tmp_path / "ticket.pdf", "a4", 8)
    # Cairo smooths the edge of every rectangle; at this resolution modules do not fall on whole pixels.
    pdf_tool("pdftocairo")("-r", 97, "-png", "-singlefile", tmp_path / "ticket.pdf", tmp_path / "page")
    face = sheet("a4", 8).faces[0]
    place = ticket_layout(face.width, face.height).symbols[0]
    module = place.width / SYMBOL_SIDE * 97 / 25.4
    left, top = (
        (origin * 97 / 25.4) + QUIET_ZONE * module for origin in (face.x + place.x, face.y + place.y)
    )
    bar = pixels(tmp_path / "page.png")[
        int(top + 1.5) : int(top + 7 * module - 1), int(left + 0.5 * module), 0
    ]
    assert len(bar) > 30
    assert bar.max() == 0


@pytest.mark.parametrize("seed", range(5))
def test_bars_cover_the_dark_modules_and_nothing_else(seed: int) -> None:
    modules = np.random.default_rng(seed).random((21, 21)) < 0.5
    covered = np.zeros_like(modules)
    for x, y, width, height in bars(modules):
        covered[y : y + height, x : x + width] = True
    assert (covered == modules).all()


@pytest.mark.long
def test_the_patch_is_neutral_grey(tmp_path: Path, pdf_tool: Tool) -> None:
    write_tickets(cards_for(["Ida Berg"]), tmp_path / "ticket.pdf", "letter", 4)
    (page,) = pages(tmp_path / "ticket.pdf", 150, pdf_tool)
    face = sheet("letter", 4).faces[0]
    patch = ticket_layout(face.width, face.height).patch
    left, top, right, bottom = (
        round(side * 150 / 25.4)
        for side in (face.x + patch.x, face.y + patch.y, face.x + patch.right, face.y + patch.bottom)
    )
    assert (pixels(page)[top + 2 : bottom - 2, left + 2 : right - 2] == 119).all()


@pytest.mark.parametrize(("paper", "up"), LAYOUTS)
def test_cut_marks_stay_in_the_margin(paper: str, up: int, tmp_path: Path, pdf_tool: Tool) -> None:
    write_tickets(cards_for(["Ida Berg"]), tmp_path / "ticket.pdf", paper, up)
    (page,) = pages(tmp_path / "ticket.pdf", 150, pdf_tool)
    dark = pixels(page)[:, :, 0] < 200
    place = sheet(paper, up)
    scale = 150 / 25.4
    assert dark.shape == (
        pytest.approx(place.height * scale, abs=1),
        pytest.approx(place.width * scale, abs=1),
    )
    margin = int(place.faces[0].y * scale)
    marks = np.flatnonzero(dark[margin // 2])
    for edge in {edge for face in place.faces for edge in (face.x, face.right)}:
        assert np.abs(marks - edge * scale).min() <= 1.5
    # A card's own ink keeps clear of its edge, so a band along the edges of the faces is blank.
    for face in place.faces:
        x, y = int(face.x * scale), int(face.y * scale)
        assert not dark[y - 2 : y + 3, x - 2 : int(face.right * scale) + 3].any()
        assert not dark[y - 2 : int(face.bottom * scale) + 3, x - 2 : x + 3].any()


@pytest.mark.long
@pytest.mark.parametrize("name", ["שרה בן־דוד", "فاطمة الزهراء", "Δημήτρης Παπαδόπουλος"])
def test_a_ticket_shows_a_name_as_the_picture_does(name: str, tmp_path: Path, pdf_tool: Tool) -> None:
    (card,) = cards_for([name])
    write_tickets([card], tmp_path / "ticket.pdf", "a4", 2)
    (page,) = pages(tmp_path / "ticket.pdf", 240, pdf_tool)
    face = sheet("a4", 2).faces[0]
    with Image.open(page) as whole:
        ticket = whole.convert("L").crop(
            tuple(round(side * 240 / 25.4) for side in (face.x, face.y, face.right, face.bottom))
        )
    printed = name_ink(ticket, ticket_layout(face.width, face.height).name, face.width)
    shown = name_ink(ticket_image(card).convert("L"), ticket_layout(1800, 1200).name, 1800)
    assert np.corrcoef(printed, shown)[0, 1] > 0.9
    assert np.corrcoef(printed, shown[::-1])[0, 1] < 0.7


def name_ink(face: Image.Image, box: Box, width: float) -> NDArray[np.float64]:
    """How dark a name is from its left end to its right end, in 100 steps."""
    scale = face.width / width
    area = face.crop(tuple(round(side * scale) for side in (box.x, box.y, box.right, box.bottom)))
    dark = 255 - np.asarray(area, dtype=float)
    inked = np.flatnonzero(dark.max(axis=0) > 64)
    profile = dark[:, inked[0] : inked[-1] + 1].sum(axis=0)
    return np.interp(np.linspace(0, len(profile) - 1, 100), np.arange(len(profile)), profile)


@pytest.mark.long
def test_fonts_are_embedded_as_subsets(cards: list[Ticket], tmp_path: Path, pdf_tool: Tool) -> None:
    write_tickets(cards, tmp_path / "tickets.pdf")
    table = pdf_tool("pdffonts")(tmp_path / "tickets.pdf").splitlines()
    columns = table[0].index("emb")
    fonts = table[2:]
    assert len(fonts) >= 2
    for font in fonts:
        assert font[columns:].split()[:2] == ["yes", "yes"]


@pytest.mark.long
def test_the_document_says_nothing_about_people(cards: list[Ticket], tmp_path: Path, pdf_tool: Tool) -> None:
    write_tickets(cards, tmp_path / "tickets.pdf")
    about = pdf_tool("pdfinfo")(tmp_path / "tickets.pdf")
    assert [line.split()[-1] for line in about.splitlines() if line.startswith("Title")] == ["Tickets"]
    assert not any(line.startswith(("Author", "Subject", "Keywords")) for line in about.splitlines())
    assert not any(card.name.split()[0] in about for card in cards)


@pytest.mark.long
def test_progress_is_told_for_every_ticket(cards: list[Ticket], tmp_path: Path) -> None:
    told: list[tuple[int, int]] = []
    write_tickets(
        cards, tmp_path / "tickets.pdf", up=8, progress=lambda done, total: told.append((done, total))
    )
    assert told == [(number, len(cards)) for number in range(1, len(cards) + 1)]


@pytest.mark.parametrize(
    ("names", "paper", "up", "folder"),
    [
        ([], "a4", 1, ""),
        (["Ida"], "a7", 1, ""),
        (["Ida"], "a4", 3, ""),
        (["Ida"], "a4", 0, ""),
        (["Ida"], "a4", 1, "nowhere"),
    ],
)
def test_a_sheet_that_cannot_be_made_is_a_problem_and_leaves_no_file(
    names: list[str], paper: str, up: int, folder: str, tmp_path: Path
) -> None:
    with pytest.raises(Problem) as problem:
        write_tickets(cards_for(names), tmp_path / folder / "tickets.pdf", paper, up)
    assert problem.value.remedy
    assert not list(tmp_path.iterdir())


def test_a_sheet_that_fails_halfway_leaves_the_one_before_it(cards: list[Ticket], tmp_path: Path) -> None:
    path = tmp_path / "tickets.pdf"
    path.write_bytes(b"before")

    def stop(done: int, _: int) -> None:
        if done == 3:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_tickets(cards, path, progress=stop)
    assert path.read_bytes() == b"before"
    assert list(tmp_path.iterdir()) == [path]
