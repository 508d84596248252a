"""Sidecars on the disk: found, written at once or not at all, kept as they were."""

from __future__ import annotations

import json
import shutil
import subprocess
from datetime import datetime
from pathlib import Path

import pytest
from rdflib.compare import isomorphic

from onsite.core.errors import Problem
from onsite.metadata.xmp_fields import RATING, RawMark
from onsite.metadata.xmp_sidecar import SidecarBackups, existing_sidecars, mark_sidecar
from tests.metadata.foreign import DEVELOPED, graph, simple, without

NOON = datetime(2026, 6, 13, 12, 0)
MARK = RawMark(5, "أمينة الخياط", ("pick", "合唱団 & Ж"), ("أمينة الخياط", "O'Brien <b>"))


@pytest.fixture
def backups(tmp_path: Path) -> SidecarBackups:
    return SidecarBackups(tmp_path / "before", NOON)


def test_sidecars_of_both_names_are_found(tmp_path: Path) -> None:
    picture = tmp_path / "_A001.CR3"
    assert existing_sidecars(picture) == []
    for name in ("_A001.CR3.xmp", "_A001.XMP", "_A0011.xmp"):
        (tmp_path / name).write_text(DEVELOPED)
    assert [path.name for path in existing_sidecars(picture)] == ["_A001.XMP", "_A001.CR3.xmp"]


def test_a_sidecar_is_kept_as_it_was_before_it_is_changed(tmp_path: Path, backups: SidecarBackups) -> None:
    sidecar = tmp_path / "_A001.xmp"
    sidecar.write_text(DEVELOPED)
    sidecar.chmod(0o640)
    assert mark_sidecar(sidecar, MARK, backups)
    (kept,) = backups.folder.rglob("*.xmp")
    assert kept.read_text() == DEVELOPED
    assert kept.is_relative_to(backups.folder / "2026-06-13 12.00.00.000000")
    assert sidecar.stat().st_mode & 0o777 == 0o640
    assert isomorphic(without(graph(sidecar.read_bytes())), without(graph(DEVELOPED.encode())))
    assert sorted(path.name for path in tmp_path.iterdir()) == ["_A001.xmp", "before"]


def test_a_sidecar_that_is_as_it_should_be_is_not_touched(tmp_path: Path, backups: SidecarBackups) -> None:
    sidecar = tmp_path / "_A001.xmp"
    mark_sidecar(sidecar, MARK, backups)
    before = sidecar.stat()
    assert not mark_sidecar(sidecar, MARK, backups)
    assert sidecar.stat().st_mtime_ns == before.st_mtime_ns
    assert not backups.folder.exists()


def test_a_damaged_sidecar_is_left_alone(tmp_path: Path, backups: SidecarBackups) -> None:
    sidecar = tmp_path / "_A001.xmp"
    for content in (DEVELOPED.encode()[:200], b"", b"not one", b"\xff" * 100):
        sidecar.write_bytes(content)
        with pytest.raises(Problem) as refused:
            mark_sidecar(sidecar, MARK, backups)
        assert "left alone" in refused.value.what
        assert "\n" not in refused.value.what
        assert sidecar.read_bytes() == content


def test_a_new_sidecar_begins_with_the_settings_of_another(tmp_path: Path, backups: SidecarBackups) -> None:
    base, new = tmp_path / "_A001.xmp", tmp_path / "marks.xmp"
    base.write_text(DEVELOPED)
    assert mark_sidecar(new, MARK, backups, base)
    assert base.read_text() == DEVELOPED
    assert isomorphic(without(graph(new.read_bytes())), without(graph(DEVELOPED.encode())))


def test_no_mark_makes_no_sidecar(tmp_path: Path, backups: SidecarBackups) -> None:
    assert not mark_sidecar(tmp_path / "_A001.xmp", None, backups)
    assert list(tmp_path.iterdir()) == []


def test_a_link_to_a_sidecar_stays_a_link(tmp_path: Path, backups: SidecarBackups) -> None:
    (tmp_path / "there.xmp").write_text(DEVELOPED)
    (tmp_path / "_A001.xmp").symlink_to(tmp_path / "there.xmp")
    mark_sidecar(tmp_path / "_A001.xmp", MARK, backups)
    assert (tmp_path / "_A001.xmp").is_symlink()
    assert simple(graph((tmp_path / "there.xmp").read_bytes()), RATING) == "5"


