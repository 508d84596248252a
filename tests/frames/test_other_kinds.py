"""Slates are read out of HEIC and TIFF as out of JPEG."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image
from sqlmodel import select

from onsite.frames.ingest import ingest
from onsite.slates.slate_image import ticket_image
from onsite.slates.slate_layout import Ticket
from onsite.store.schema import File, Frame, SymbolReading
from onsite.store.shoot import Shoot

CODE = "NXAJTP47KDKP"


def slate_frame(path: Path, taken: str = "2026:06:13 09:41:07") -> None:
    if path.suffix == ".heic":
        pytest.importorskip("pillow_heif").register_heif_opener()
    picture = ticket_image(Ticket(CODE, "Ana Horvat"), width_px=900)
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = taken
    picture.save(path, exif=exif.tobytes())


@pytest.mark.parametrize("ending", [".heic", ".tif", ".jpg"])
def test_a_slate_reads_whatever_the_file_is(shoot: Shoot, tmp_path: Path, ending: str) -> None:
    card = tmp_path / "card"
    card.mkdir()
    slate_frame(card / f"IMG_0001{ending}")
    assert ingest(shoot, [card]).frames == 1
    with shoot.reading() as session:
        assert session.exec(select(SymbolReading.text)).all() == [CODE]
        taken = session.exec(select(Frame.taken)).one()
    assert taken is not None
    assert taken.isoformat() == "2026-06-13T09:41:07"


@pytest.mark.long
def test_heic_and_jpeg_of_one_exposure_are_one_frame(shoot: Shoot, tmp_path: Path) -> None:
    card = tmp_path / "card"
    card.mkdir()
    slate_frame(card / "IMG_0001.heic")
    slate_frame(card / "IMG_0001.jpg")
    done = ingest(shoot, [card])
    assert (done.frames, done.files) == (1, 2)
    with shoot.reading() as session:
        assert sorted(session.exec(select(File.name))) == ["IMG_0001.heic", "IMG_0001.jpg"]
