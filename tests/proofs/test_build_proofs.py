"""Making the proofs of a shoot, and making them again."""

from __future__ import annotations

import base64
import csv
import json
import os
import re
import shutil
import subprocess
import sys
import textwrap
from dataclasses import replace
from pathlib import Path

import pytest

from onsite.checkin.walk_ins_and_corrections import add_walk_in, correct_person
from onsite.core.errors import Problem
from onsite.proofs.build_proofs import build_proofs
from onsite.reconcile.overrides import give, set_aside
from onsite.roster.load_roster import load_list
from onsite.roster.read_people import read_people
from onsite.store.events import EventKind, read_events
from onsite.store.shoot import Shoot, open_shoot
from tests.proofs.studio import NAMES, ROSTER, agreed, photographed


def listed(folder: Path) -> dict[str, dict[str, str]]:
    with (folder / "private" / "pages.csv").open(encoding="utf-8", newline="") as file:
        return {row["key"]: row for row in csv.DictReader(file)}


def everything(folder: Path) -> dict[str, tuple[bytes, int]]:
    return {
        str(path.relative_to(folder)): (path.read_bytes(), path.stat().st_mtime_ns)
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.name not in ("made.json", "pages.csv", "index.html")
    }


def proofed(shoot: Shoot) -> int:
    with shoot.reading() as session:
        return len(read_events(session, [EventKind.PROOFED]))


