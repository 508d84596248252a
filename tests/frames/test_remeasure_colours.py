"""Colour signatures of an earlier version are made anew when asked, and nothing else changes."""

from __future__ import annotations

from pathlib import Path

from PIL import Image, ImageDraw
from sqlmodel import select

from onsite.core.colour_signature import VERSION, version_of
from onsite.frames.ingest import ingest
from onsite.store.schema import Frame
from onsite.store.shoot import Shoot

OLDER = bytes(180 if place == 7 else 0 for place in range(192))


def card(folder: Path) -> Path:
    picture = Image.new("RGB", (600, 400), (140, 142, 150))
    ImageDraw.Draw(picture).ellipse((230, 60, 370, 380), fill=(150, 60, 60))
    folder.mkdir()
    for number in (1, 2):
        picture.save(folder / f"IMG_000{number}.JPG", quality=80 + number)
    return folder


def looks(shoot: Shoot) -> list[bytes | None]:
    with shoot.reading() as session:
        return list(session.exec(select(Frame.look).order_by(Frame.name)))


def test_an_older_signature_is_made_anew_only_when_asked(shoot: Shoot, tmp_path: Path) -> None:
    frames = card(tmp_path / "card")
    ingest(shoot, [frames])
    before = looks(shoot)
    assert [version_of(look or b"") for look in before] == [VERSION, VERSION]
    with shoot.writing() as session:
        frame = session.exec(select(Frame).where(Frame.name == "IMG_0001")).one()
        frame.look = OLDER
        session.add(frame)
    assert ingest(shoot, [frames]).looked_again == 0
    assert looks(shoot)[0] == OLDER
    assert ingest(shoot, [frames], look_again=True).looked_again == 1
    assert looks(shoot) == before
    assert ingest(shoot, [frames], look_again=True).looked_again == 0


def test_a_file_that_changed_since_is_left_alone(shoot: Shoot, tmp_path: Path) -> None:
    frames = card(tmp_path / "card")
    ingest(shoot, [frames])
    with shoot.writing() as session:
        for frame in session.exec(select(Frame)):
            frame.look = OLDER
            session.add(frame)
    Image.new("RGB", (600, 400), (10, 200, 10)).save(frames / "IMG_0001.JPG")
    ingest(shoot, [frames], look_again=True)
    with shoot.reading() as session:
        rows = session.exec(select(Frame.look).order_by(Frame.id)).all()
    assert rows[0] == OLDER
    assert version_of(rows[1] or b"") == VERSION
