"""Picks marked beside their originals, and marks taken back. Sidecars are read by exiftool's rules in
`tests/metadata`; here it is told which are written."""

from __future__ import annotations

import hashlib
import shutil
from pathlib import Path

import pytest

from onsite.core.errors import Problem
from onsite.frames.ingest import ingest
from onsite.metadata.xmp_fields import KEYWORDS, PEOPLE, RATING
from onsite.metadata.xmp_packet import parse_xmp
from onsite.metadata.xmp_properties import read_items, read_value
from onsite.picks.write_raw_marks import mark_picks, write_pick_list
from onsite.reconcile.overrides import give
from tests.delivery.choices import Choir, drawn, listing

SIDECAR = """<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:dev="http://example.org/develop/1.0/" dev:Exposure="+0.50"/>
</rdf:RDF></x:xmpmeta>"""


def card(choir: Choir) -> Path:
    return choir.shoot.folder / "cards" / "100CHOIR"


def said(sidecar: Path) -> tuple[str | None, list[str], list[str]]:
    rdf = parse_xmp(sidecar.read_bytes()).rdf
    return read_value(rdf, RATING), read_items(rdf, KEYWORDS), read_items(rdf, PEOPLE)


def test_picks_are_marked_and_originals_left_alone(choir: Choir) -> None:
    choir.pick("S-2", 3)
    before = {path: hashlib.sha256(path.read_bytes()).digest() for path in card(choir).iterdir()}
    done = mark_picks(choir.shoot, None)
    assert (done.frames, done.changed, done.refused) == (1, 1, ())
    assert said(card(choir) / "_A0003.xmp") == ("5", ["pick", "Altos"], ["Ελένη Παπασταύρου"])
    assert {path: hashlib.sha256(path.read_bytes()).digest() for path in before} == before
    assert len(list(card(choir).iterdir())) == len(before) + 1


def test_marking_again_writes_nothing(choir: Choir) -> None:
    choir.pick("S-2", 3)
    mark_picks(choir.shoot, None)
    done = mark_picks(choir.shoot, None)
    assert (done.changed, done.as_before) == (0, 1)
    assert not (choir.shoot.folder / "sidecars-before").exists()


def test_a_withdrawn_pick_loses_its_mark_and_nothing_else(choir: Choir) -> None:
    (card(choir) / "_A0003.xmp").write_text(SIDECAR)
    choir.pick("S-2", 3)
    mark_picks(choir.shoot, None)
    choir.pick("S-2", 4)
    done = mark_picks(choir.shoot, None)
    assert (done.changed, done.cleared) == (1, 1)
    assert said(card(choir) / "_A0003.xmp") == (None, [], [])
    assert "+0.50" in (card(choir) / "_A0003.xmp").read_text()
    assert said(card(choir) / "_A0004.xmp")[0] == "5"
    assert len(listing(choir.shoot.folder / "sidecars-before")) == 2


def test_sidecars_of_either_name_are_kept_up(choir: Choir) -> None:
    choir.pick("S-1", 1, 2)
    (card(choir) / "_A0001.JPG.xmp").write_text(SIDECAR)
    mark_picks(choir.shoot, None)
    assert said(card(choir) / "_A0001.JPG.xmp")[0] == "5"
    assert not (card(choir) / "_A0001.xmp").exists()
    assert (card(choir) / "_A0002.xmp").exists()
    choir.pick("S-2", 3)
    mark_picks(choir.shoot, None, full_names=True)
    assert (card(choir) / "_A0003.JPG.xmp").exists()


def raw_and_jpeg(choir: Choir, folder: Path) -> None:
    """A frame of S-1 as raw and JPEG."""
    folder.mkdir(parents=True)
    for name, content in (("_B0001.JPG", drawn(60)), ("_B0001.CR3", b"\0\0\0\x18ftypcrx raw" + bytes(200))):
        (folder / name).write_bytes(content)
    ingest(choir.shoot, [folder], "B")
    give(choir.shoot, ["_B0001.JPG"], "S-1")


