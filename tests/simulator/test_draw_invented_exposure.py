from __future__ import annotations

import json
import random
import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import zxingcpp
from PIL import Image, ImageOps

from onsite.simulator.draw_invented_exposure import SIZE, draw, picture, save
from onsite.simulator.invented_appearance import appearance_of
from onsite.simulator.invented_exposure import ExposureKind, SimulatedExposure, SimulatedSlate, SlateDamage
from tests.simulator.invented import invented
from tests.tiers import long_after

EXPOSURES = invented().day.exposures
SLATES = [e for e in EXPOSURES if e.kind is ExposureKind.SLATE]
PORTRAITS = [e for e in EXPOSURES if e.kind is ExposureKind.PORTRAIT]


def read(image: Image.Image, errors: bool = False) -> list[Any]:
    return list(zxingcpp.read_barcodes(image, formats=zxingcpp.BarcodeFormat.QRCode, return_errors=errors))


def spoil(exposure: SimulatedExposure, how: SlateDamage) -> SimulatedExposure:
    assert exposure.slate is not None
    return replace(exposure, slate=replace(exposure.slate, spoilt=how))


def mean_colours(image: Image.Image) -> np.ndarray[Any, Any]:
    return np.asarray(image.resize((6, 4), Image.Resampling.BOX), float)


@pytest.mark.parametrize(
    "exposure",
    long_after(4, [e for e in SLATES if e.slate and not e.slate.spoilt][::3]),
    ids=lambda e: e.name,
)
def test_a_drawn_slate_reads(exposure: SimulatedExposure):
    assert exposure.slate is not None
    assert [found.text for found in read(picture(exposure, 1))] == [exposure.slate.code]


@pytest.mark.long
def test_the_symbol_is_an_eighth_to_a_sixth_of_the_height_of_the_upright_frame():
    for exposure in [e for e in SLATES if e.slate and not e.slate.spoilt][:12]:
        at = read(picture(exposure, 1))[0].position
        corners = [at.top_left, at.top_right, at.bottom_right, at.bottom_left]
        sides = [
            abs(complex(a.x - b.x, a.y - b.y))
            for a, b in zip(corners, corners[1:] + corners[:1], strict=True)
        ]
        height = SIZE[1] if exposure.orientation == 1 else SIZE[0]
        assert 0.11 <= sum(sides) / 4 / height <= 0.18


def test_an_upside_down_slate_reads_and_shows_that_it_is():
    exposure = replace(
        SLATES[0], orientation=1, slate=SimulatedSlate("NXACDE7PR9C3", "Tail", upside_down=True)
    )
    at = read(picture(exposure, 1))[0].position
    assert at.top_left.y > at.bottom_left.y


@pytest.mark.long
@pytest.mark.parametrize("how", list(SlateDamage))
def test_a_spoilt_slate_never_reads_at_any_scale(how: SlateDamage):
    for exposure in SLATES[::4]:
        image = picture(spoil(exposure, how), 1)
        for part in (1, 2, 4):
            assert read(image.reduce(part)) == []


@pytest.mark.long
@pytest.mark.parametrize("how", [SlateDamage.GLARE, SlateDamage.COVERED])
def test_a_reader_that_returns_errors_finds_a_slate_that_is_covered_or_glared(how: SlateDamage):
    for exposure in SLATES[::4]:
        image = picture(spoil(exposure, how), 1)
        found = [symbol for part in (1, 2, 4) for symbol in read(image.reduce(part), errors=True)]
        assert found
        assert not any(symbol.valid for symbol in found)


@pytest.mark.long
def test_a_badge_reads_as_what_it_says_and_portraits_else_hold_nothing():
    wearer = next(e for e in PORTRAITS if e.badge)
    assert [found.text for found in read(picture(wearer, 1))] == [wearer.badge]
    bare: Sequence[SimulatedExposure] = [e for e in PORTRAITS if not e.badge][::40]
    assert [read(picture(e, 1)) for e in bare] == [[] for _ in bare]


