"""What frames say of themselves, checked against exiftool."""

from __future__ import annotations

import json
import shutil
import subprocess
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.frames.find_frame_files import file_kind
from onsite.frames.frame_exif import ExifFacts, parse_exif_offset, parse_exif_time
from onsite.frames.open_frame_picture import open_picture
from tests.frames.pictures import jpeg


def facts_of(path: Path) -> ExifFacts:
    kind = file_kind(path)
    assert kind is not None
    with open_picture(path, kind) as (_, facts):
        return facts


def exiftool(*paths: Path) -> list[dict[str, Any]]:
    if shutil.which("exiftool") is None:
        pytest.skip("exiftool is not installed here")
    tags = [
        "-ExifIFD:DateTimeOriginal",
        "-ExifIFD:SubSecTimeOriginal",
        "-ExifIFD:OffsetTimeOriginal",
        "-ExifIFD:SerialNumber",
        "-IFD0:Model",
        "-IFD0:Orientation#",
    ]
    command = ["exiftool", "-j", "-api", "StructFormat=JSONQ", *tags, *map(str, paths)]
    done = subprocess.run(command, capture_output=True, check=False, text=True)
    read: list[dict[str, Any]] = json.loads(done.stdout)
    return read


def as_exiftool_says(said: dict[str, Any]) -> ExifFacts:
    taken = parse_time(said.get("DateTimeOriginal"))
    digits = str(said.get("SubSecTimeOriginal", "0")).strip()
    if taken:
        taken += timedelta(seconds=int(digits) / 10 ** len(digits))
    offset = said.get("OffsetTimeOriginal")
    minutes = int(offset[1:3]) * 60 + int(offset[4:6]) if offset else 0
    return ExifFacts(
        taken,
        (-minutes if offset[0] == "-" else minutes) if offset else None,
        serial=str(said.get("SerialNumber", "")).strip(),
        model=str(said.get("Model", "")).strip(),
        orientation=int(said.get("Orientation", 1)),
    )


def parse_time(text: str | None) -> datetime | None:
    return datetime.strptime(text, "%Y:%m:%d %H:%M:%S") if text else None


@pytest.mark.parametrize("folder", ["exif", "orientation", "raw"])
def test_files_of_real_cameras(camera_files: Path, folder: str) -> None:
    paths = sorted((camera_files / folder).iterdir())
    assert paths
    said = {Path(one["SourceFile"]): as_exiftool_says(one) for one in exiftool(*paths)}
    assert {path: facts_of(path) for path in paths} == said


@pytest.mark.parametrize(
    "facts",
    [
        {"taken": "2026:06:13 09:41:07", "sub_seconds": "25", "offset": "+02:00"},
        {"taken": "2026:06:13 23:59:59", "sub_seconds": "999", "offset": "-09:30", "orientation": 6},
        {"taken": "1970:01:01 00:00:00", "serial": "0042", "model": "Model One"},
        {"taken": "2099:12:31 12:00:00", "sub_seconds": "007", "orientation": 8, "offset": "+05:45"},
        {"taken": "2024:02:29 12:00:00", "offset": "+00:00", "serial": "00\0"},
        {"model": "Modèle"},
        {},
    ],
)
def test_files_written_here(tmp_path: Path, facts: dict[str, Any]) -> None:
    path = jpeg(tmp_path / "IMG_0001.JPG", **facts)
    if facts.get("model", "").isascii():
        assert facts_of(path) == as_exiftool_says(exiftool(path)[0])
    assert facts_of(path).taken is None or facts["taken"]


@pytest.mark.parametrize("orientation", [0, 9, 77])
def test_an_orientation_that_is_none_counts_as_upright(tmp_path: Path, orientation: int) -> None:
    assert facts_of(jpeg(tmp_path / "a.jpg", orientation=orientation)).orientation == 1


@pytest.mark.parametrize(
    "blank",
    [
        "    :  :     :  :  ",
        "0000:00:00 00:00:00",
        "",
        "2026:13:01 00:00:00",
        "2026-06-13",
        None,
        7,
        b"\xff\0",
    ],
)
def test_a_time_that_is_none(blank: object) -> None:
    # EXIF 2.32 (CIPA DC-008-2019), DateTimeOriginal: unknown times are written as blanks between the colons.
    assert parse_exif_time(blank) is None


@given(st.datetimes(datetime(1900, 1, 1), datetime(2200, 1, 1)).map(lambda at: at.replace(microsecond=0)))
def test_times_come_back(at: datetime) -> None:
    assert parse_exif_time(at.strftime("%Y:%m:%d %H:%M:%S").zfill(19)) == at


@pytest.mark.parametrize(
    ("text", "minutes"),
    [("+02:00", 120), ("-09:30", -570), ("+05:45", 345), ("Z", 0), ("   :  ", None), ("", None)],
)
def test_offsets(text: str, minutes: int | None) -> None:
    assert parse_exif_offset(text) == minutes