def test_everybody_with_frames_gets_sheets_and_those_who_consented_a_page(
    studio: Shoot, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    built = build_proofs(studio, out)
    assert (built.people, built.made, built.pages, built.pictures, built.without_frames) == (4, 4, 2, 9, 1)
    assert {(key, why) for key, _, why in built.no_page} == {
        ("S-2", "must not be published"),
        ("S-4", "no answer about consent, while others on the list have one"),
    }
    rows = listed(out)
    assert set(rows) == {"S-1", "S-2", "S-3", "S-4"}
    assert [bool(rows[key]["page"]) for key in ("S-1", "S-2", "S-3", "S-4")] == [True, False, True, False]
    for row in rows.values():
        assert (out / row["sheet"]).read_bytes().startswith(b"%PDF")
        assert (out / row["sheet"]).with_suffix(".jpg").read_bytes().startswith(b"\xff\xd8")


def test_nothing_that_a_camera_wrote_is_in_anything_that_goes_out(studio: Shoot, tmp_path: Path) -> None:
    if not (shutil.which("exiftool") and shutil.which("pdfimages")):
        pytest.skip("exiftool or pdfimages is not installed")
    out, found = tmp_path / "out", tmp_path / "found"
    build_proofs(studio, out)
    found.mkdir()
    for page in (out / "pages").glob("*.html"):
        for number, data in enumerate(
            re.findall(r"data:image/jpeg;base64,([^\"]+)", page.read_text("utf-8"))
        ):
            (found / f"{page.stem}-{number}.jpg").write_bytes(base64.b64decode(data))
    for sheet in (out / "private" / "sheets").iterdir():
        if sheet.suffix == ".pdf":
            subprocess.check_call(["pdfimages", "-j", str(sheet), str(found / sheet.stem)])
        else:
            shutil.copy(sheet, found)
    told = json.loads(subprocess.check_output(["exiftool", "-j", "-G1", "-a", str(found)]))
    assert len(told) == 6 + 9 + 4  # on pages, in PDFs, and JPEG sheets
    for tags in told:
        assert not [name for name in tags if name.startswith(("GPS", "IFD", "ExifIFD", "XMP", "MakerNotes"))]
        assert "File:Comment" not in tags
        assert "SERIAL-77" not in str(tags)
        assert tags.get("ICC_Profile:ProfileDescription", "sRGB in the PDF's own object").startswith("sRGB")


@pytest.mark.long
def test_where_the_list_says_nothing_of_consent_everybody_gets_a_page(shoot: Shoot, tmp_path: Path) -> None:
    photographed(
        shoot, tmp_path, {"S-1": ["IMG_1.JPG"], "S-2": ["IMG_2.JPG"]}, "key,name\nS-1,Mira\nS-2,Tomas\n"
    )
    built = build_proofs(shoot, tmp_path / "out")
    assert (built.pages, built.unasked) == (2, 2)


@pytest.mark.long
def test_pages_where_nothing_is_written_can_be_asked_for(studio: Shoot, tmp_path: Path) -> None:
    built = build_proofs(studio, tmp_path / "out", blank_is_yes=True)
    assert [key for key, _, _ in built.no_page] == ["S-2"]
    assert built.on_request == [("S-4", "Анна Линдквист")]


@pytest.mark.long
def test_a_walk_in_has_a_page_only_after_a_yes(studio: Shoot, tmp_path: Path) -> None:
    key = add_walk_in(studio, "Eva", "Nagy", "Alto").person.key
    give(studio, ["IMG_0004.JPG"], key)
    built = build_proofs(studio, tmp_path / "out", blank_is_yes=True)
    assert (key, "Eva Nagy", "a walk-in without an answer about consent") in built.no_page
    with studio.reading() as session:
        correct_person(studio, read_people(session)[-1].id, {"consent": "yes"})
    built = build_proofs(studio, tmp_path / "out")
    assert key not in {key for key, _, _ in built.no_page}


@pytest.mark.long
def test_the_public_folder_holds_pages_of_unguessable_names_and_leads_nowhere(
    studio: Shoot, tmp_path: Path
) -> None:
    build_proofs(studio, tmp_path / "out")
    pages = sorted(path.name for path in (tmp_path / "out" / "pages").iterdir())
    names = [name for name in pages if name != "index.html"]
    assert all(re.fullmatch(r"[0-9a-f]{32}\.html", name) for name in names)  # 128 bits
    texts = {name: (tmp_path / "out" / "pages" / name).read_text(encoding="utf-8") for name in pages}
    for name, text in texts.items():
        assert not [other for other in names if other != name and other.removesuffix(".html") in text]
        assert "noindex" in text
        assert "no-referrer" in text
        assert not re.search(r"(?:src|href)=[\"'](?!data:|mailto:)", text)


@pytest.mark.long
def test_again_with_nothing_new_makes_nothing(studio: Shoot, tmp_path: Path) -> None:
    out = tmp_path / "out"
    build_proofs(studio, out)
    before, events, rows = everything(out), proofed(studio), listed(out)
    assert build_proofs(studio, out).made == 0
    assert (everything(out), proofed(studio), listed(out)) == (before, events, rows)


@pytest.mark.long
def test_only_who_changed_is_made_again_under_the_same_name(studio: Shoot, tmp_path: Path) -> None:
    out = tmp_path / "out"
    build_proofs(studio, out)
    before, pages = everything(out), {key: row["page"] for key, row in listed(out).items()}
    give(studio, ["IMG_0004.JPG"], "S-3")
    assert build_proofs(studio, out).made == 2  # who lost the frame and who has it now
    after = everything(out)
    assert {key: row["page"] for key, row in listed(out).items()} == pages
    changed = {name for name in after if after[name] != before[name]}
    rows = listed(out)
    assert {name for name in changed if name.endswith((".pdf", ".html"))} == {
        rows[key][kind] for key in ("S-1", "S-3") for kind in ("page", "sheet")
    }


@pytest.mark.long
def test_a_page_elsewhere_has_the_same_name(studio: Shoot, tmp_path: Path) -> None:
    build_proofs(studio, tmp_path / "one")
    build_proofs(studio, tmp_path / "two")
    assert listed(tmp_path / "one") == listed(tmp_path / "two")


def test_a_page_goes_when_consent_does(studio: Shoot, tmp_path: Path) -> None:
    out = tmp_path / "out"
    build_proofs(studio, out)
    page = out / listed(out)["S-1"]["page"]
    assert page.is_file()
    text = ROSTER.replace("mira@example.org,yes", "mira@example.org,no")
    (tmp_path / "list.csv").write_text(text, encoding="utf-8")
    load_list(studio, tmp_path / "list.csv")
    (out / "private" / "made.json").unlink()  # even where nobody remembers having made it
    built = build_proofs(studio, out)
    assert not page.exists()
    assert built.removed == [f"pages/{page.name}"]


@pytest.mark.parametrize("withdrawn", [True, False])
def test_a_wrong_page_goes_whichever_group_is_built(studio: Shoot, tmp_path: Path, withdrawn: bool) -> None:
    out = tmp_path / "out"
    build_proofs(studio, out, blank_is_yes=True)
    rows = listed(out)
    assert build_proofs(studio, out, group="Bass").removed == []
    if withdrawn:
        with studio.reading() as session:
            mira = next(person.id for person in read_people(session) if person.key == "S-1")
        correct_person(studio, mira, {"consent": "no"})
    else:
        give(studio, ["IMG_0004.JPG"], "S-3")
    built = build_proofs(studio, out, group="Bass")
    assert rows["S-1"]["page"] in built.removed
    assert not (out / rows["S-1"]["page"]).exists()
    assert (out / rows["S-3"]["page"]).exists()
    assert (out / rows["S-4"]["page"]).exists()
    assert set(listed(out)) == {"S-2", "S-3", "S-4"}
    build_proofs(studio, out)
    assert (out / rows["S-1"]["page"]).exists() is not withdrawn


@pytest.mark.long
def test_frames_that_are_nobody_s_any_more_leave_no_proofs_behind(studio: Shoot, tmp_path: Path) -> None:
    out = tmp_path / "out"
    build_proofs(studio, out)
    row = listed(out)["S-3"]
    set_aside(studio, ["IMG_0021.JPG", "IMG_0022.JPG"])
    build_proofs(studio, out)
    assert "S-3" not in listed(out)
    assert not (out / row["page"]).exists()
    assert not (out / row["sheet"]).exists()


@pytest.mark.long
def test_when_nobody_has_frames_any_more_all_of_it_goes(studio: Shoot, tmp_path: Path) -> None:
    build_proofs(studio, tmp_path / "out")
    set_aside(studio, [name for names in NAMES.values() for name in names])
    assert build_proofs(studio, tmp_path / "out").people == 0
    assert not list((tmp_path / "out").rglob("*.pdf"))
    assert [path.name for path in (tmp_path / "out" / "pages").iterdir()] == ["index.html"]


def test_one_group_alone(studio: Shoot, tmp_path: Path) -> None:
    assert build_proofs(studio, tmp_path / "out", group="soprano").people == 1
    with pytest.raises(Problem, match="Nobody is in a group"):
        build_proofs(studio, tmp_path / "out", group="Brass")


@pytest.mark.long
def test_another_number_agreed_makes_the_pages_again(studio: Shoot, tmp_path: Path) -> None:
    build_proofs(studio, tmp_path / "out")
    assert build_proofs(agreed(studio, 3), tmp_path / "out").made == 4


@pytest.mark.long
def test_a_frame_that_cannot_be_looked_at_is_told_and_the_others_are_made(
    shoot: Shoot, tmp_path: Path
) -> None:
    photographed(shoot, tmp_path, NAMES)
    studio = agreed(shoot, 2)
    (tmp_path / "card" / "IMG_0001.JPG").write_bytes(b"\xff\xd8\xff overwritten")
    for preview in (studio.folder / "previews").rglob("*.jpg"):
        preview.unlink()
    built = build_proofs(studio, tmp_path / "out")
    assert [(name, label) for name, label, _ in built.troubled] == [("Mira Okafor", "A:0001")]
    assert built.pictures == 8


def test_the_list_does_not_run_in_a_spreadsheet(shoot: Shoot, tmp_path: Path) -> None:
    photographed(shoot, tmp_path, {"S-1": ["IMG_1.JPG"]}, 'key,name\nS-1,"=HYPERLINK(""x"")"\n')
    build_proofs(shoot, tmp_path / "out")
    assert listed(tmp_path / "out")["S-1"]["name"].startswith("'=")


def test_a_shoot_without_named_frames_says_so(shoot: Shoot, tmp_path: Path) -> None:
    with pytest.raises(Problem, match="Nobody here has frames"):
        build_proofs(shoot, tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_a_file_in_the_folder_s_place_is_one_problem(studio: Shoot, tmp_path: Path) -> None:
    (tmp_path / "out").write_text("mine")
    with pytest.raises(Problem, match="cannot be written to"):
        build_proofs(studio, tmp_path / "out")
    assert (tmp_path / "out").read_text() == "mine"


NO_ROOM = """
    os.cpu_count = lambda: 1
    write, limits = build._write, resource.getrlimit(resource.RLIMIT_FSIZE)
    def written(*what):
        resource.setrlimit(resource.RLIMIT_FSIZE, (4_000, limits[1]))  # no file grows beyond it
        try:
            write(*what)
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, limits)
    build._write = written
"""


def run_apart(shoot: Shoot, out: Path, first: str) -> subprocess.CompletedProcess[str]:
    """Makes proofs in a process of its own, in which something is done first."""
    before = """
    import os, resource, signal, sys
    from pathlib import Path
    from onsite.core.errors import Problem
    from onsite.proofs import build_proofs as build
    from onsite.store.shoot import open_shoot
    """
    after = f"""
    try:
        build.build_proofs(open_shoot(Path({str(shoot.folder)!r})), Path({str(out)!r}))
    except Problem as problem:
        print(problem.what)
    """
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
    return subprocess.run(
        [sys.executable, "-c", "".join(map(textwrap.dedent, (before, first, after)))],
        capture_output=True,
        text=True,
        env=environment,
    )


@pytest.mark.long
def test_a_full_disk_is_one_problem_and_leaves_nothing_half(studio: Shoot, tmp_path: Path) -> None:
    out = tmp_path / "out"
    told = run_apart(studio, out, NO_ROOM)
    assert told.stderr == ""
    assert "cannot be written" in told.stdout
    assert not list(out.rglob("*.part"))
    assert not list((out / "private" / "sheets").glob("*.pdf"))
    assert build_proofs(open_shoot(studio.folder), out).pages == 2


@pytest.mark.long
def test_killed_in_the_middle_it_is_made_whole_by_the_next_run(studio: Shoot, tmp_path: Path) -> None:
    out = tmp_path / "out"
    died = run_apart(
        studio,
        out,
        # The record knows of the page already, and it is not there yet.
        "build._page = lambda *_: os.kill(os.getpid(), signal.SIGKILL)",
    )
    assert died.returncode == -9
    for draft in out.rglob("*.part"):  # of another thread, cut off as well
        os.utime(draft, (0, 0))
    (out / "pages" / ".cut off.part").write_bytes(b"half")
    os.utime(out / "pages" / ".cut off.part", (0, 0))
    (out / "pages" / ".another station.part").write_bytes(b"just now")
    built = build_proofs(replace(open_shoot(studio.folder), settings=studio.settings), out)
    assert built.pages == 2
    assert [draft.name for draft in out.rglob("*.part")] == [".another station.part"]
    once = everything(out)
    with studio.reading() as session:
        names = [
            event.details["page"]
            for event in read_events(session, [EventKind.PROOFED])
            if event.details["page"]
        ]
    assert len(set(names)) == 2
    assert {f"pages/{name}" for name in names} <= set(once)
