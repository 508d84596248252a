"""The sheets, as a renderer that does not come with the project shows them."""

from __future__ import annotations

import io
import shutil
import subprocess
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from onsite.proofs.contact_sheet import DPI, MARGIN, PAPER, SheetHeading, jpeg_sheets, pdf_sheets, plan_sheets
from onsite.proofs.proof_picture import ProofPicture, proof_picture
from onsite.reconcile.frame_ownership import ProofFrame, ProofSource
from onsite.slates.slate_layout import Box
from tests.proofs.studio import frame

HEADING = SheetHeading("Mira Okafor", "Soprano · Festival · 2026-06-13", "PROOF")


@pytest.fixture
def pictures(tmp_path: Path) -> list[ProofPicture]:
    """Three pictures, each of another colour."""
    from onsite.frames.examine_frame import fingerprint
    from onsite.frames.find_frame_files import FileKind

    made = []
    for number, colour in enumerate([(200, 40, 40), (40, 160, 40), (40, 40, 200)]):
        path = frame(tmp_path / f"IMG_{number}.JPG", colour, (1200, 1800))
        now = fingerprint(path)
        source = ProofSource(path, FileKind.JPEG, "", now.size, now.head)
        made.append(proof_picture(ProofFrame(number, f"A:104{number}", (source,)), tmp_path))
    return made


@pytest.fixture
def poppler() -> None:
    if not shutil.which("pdftoppm"):
        pytest.skip("pdftoppm is not installed")


def colour_in(page: Image.Image, box: Box, dots: float) -> tuple[int, ...]:
    """At the right of the middle of a picture."""
    colour = page.getpixel((round((box.x + box.width * 0.7) * dots), round((box.y + box.height / 2) * dots)))
    assert isinstance(colour, tuple)
    return colour


def strongest(colour: tuple[int, ...]) -> int:
    return max(range(3), key=lambda channel: colour[channel])


@pytest.mark.long
@pytest.mark.usefixtures("poppler")
def test_the_pdf_shows_name_shoot_mark_labels_and_pictures(
    pictures: list[ProofPicture], tmp_path: Path
) -> None:
    (tmp_path / "sheet.pdf").write_bytes(pdf_sheets(HEADING, pictures))
    text = subprocess.check_output(["pdftotext", "-layout", str(tmp_path / "sheet.pdf"), "-"], text=True)
    for word in ("Mira Okafor", "Soprano · Festival · 2026-06-13", "PROOF", "A:1040", "A:1041", "A:1042"):
        assert word in text
    subprocess.check_call(
        ["pdftoppm", "-r", "72", "-png", str(tmp_path / "sheet.pdf"), str(tmp_path / "page")]
    )
    page = Image.open(next(tmp_path.glob("page*.png"))).convert("RGB")
    (plan,) = plan_sheets(HEADING, ["A"] * 3, [(p.width, p.height) for p in pictures])
    assert [strongest(colour_in(page, placed.box, 72 / 25.4)) for placed in plan.pictures] == [0, 1, 2]


def test_the_jpeg_shows_the_same_pictures_in_srgb(pictures: list[ProofPicture]) -> None:
    (content,) = jpeg_sheets(HEADING, pictures)
    page = Image.open(io.BytesIO(content))
    assert page.info["icc_profile"]
    (plan,) = plan_sheets(HEADING, ["A"] * 3, [(p.width, p.height) for p in pictures])
    assert [strongest(colour_in(page, placed.box, DPI / 25.4)) for placed in plan.pictures] == [0, 1, 2]
    head = page.convert("L").crop((0, 0, page.width, round((MARGIN + 20) * DPI / 25.4)))
    assert min(head.getextrema()) < 60  # type: ignore[type-var]


@pytest.mark.long
@pytest.mark.usefixtures("poppler")
@pytest.mark.parametrize("name", ["Ελένη Παπασταύρου", "أمينة الخياط", "Љубица Ђорђевац", "<b>&amp;"])
def test_names_of_any_script_stand_on_the_sheet(
    pictures: list[ProofPicture], tmp_path: Path, name: str
) -> None:
    (tmp_path / "sheet.pdf").write_bytes(pdf_sheets(SheetHeading(name, "Festival", "PROOF"), pictures))
    text = subprocess.check_output(["pdftotext", str(tmp_path / "sheet.pdf"), "-"], text=True)
    plain = text.replace("\u202b", "").replace("\u202c", "")
    assert any(word in plain for word in (name, name.split()[0]))


@pytest.mark.long
@given(
    st.lists(st.tuples(st.integers(100, 960), st.integers(100, 960)), min_size=1, max_size=40),
    st.text(max_size=80),
)
def test_nothing_overlaps_and_nothing_leaves_the_paper(sizes: list[tuple[int, int]], name: str) -> None:
    sheets = plan_sheets(SheetHeading(name, name, "PROOF"), [name or "A"] * len(sizes), sizes)
    assert [placed.number for sheet in sheets for placed in sheet.pictures] == list(range(len(sizes)))
    for sheet in sheets:
        boxes = [placed.box for placed in sheet.pictures]
        assert all(b.x >= 0 and b.y >= 0 and b.right <= PAPER[0] and b.bottom <= PAPER[1] for b in boxes)
        assert not any(_overlap(a, b) for i, a in enumerate(boxes) for b in boxes[:i])
        for line in sheet.lines:
            assert line.x >= MARGIN - 0.1
            assert line.x + line.size * line.face.width(line.text) <= PAPER[0] - MARGIN + 0.1


def _overlap(a: Box, b: Box) -> bool:
    return min(a.right, b.right) - max(a.x, b.x) > 0.01 and min(a.bottom, b.bottom) - max(a.y, b.y) > 0.01


def test_many_pictures_go_on_several_sheets() -> None:
    sheets = plan_sheets(HEADING, ["A"] * 40, [(640, 960)] * 40)
    assert [len(sheet.pictures) for sheet in sheets] == [16, 16, 8]
    assert "2 / 3" in [line.text for line in sheets[1].lines]