def test_raw_and_jpeg_of_one_exposure_have_one_sidecar(choir: Choir, tmp_path: Path) -> None:
    raw_and_jpeg(choir, tmp_path / "b")
    choir.pick("S-1", 11)
    mark_picks(choir.shoot, None)
    assert listing(tmp_path / "b") == ["_B0001.CR3", "_B0001.JPG", "_B0001.xmp"]
    assert write_pick_list(choir.shoot, tmp_path / "picks.txt") == 1
    assert (tmp_path / "picks.txt").read_text() == "_B0001.CR3\n"


def test_a_sidecar_of_the_jpeg_alone_does_not_stand_for_the_raw(choir: Choir, tmp_path: Path) -> None:
    raw_and_jpeg(choir, tmp_path / "b")
    (tmp_path / "b" / "_B0001.JPG.xmp").write_text(SIDECAR)
    choir.pick("S-1", 11)
    assert mark_picks(choir.shoot, None).changed == 2
    assert said(tmp_path / "b" / "_B0001.JPG.xmp") == said(tmp_path / "b" / "_B0001.xmp")


def test_a_parallel_folder_has_the_originals_tree_and_their_settings(choir: Choir, tmp_path: Path) -> None:
    raw_and_jpeg(choir, choir.shoot.folder / "cards" / "101CHOIR")
    (card(choir) / "_A0003.xmp").write_text(SIDECAR)
    choir.pick("S-2", 3)
    choir.pick("S-1", 11)
    mark_picks(choir.shoot, tmp_path / "marks")
    assert listing(tmp_path / "marks") == ["100CHOIR/_A0003.xmp", "101CHOIR/_B0001.xmp"]
    assert (card(choir) / "_A0003.xmp").read_text() == SIDECAR
    assert "+0.50" in (tmp_path / "marks" / "100CHOIR" / "_A0003.xmp").read_text()
    choir.pick("S-2")
    assert mark_picks(choir.shoot, tmp_path / "marks").cleared == 1
    assert said(tmp_path / "marks" / "100CHOIR" / "_A0003.xmp") == (None, [], [])


def test_a_parallel_folder_is_written_whatever_is_marked_beside(choir: Choir, tmp_path: Path) -> None:
    choir.pick("S-2", 3)
    mark_picks(choir.shoot, None)
    done = mark_picks(choir.shoot, tmp_path / "marks")
    assert (done.changed, done.as_before) == (1, 0)
    (sidecar,) = (tmp_path / "marks").rglob("*.xmp")
    assert said(sidecar) == ("5", ["pick", "Altos"], ["Ελένη Παπασταύρου"])
    assert mark_picks(choir.shoot, tmp_path / "marks").as_before == 1


def test_a_damaged_sidecar_is_told_and_the_others_are_written(choir: Choir) -> None:
    (card(choir) / "_A0003.xmp").write_bytes(SIDECAR.encode()[:100])
    choir.pick("S-2", 3, 4)
    done = mark_picks(choir.shoot, None)
    assert done.changed == 1
    ((file, why),) = done.refused
    assert file.endswith("_A0003.xmp")
    assert "left alone" in why
    assert (card(choir) / "_A0003.xmp").read_bytes() == SIDECAR.encode()[:100]


def test_a_frame_that_is_somebody_elses_by_now_gets_no_mark(choir: Choir, tmp_path: Path) -> None:
    choir.pick("S-1", 1)
    mark_picks(choir.shoot, None)
    give(choir.shoot, ["_A0001.JPG"], "S-2")
    done = mark_picks(choir.shoot, None)
    assert (done.frames, done.cleared) == (0, 1)
    assert "no longer under their name" in done.refused[0][1]
    assert write_pick_list(choir.shoot, tmp_path / "picks.txt") == 0


def test_originals_that_are_away_are_told(choir: Choir) -> None:
    choir.pick("S-1", 1)
    shutil.move(card(choir), card(choir).parent / "elsewhere")
    assert "none of its files is where it was" in mark_picks(choir.shoot, None).refused[0][1]


@pytest.mark.parametrize("rating", [0, 6, -1])
def test_a_rating_is_one_to_five(choir: Choir, rating: int) -> None:
    with pytest.raises(Problem, match="no rating"):
        mark_picks(choir.shoot, None, rating)