def test_the_same_seed_draws_the_same_picture():
    assert picture(SLATES[0], 1).tobytes() == picture(SLATES[0], 1).tobytes()
    assert picture(SLATES[0], 1).tobytes() != picture(SLATES[0], 2).tobytes()


def test_another_outfit_changes_the_clothes_and_not_the_person():
    first, again = appearance_of("CH-001", 0, 1), appearance_of("CH-001", 1, 1)
    assert first.cloth != again.cloth
    assert (first.skin, first.worn, first.build) == (again.skin, again.worn, again.build)


@pytest.mark.long
def test_frames_of_one_person_look_more_alike_than_frames_of_two():
    upright = [replace(e, orientation=1) for e in PORTRAITS if e.camera.label == "A" and e.outfit == 0]
    alike, different = [], []
    for one, following in zip(upright[:40:2], upright[1:40:2], strict=True):
        apart = np.abs(mean_colours(picture(one, 1)) - mean_colours(picture(following, 1))).mean()
        (alike if one.person == following.person else different).append(apart)
    assert np.median(alike) < np.median(different) / 2


@pytest.mark.long
def test_a_frame_has_the_size_asked_for_and_is_stored_turned_like_a_camera_does(tmp_path: Path):
    exposure = replace(PORTRAITS[0], orientation=1)
    for orientation, upright in ((1, SIZE), (6, SIZE[::-1]), (8, SIZE[::-1])):
        turned = replace(exposure, orientation=orientation)
        save(turned, picture(turned, 1), tmp_path / "frame.jpg")
        with Image.open(tmp_path / "frame.jpg") as stored:
            assert stored.size == SIZE
            shown = ImageOps.exif_transpose(stored)
        assert shown.size == upright
        # The head stands against the backdrop in the upper half, the body reaches the lower edge.
        edge = np.asarray(shown.convert("RGB"), float)
        middle, side = edge[-40:, edge.shape[1] // 2 - 40 :][:, :80], edge[-40:, :80]
        assert np.abs(middle.mean((0, 1)) - side.mean((0, 1))).max() > 20


@pytest.mark.long
def test_a_frame_of_24_megapixels():
    exposure = SLATES[0]
    assert exposure.slate is not None
    large = draw(exposure, appearance_of("CH-001", 0, 1), (6000, 4000), random.Random(1))
    assert large.size == (6000, 4000)
    assert [found.text for found in read(large.reduce(2))] == [exposure.slate.code]


@pytest.mark.skipif(shutil.which("exiftool") is None, reason="exiftool is not installed")
def test_exiftool_reads_the_tags_that_were_meant(tmp_path: Path):
    """Against ExifTool by Phil Harvey, an independent reader of EXIF (CIPA DC-008)."""
    turned = next(e for e in EXPOSURES if e.orientation == 8)
    sample = [EXPOSURES[0], EXPOSURES[1], SLATES[0], PORTRAITS[40], turned]
    small = Image.new("RGB", (60, 40))
    for i, exposure in enumerate(sample):
        save(exposure, small, tmp_path / f"{i}.jpg")
    files = [str(tmp_path / f"{i}.jpg") for i in range(len(sample))]
    output = subprocess.run(["exiftool", "-json", "-n", *files], capture_output=True, check=True).stdout
    for exposure, told in zip(sample, json.loads(output), strict=True):
        assert told["DateTimeOriginal"] == exposure.camera_time.strftime("%Y:%m:%d %H:%M:%S")
        assert str(told["SubSecTimeOriginal"]).zfill(2) == exposure.subsec
        assert told.get("OffsetTimeOriginal") == exposure.offset
        assert str(told["SerialNumber"]) == exposure.camera.serial
        assert (told["Make"], told["Model"]) == (exposure.camera.make, exposure.camera.model)
        assert told["Orientation"] == exposure.orientation
        assert (told["ISO"], told["FNumber"], told["FocalLength"]) == (100, 8, 85)
        assert told["ExposureTime"] == pytest.approx(1 / 160)
        assert "Warning" not in told
