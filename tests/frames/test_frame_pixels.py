"""TIFFs with 16 bits a channel, held against tifffile, which wrote them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image

from onsite.frames.find_frame_files import FileKind
from onsite.frames.open_frame_picture import UnreadablePicture, full_grey, open_picture, reduced

RAMP = np.linspace(0, 65535, 300 * 200).astype(np.uint16).reshape(200, 300)


def planes_of(channels: int) -> np.ndarray:
    """Planes that all differ."""
    return np.stack([RAMP + 9_973 * channel for channel in range(channels)])


@pytest.mark.parametrize("byteorder", ["<", ">"])
@pytest.mark.parametrize("compression", [None, "zlib"])
def test_grey_is_not_cut_off(tmp_path: Path, byteorder: str, compression: str | None) -> None:
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, RAMP, byteorder=byteorder, compression=compression)
    with open_picture(path, FileKind.TIFF) as (picture, _):
        assert picture is not None
        seen = np.asarray(reduced(picture, 1))
    assert np.abs(seen - RAMP[..., None] / 257).max() < 1.1
    assert np.abs(np.asarray(full_grey(path, FileKind.TIFF)) - RAMP / 257).max() < 1.1


@pytest.mark.parametrize("byteorder", ["<", ">"])
@pytest.mark.parametrize("compression", [None, "zlib"])
@pytest.mark.parametrize("channels", [3, 4], ids=["RGB", "RGBA"])
def test_planes_one_after_another(
    tmp_path: Path, channels: int, byteorder: str, compression: str | None
) -> None:
    path = tmp_path / "a.tif"
    planes = planes_of(channels)
    how = {"planarconfig": "separate", "byteorder": byteorder, "compression": compression}
    tifffile.imwrite(path, planes, photometric="rgb", **how)
    with open_picture(path, FileKind.TIFF) as (picture, _):
        seen = np.asarray(picture)
    assert np.array_equal(seen[..., :3], np.moveaxis(planes, 0, -1)[..., :3] >> 8)


def test_planes_of_cmyk_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, planes_of(4), photometric="separated", planarconfig="separate")
    with pytest.raises(UnreadablePicture, match="save it as RGB"), open_picture(path, FileKind.TIFF):
        pass


def test_a_damaged_tiff_writes_nothing_over_the_screen(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "a.tif"
    Image.effect_noise((200, 200), 50).save(path, compression="tiff_lzw")
    content = bytearray(path.read_bytes())
    content[300:9000:7] = bytes((byte * 7 + 3) & 255 for byte in content[300:9000:7])
    path.write_bytes(content)
    with open_picture(path, FileKind.TIFF) as (picture, _):
        assert picture is not None
        with pytest.raises(UnreadablePicture, match="damaged"):
            reduced(picture, 1)
    assert capfd.readouterr() == ("", "")
