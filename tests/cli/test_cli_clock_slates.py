"""A photographed clock slate, from a camera's file to what the commands say."""

from __future__ import annotations

from pathlib import Path

from onsite.store.shoot import open_shoot
from tests.cli.command_line import Onsite
from tests.frames.pictures import exif
from tests.slates.test_clock_slate import photograph


def clock_slate(path: Path, taken: str) -> None:
    """A photograph of the screen at 9:41:27, by a camera whose clock says `taken`."""
    shoot = open_shoot(Path())
    path.parent.mkdir(parents=True, exist_ok=True)
    picture = photograph(1.5, shoot=shoot.mark).convert("RGB")
    picture.save(path, "JPEG", quality=92, exif=exif(taken=taken, offset="+02:00", serial="77", model="C"))
    shoot.engine.dispose()


def test_the_offset_is_told_as_soon_as_the_frame_is_in(festival: Onsite) -> None:
    clock_slate(Path("cards/IMG_0001.JPG"), "2026:06:13 09:38:15")
    done = festival("ingest", "cards", "--camera", "A")
    assert done.status == 0
    assert "Slates: 1 clock slate." in done.out
    assert "Camera A: clock 3 min 12 s slow, measured 09:41." in done.out
    told = festival("match", "--json").data
    assert (told["frames"], told["slates"], told["unread_slates"]) == (1, 1, [])
    assert told["cameras"][0]["correction"] == 192
    assert told["cameras"][0]["clocks"] == ["3 min 12 s slow (from 1 clock slate)"]
    why = festival("frames", "why", "IMG_0001.JPG")
    assert "slate in it: clock slate" in why.out


def test_as_data(festival: Onsite) -> None:
    clock_slate(Path("cards/IMG_0001.JPG"), "2026:06:13 09:41:27")
    done = festival("ingest", "cards", "--camera", "A", "--json").data
    assert done["slates"]["clock_slates"] == 1
    (clock,) = done["clocks"]
    assert clock == {
        "camera": "A",
        "offset": 0.0,
        "measured": "2026-06-13T09:41:27+02:00",
        "text": "right, measured 09:41",
    }