@pytest.mark.skipif(shutil.which("exiftool") is None, reason="exiftool is not installed")
@pytest.mark.parametrize("before", ["", DEVELOPED], ids=["new", "merged"])
def test_exiftool_reads_every_field_back(tmp_path: Path, backups: SidecarBackups, before: str) -> None:
    sidecar = tmp_path / "_A001.xmp"
    if before:
        sidecar.write_text(before)
    mark_sidecar(sidecar, MARK, backups)
    told = subprocess.run(
        ["exiftool", "-json", "-struct", sidecar], capture_output=True, check=True, text=True
    ).stdout
    (found,) = json.loads(told)
    assert found["Rating"] == 5
    assert found["Title"] == MARK.title
    assert found["Subject"] == (["concert", "stage"] if before else []) + list(MARK.keywords)
    assert found["PersonInImage"] == list(MARK.people)


@pytest.mark.long
@pytest.mark.skipif(shutil.which("exiftool") is None, reason="exiftool is not installed")
def test_a_sidecar_that_exiftool_wrote_reads_the_same_after_a_mark_and_without_it(
    tmp_path: Path, backups: SidecarBackups
) -> None:
    sidecar = tmp_path / "_A001.xmp"
    fields = (
        "-XMP-xmp:Rating=2",
        "-XMP-dc:Title-de=Abend",
        "-XMP-dc:Rights=nobody's",
        "-XMP-dc:Rights-el=κανενός",
        "-XMP-dc:Creator=Vera Holm",
        "-XMP-dc:Creator=Bo Lind",
        "-XMP-xmpMM:History={Action=saved,When=2026:06:13 10:00:00,Changed=/},{Action=derived}",
        "-XMP-iptcExt:LocationCreated={City=Hall,CountryName=Nowhere}",
        "-XMP-mwg-rs:RegionInfo={AppliedToDimensions={W=60,H=40,Unit=pixel},"
        "RegionList=[{Area={X=0.5,Y=0.5,W=0.1,H=0.1,Unit=normalized},Name=Somebody,Type=Face}]}",
        "-XMP-crs:ToneCurvePV2012=0, 0",
        "-XMP-crs:ToneCurvePV2012=255, 255",
        "-XMP-crs:Exposure2012=+0.50",
    )
    subprocess.run(["exiftool", "-q", *fields, "-o", sidecar], check=True, capture_output=True)

    def told() -> dict[str, object]:
        ran = subprocess.run(
            ["exiftool", "-json", "-struct", "-G1", "-XMP:all", sidecar], capture_output=True, check=True
        )
        found: dict[str, object] = json.loads(ran.stdout)[0]
        return found

    before = told()
    assert len(before) > 8
    assert mark_sidecar(sidecar, MARK, backups)
    ours = {"XMP-xmp:Rating", "XMP-dc:Subject", "XMP-iptcExt:PersonInImage", "XMP-onsite:Marked"}
    after = told()
    assert {key: text for key, text in after.items() if key not in ours} == {
        key: text for key, text in before.items() if key not in ours
    }
    assert after["XMP-xmp:Rating"] == 5
    assert mark_sidecar(sidecar, None, backups)
    assert told() == before


@pytest.mark.skipif(shutil.which("exiv2") is None, reason="exiv2 is not installed")
@pytest.mark.parametrize("before", ["", DEVELOPED], ids=["new", "merged"])
def test_exiv2_reads_every_field_back(tmp_path: Path, backups: SidecarBackups, before: str) -> None:
    sidecar = tmp_path / "_A001.xmp"
    if before:
        sidecar.write_text(before)
    mark_sidecar(sidecar, MARK, backups)
    told = subprocess.run(["exiv2", "-PXkt", sidecar], capture_output=True, check=True, text=True).stdout
    found = dict(line.split(maxsplit=1) for line in told.splitlines() if len(line.split(maxsplit=1)) == 2)
    assert found["Xmp.xmp.Rating"] == "5"
    assert found["Xmp.dc.title"] == f'lang="x-default" {MARK.title}'
    assert found["Xmp.dc.subject"].endswith(", ".join(MARK.keywords))
    assert found["Xmp.iptcExt.PersonInImage"] == ", ".join(MARK.people)
