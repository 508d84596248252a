"""Pictures and lists that are made to cost memory or time are refused at once."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest
from PIL import Image

from onsite.core.errors import Problem
from onsite.files import input_limits
from onsite.frames.examine_frame import ExaminedFile, RefusedFile, examine_file
from onsite.frames.find_frame_files import CandidateFile, FileKind
from onsite.roster.read_list_table import read_table
from tests.frames.pictures import huge_header


def examined(path: Path, kind: FileKind = FileKind.JPEG) -> ExaminedFile | RefusedFile:
    return examine_file(CandidateFile(path, path.parent, kind))


def test_many_pixels_in_few_bytes_are_no_photograph(tmp_path: Path) -> None:
    small = huge_header(tmp_path / "small.jpg", 22_000)
    assert small.stat().st_size * input_limits.PIXELS_A_BYTE < 22_000**2
    outcome = examined(small)
    assert isinstance(outcome, RefusedFile)
    assert "no photograph" in outcome.reason


def test_thousands_of_scans_are_not_decoded(tmp_path: Path) -> None:
    """A progressive JPEG whose last scan is there again and again (ITU-T T.81, B.2.3)."""
    data = io.BytesIO()
    Image.effect_noise((160, 120), 60).convert("RGB").save(data, "JPEG", progressive=True)
    content = data.getvalue()
    last = content.rindex(b"\xff\xda")
    path = tmp_path / "scans.jpg"
    path.write_bytes(content[:-2] + content[last:-2] * 3_000 + content[-2:])
    outcome = examined(path)
    assert isinstance(outcome, ExaminedFile)
    assert "more than 100 scans" in outcome.trouble
    path.write_bytes(content)
    outcome = examined(path)
    assert isinstance(outcome, ExaminedFile)
    assert outcome.trouble == ""


def test_a_list_of_line_breaks_is_refused(tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_bytes(b"name\nAna Horvat\n" + b"\n" * 20_000_000)
    with pytest.raises(Problem, match="more than 500,000 lines"):
        read_table(tmp_path / "list.csv")


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="this system has no device without an end")
def test_a_list_without_an_end_is_refused() -> None:
    with pytest.raises(Problem, match="larger than 64 MiB"):
        read_table(Path("/dev/zero"))


def test_a_manifest_that_unpacks_to_gigabytes_is_not_unpacked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with zipfile.ZipFile(tmp_path / "list.ods", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("META-INF/manifest.xml", b" " * 50_000_000)
    read: list[int] = []
    take = zipfile.ZipExtFile.read

    def counted(self: zipfile.ZipExtFile, n: int | None = -1) -> bytes:
        got = take(self, n)
        read.append(len(got))
        return got

    monkeypatch.setattr(zipfile.ZipExtFile, "read", counted)
    with pytest.raises(Problem):
        read_table(tmp_path / "list.ods")
    assert 0 < sum(read) <= input_limits.MANIFEST_BYTES
