"""A day by commands alone: from the list to the frames under names, and decisions by hand."""

from __future__ import annotations

import csv
import json
import re
import shutil
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from PIL import Image

from onsite.cli import run
from onsite.simulator.draw_invented_exposure import picture, save
from onsite.simulator.invented_exposure import SimulatedExposure
from onsite.simulator.invented_people import invent_people
from onsite.simulator.simulated_day import SimulatedDay, simulate_day
from tests.cli.command_line import Onsite, refused
from tests.frames.pictures import jpeg, raw

SEED = 1
OPENS = datetime(2026, 6, 13, 9, 0, tzinfo=ZoneInfo("Europe/Vienna"))
COLUMNS = (
    "frame,files,camera,counter,taken_at,kind,key,sequence,name,how,doubt,suggestions,camera_time,certainty"
)
"""Columns that other programs rely on."""

pytestmark = pytest.mark.long


@dataclass(frozen=True)
class Played:
    """A day played by commands up to the ingest, and the truth about its frames by camera and counter."""

    folder: Path
    day: SimulatedDay
    truth: dict[tuple[str, str], SimulatedExposure]
    keys: dict[str, str]
    """The roster's keys of walk-ins, by those of the story."""


def listed(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> Played:
    """A small day: the list loaded, slates made, everybody checked in from a paper list, frames read in."""
    folder = tmp_path_factory.mktemp("played") / "shoot"
    guests = invent_people(10, SEED)
    there = ("--shoot", str(folder))
    roster, paper = folder.with_name("roster.csv"), folder.with_name("paper.csv")
    _write(roster, ("key", "given", "family", "group"), [(g.key, g.given, g.family, g.group) for g in guests])
    new = ["new", str(folder), "--name", "Day", "--timezone", "Europe/Vienna", "--date", "2026-06-13"]
    assert run(new) == 0
    assert run([*there, "roster", "load", str(roster)]) == 0
    assert run([*there, "slates", "images", str(folder / "slates")]) == 0
    deck = ["slates", "deck", str(folder / "deck.pdf"), "--cards", "12", "--images", str(folder / "deck")]
    assert run([*there, *deck]) == 0
    codes = {row["key"]: row["code"] for row in listed(folder / "slates" / "slates.csv")}
    cards = {row["card"]: row["code"] for row in listed(folder / "deck" / "deck.csv")}
    day = simulate_day(guests, codes, cards, SEED, OPENS)
    keys: dict[str, str] = {}
    on_paper = []
    for arrival in day.check_ins:
        if arrival.walk_in is None:
            on_paper.append((arrival.person, arrival.at.isoformat(), arrival.card or "", arrival.station))
            continue
        keys[arrival.person] = f"walkin-{len(keys) + 1}"
        walk_in = ["walkin", "--given", arrival.walk_in.given, "--family", arrival.walk_in.family]
        card = ["--card", arrival.card] if arrival.card else []
        assert run([*there, *walk_in, *card, "--at", arrival.at.isoformat()]) == 0
    _write(paper, ("who", "at", "card", "station"), on_paper)
    assert run([*there, "checkin", "--from", str(paper)]) == 0
    for showing in day.showings:
        who = keys.get(showing.person, showing.person)
        show = ["slates", "show", who, "--at", showing.at.isoformat(), "--station", showing.station]
        assert run([*there, *show]) == 0
    for exposure in day.exposures:
        path = folder / "cards" / exposure.camera.label / exposure.path
        path.parent.mkdir(parents=True, exist_ok=True)
        save(exposure, picture(exposure, SEED), path)
    assert run([*there, "ingest", str(folder / "cards")]) == 0
    return Played(folder, day, {(e.camera.label, str(e.counter)): e for e in day.exposures}, keys)


@pytest.fixture
def day(onsite: Onsite, played: Played, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Onsite:
    """Commands in a copy of the played day."""
    shutil.copytree(played.folder, tmp_path / "shoot")
    monkeypatch.chdir(tmp_path / "shoot")
    return onsite


def _write(path: Path, headings: tuple[str, ...], rows: list[tuple[str, ...]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows([headings, *rows])


def exported(onsite: Onsite) -> list[dict[str, str]]:
    assert onsite("frames", "export", "frames.csv").status == 0
    return listed(Path("frames.csv"))


def conserved(onsite: Onsite, frames: int) -> dict[str, int]:
    """Frames in = named + slates + loose + set aside, as told and as listed."""
    told = onsite("match", "--json").data
    counts = {kind: told[kind] for kind in ("named", "slates", "loose", "aside")}
    assert told["frames"] == frames == sum(counts.values())
    kinds = [row["kind"] for row in exported(onsite)]
    assert {
        "named": kinds.count("named"),
        "slates": kinds.count("slate"),
        "loose": kinds.count("loose"),
        "aside": kinds.count("aside"),
    } == counts
    return counts


def loose_frame(onsite: Onsite) -> dict[str, str]:
    return next(row for row in exported(onsite) if row["kind"] == "loose")


def test_no_frame_is_under_a_wrong_name(day: Onsite, played: Played) -> None:
    counts = conserved(day, len(played.day.exposures))
    assert counts["named"] > 0
    assert counts["loose"] > 0  # the story has its accidents
    for row in exported(day):
        if row["kind"] == "named":
            truly = played.truth[row["camera"], row["counter"]]
            assert row["key"] == played.keys.get(truly.person or "", truly.person), row


def test_the_list_of_frames(day: Onsite, played: Played) -> None:
    told = day("frames", "export", "frames.csv", "--json")
    assert told.data == {"frames": len(played.day.exposures), "file": "frames.csv"}
    assert Path("frames.csv").read_bytes().split(b"\r\n")[0].decode() == COLUMNS  # RFC 4180, section 2: CRLF
    rows = listed(Path("frames.csv"))
    assert {row["kind"] for row in rows} <= {"named", "slate", "loose", "aside"}
    assert {row["how"] for row in rows} <= {"hand", "slate", "tail-slate", ""}
    sequences = {p["key"]: str(p["sequence"]) for p in day("roster", "list", "--json").data["people"]}
    for row in rows:
        truly = played.truth[row["camera"], row["counter"]]
        assert row["files"] == f"{truly.camera.label}/{truly.path}"
        assert datetime.fromisoformat(row["camera_time"]) == truly.camera_time
        if row["kind"] == "named":
            assert row["sequence"] == sequences[row["key"]]
            assert row["suggestions"] == ""
            assert 0.99 < float(row["certainty"]) < 1.0
        else:
            assert row["certainty"] == ""
        if row["kind"] == "loose":
            assert row["doubt"]
            assert (row["key"], row["name"], row["how"]) == ("", "", "")
            assert set(row["suggestions"].split(" ")) - {""} <= set(sequences)


def test_a_decision_by_hand_stands(day: Onsite, played: Played) -> None:
    row = loose_frame(day)
    given = day("frames", "give", row["frame"], "CH-001", "--json")
    assert given.data["frames"] == [row["frame"]]
    assert given.data["key"] == "CH-001"
    for _ in range(2):
        conserved(day, len(played.day.exposures))
        now = next(other for other in exported(day) if other["frame"] == row["frame"])
        assert (now["kind"], now["key"], now["how"], now["doubt"]) == ("named", "CH-001", "hand", "")
    assert day("frames", "free", row["frame"], "--json").data["frames"] == [row["frame"]]
    assert next(other for other in exported(day) if other["frame"] == row["frame"]) == row


def test_frames_by_file_name_and_by_counter(day: Onsite, played: Played) -> None:
    of_b = [e for e in played.day.exposures if e.camera.label == "B"][:3]
    aside = day("frames", "aside", f"B:{of_b[0].counter}-{of_b[2].counter}", "--json")
    assert len(aside.data["frames"]) == 3
    assert conserved(day, len(played.day.exposures))["aside"] == 3
    assert len(day("frames", "free", *(e.name for e in of_b), "--json").data["frames"]) == 3
    assert conserved(day, len(played.day.exposures))["aside"] == 0


def test_a_range_over_the_roll_over_of_the_counter(day: Onsite, played: Played) -> None:
    of_a = [e for e in played.day.exposures if e.camera.label == "A"]
    after = next(place for place, e in enumerate(of_a) if e.counter == 1)
    first, last = of_a[after - 2].counter, of_a[after + 1].counter
    assert (first, last) == (9998, 2)
    chosen = day("frames", "aside", f"A:{first}-{last}", "--json").data["frames"]
    names = {row["frame"]: row["counter"] for row in exported(day)}
    assert [names[frame] for frame in chosen] == ["9998", "9999", "1", "2"]


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["give", "f99999", "CH-001"], "f99999"),
        (["give", "f1", "Nobody Known"], "Nobody Known"),
        (["give", "f1"], "Frames and a person are needed"),
        (["aside", "nothing.jpg"], "nothing.jpg"),
        (["free", "Z:1-3"], "Cameras here: A, B"),
        (["aside", "A:5000-5001"], "A:5000-5001"),
        (["aside", "f1", "f99999"], "f99999"),
        (["export", "no/such/folder/frames.csv"], "no/such/folder"),
    ],
)
def test_what_is_refused_changes_nothing(day: Onsite, arguments: list[str], told: str) -> None:
    before = day("match", "--json").data
    assert told in refused(day("frames", *arguments))
    assert day("match", "--json").data == before


def test_reading_in_again_adds_nothing(day: Onsite, played: Played, tmp_path: Path) -> None:
    moved = day("ingest", "cards", "--json")
    assert moved.status == 0
    assert moved.data["frames"] == 0
    assert moved.data["known"] + moved.data["repeated"] == len(played.day.exposures)
    copied = day("ingest", "cards", "--copy-to", tmp_path / "second", "--json")
    assert copied.data["copies"] == len(played.day.exposures)


def test_reading_in_tells_what_was_seen_of_slates(festival: Onsite, tmp_path: Path) -> None:
    assert festival("slates", "images", "slates").status == 0
    card = tmp_path / "card"
    card.mkdir()
    for number, slate in enumerate(sorted(Path("slates").rglob("*.png"))[:2], 1):
        with Image.open(slate) as picture:
            picture.convert("RGB").save(card / f"IMG_{number:04}.JPG")
    Image.new("RGB", (900, 600), "navy").save(card / "IMG_0003.JPG")
    assert "Slates: 2 read.\n" in festival("ingest", card).out
    for frame in list(card.iterdir()):  # other content under other names: new files
        frame.with_name(f"B{frame.name}").write_bytes(frame.read_bytes() + b"again")
        frame.unlink()
    told = festival("ingest", card, "--json").data
    assert told["slates"] == {
        "read": 2,
        "clock_slates": 0,
        "read_by": {"decoder": 2, "known codes": 0, "several copies": 0},
        "another_shoots": 0,
        "not_read": 0,
        "foreign": 0,
        "nothing": 1,
    }
    assert told["reread"] == 0


def test_originals_are_not_touched(day: Onsite) -> None:
    cards = sorted(path for path in Path("cards").rglob("*") if path.is_file())
    before = [(path.read_bytes(), path.stat().st_mtime_ns) for path in cards]
    day("ingest", "cards")
    day("match")
    day("frames", "give", loose_frame(day)["frame"], "CH-001")
    assert [(path.read_bytes(), path.stat().st_mtime_ns) for path in cards] == before


def test_files_that_are_no_pictures(festival: Onsite, tmp_path: Path) -> None:
    card = tmp_path / "card"
    card.mkdir()
    (card / "notes.txt").write_text("lunch", encoding="utf-8")
    (card / "DSC_0001.JPG").write_bytes(b"")
    told = festival("ingest", card, "--json")
    assert told.status == 3
    assert [Path(one["file"]).name for one in told.data["refused"]] == ["DSC_0001.JPG"]
    assert festival("ingest", card).status == 3
    assert festival("match", "--json").data["frames"] == 0
    assert "missing-card" in refused(festival("ingest", "missing-card"))


def test_the_wrap_in_words(day: Onsite, played: Played) -> None:
    told = day("match").out
    assert f"{len(played.day.exposures)} frames in = " in told
    assert "Loose, for a person to settle:" in told
    status = day("status", "--json").data
    assert status["frames"] == len(played.day.exposures)
    assert status["stages"]["expected"] + status["stages"]["arrived"] == status["people"]
    assert set(played.day.never_came) <= set(status["never_arrived"])


def test_the_demo(demo: Path, onsite: Onsite) -> None:
    told = json.loads((demo / "printed.json").read_text(encoding="utf-8"))
    assert told["wrong"] == 0
    assert told["right"] > 0
    counts = [told[kind] for kind in ("named", "slates", "loose", "aside")]
    assert told["frames"] == sum(counts)
    assert onsite("--shoot", demo / "day", "status", "--json").data["frames"] == told["frames"]
    assert len(list((demo / "day" / "cards").rglob("*.JPG"))) == told["frames"]
    after = told["after"]
    assert after["asked"] >= after["answered"] > 0
    assert (demo / "day" / "proofs" / "pages").is_dir()
    refused(onsite("demo", "--people", 1))


def run_of(onsite: Onsite, kind: str, least: int = 3) -> list[str]:
    """The frames of some run of that kind in the order taken, all of one person or of none."""
    run: list[dict[str, str]] = []
    for row in exported(onsite):
        same = run and (row["key"], row["doubt"], row["camera"]) == tuple(
            run[-1][column] for column in ("key", "doubt", "camera")
        )
        if row["kind"] == kind and (same or not run):
            run.append(row)
        elif len(run) >= least:
            break
        else:
            run = [row] if row["kind"] == kind else []
    assert len(run) >= least
    return [row["frame"] for row in run]


def kinds(onsite: Onsite, frames: list[str]) -> list[tuple[str, str]]:
    rows = {row["frame"]: (row["kind"], row["key"]) for row in exported(onsite)}
    return [rows[frame] for frame in frames]


def test_a_run_split_joined_and_undone(day: Onsite, played: Played) -> None:
    frames = run_of(day, "named")
    before = kinds(day, frames)
    told = day("frames", "split", frames[1], "--json")
    assert told.data["frame"] == frames[1]
    assert kinds(day, frames) == [before[0]] + [("loose", "")] * (len(frames) - 1)
    conserved(day, len(played.day.exposures))
    told = day("frames", "join", frames[1], frames[0], "--json")
    assert (told.data["frame"], told.data["to"]) == (frames[1], frames[0])
    assert kinds(day, frames) == before
    told = day("frames", "undo", "--json")
    assert (told.data["kind"], told.data["frames"], told.data["name"]) == ("joined", [frames[1]], "")
    assert day("frames", "undo").out == "Undone: a run split: 1 frame.\n"
    assert kinds(day, frames) == before
    assert "door-1" in refused(day("frames", "undo"))


def test_undo_takes_back_what_this_station_decided(day: Onsite, monkeypatch: pytest.MonkeyPatch) -> None:
    row = loose_frame(day)
    name = day("frames", "give", row["frame"], "CH-001", "--json").data["name"]
    monkeypatch.setenv("ONSITE_STATION", "set-A")
    refused(day("frames", "undo"))
    monkeypatch.setenv("ONSITE_STATION", "door-1")
    told = day("frames", "undo", "--json").data
    assert (told["kind"], told["frames"], told["name"]) == ("given", [row["frame"]], name)
    assert [gone["frames"] for gone in told["no_longer_named"]] == [[row["frame"]]]
    assert kinds(day, [row["frame"]]) == [("loose", "")]


def called(onsite: Onsite) -> dict[str, str]:
    """What people call each frame, by its id."""
    return {row["frame"]: f"{row['camera']}:{int(row['counter']):04}" for row in exported(onsite)}


def test_splits_and_joins_that_are_refused(day: Onsite) -> None:
    frames = run_of(day, "named")
    first_of_b = next(row["frame"] for row in exported(day) if row["camera"] == "B")
    assert f"{called(day)[frames[0]]} already" in refused(day("frames", "split", frames[0]))
    assert "f99999" in refused(day("frames", "split", "f99999"))
    assert "one run already" in refused(day("frames", "join", frames[0], frames[1]))
    assert "different cameras" in refused(day("frames", "join", frames[0], first_of_b))
    refused(day("frames", "join", frames[0]))


def test_why_a_frame_is_named(day: Onsite) -> None:
    frames = run_of(day, "named")
    told = day("frames", "why", frames[1], "--json").data
    assert (told["frame"], told["kind"]) == (frames[1], "named")
    assert told["key"] == kinds(day, frames)[0][1]
    assert "slate" in told["rule"]
    assert any("its run's slate" in said for said in told["evidence"])
    assert told["decisions"] == []
    commands = [way["command"] for way in told["would_change"]]
    assert told["called"] == called(day)[frames[1]]
    assert f"onsite frames split {told['called']}" in commands
    assert f"onsite frames give {told['called']} WHO" in commands
    words = day("frames", "why", frames[1]).out
    assert told["name"] in words
    assert "The rule:" in words


def test_why_a_frame_is_loose(day: Onsite) -> None:
    row = next(row for row in exported(day) if row["kind"] == "loose" and row["suggestions"])
    told = day("frames", "why", row["frame"], "--json").data
    assert (told["kind"], told["doubt"], told["key"]) == ("loose", row["doubt"], "")
    assert [one["key"] for one in told["suggestions"]] == row["suggestions"].split(" ")
    assert all(one["reasons"] for one in told["suggestions"])
    assert "worse than no name" in told["rule"]


def test_why_tells_the_decisions_by_hand_where_and_when_and_what_was_undone(day: Onsite) -> None:
    frame = loose_frame(day)["frame"]
    name = day("frames", "give", frame, "CH-001", "--json").data["name"]
    day("frames", "aside", frame)
    told = day("frames", "why", frame, "--json").data
    assert told["kind"] == "aside"
    assert "by hand" in told["rule"]
    assert [said.split(": ", 1)[1] for said in told["decisions"]] == [f"given to {name}", "set aside"]
    assert all(" at door-1: " in said for said in told["decisions"])
    day("frames", "undo")
    told = day("frames", "why", frame, "--json").data
    assert told["kind"] == "named"
    assert told["decisions"][1].endswith("set aside (undone since)")


def test_why_asks_for_one_frame_that_is_there(day: Onsite) -> None:
    frames = run_of(day, "named")
    counters = {row["frame"]: (row["camera"], row["counter"]) for row in exported(day)}
    camera, first = counters[frames[0]]
    assert "2 frames" in refused(day("frames", "why", f"{camera}:{first}-{counters[frames[1]][1]}"))
    assert "f99999" in refused(day("frames", "why", "f99999"))
    slate = next(row["frame"] for row in exported(day) if row["kind"] == "slate" and row["key"])
    told = day("frames", "why", slate, "--json").data
    assert (told["kind"], told["slate"]["verdict"], told["slate"]["by"]) == ("slate", "read", "decoder")
    assert "slate in it: read by its own error correction: NX" in day("frames", "why", slate).out
    portrait = day("frames", "why", frames[1], "--json").data["slate"]
    assert portrait == {"verdict": "nothing", "code": "", "by": "", "margin": None}


def test_an_ingest_of_what_is_no_picture_says_so(festival: Onsite, tmp_path: Path) -> None:
    told = festival("ingest", tmp_path / "list.csv")
    assert told.status == 0
    assert told.out.startswith("0 new frames in 0 new files.\nNothing there was a picture.\n")
    (tmp_path / "empty").mkdir()
    assert "There was no file in it." in festival("ingest", tmp_path / "empty").out


@pytest.fixture
def two_cards(festival: Onsite) -> Onsite:
    """Two cameras whose first files have one name, the first one's with a raw beside it."""
    for card, colour in (("card-1", 1), ("card-2", 2)):
        folder = Path("..", card, "DCIM", "100ORCH")
        jpeg(folder / "DSC_0001.JPG", colour, taken="2026:06:13 10:00:00")
    raw(Path("../card-1/DCIM/100ORCH/DSC_0001.DNG"), taken="2026:06:13 10:00:00")
    assert festival("ingest", "../card-1", "--camera", "A").status == 0
    assert festival("ingest", "../card-2", "--camera", "B").status == 0
    return festival


def test_files_are_listed_below_their_card_beside_its_label(two_cards: Onsite) -> None:
    there = "DCIM/100ORCH/DSC_0001"
    rows = [(row["camera"], row["files"]) for row in exported(two_cards)]
    assert rows == [("A", f"{there}.DNG;{there}.JPG"), ("B", f"{there}.JPG")]


def test_two_files_of_one_name_are_told_apart_by_what_frames_are_called(two_cards: Onsite) -> None:
    said = refused(two_cards("frames", "give", "DSC_0001.JPG", "C-1"))
    assert "'DSC_0001.JPG' is the name of 2 frames: A:0001, B:0001." in said
    assert two_cards("frames", "give", "A:0001", "C-1").status == 0
    assert "A:0001" in two_cards("frames", "why", "A:0001").out
    assert "f1" not in two_cards("frames", "why", "A:0001").out
    said = refused(two_cards("frames", "give", "100ORCH/DSC_0001.JPG", "C-2"))
    assert "is the path of 2 frames: A:0001, B:0001." in said
    assert two_cards("frames", "give", "card-2/DCIM/100ORCH/DSC_0001.JPG", "C-2", "--json").data[
        "frames"
    ] == ["f2"]


def test_messages_call_a_frame_by_camera_and_counter(two_cards: Onsite) -> None:
    two_cards("match")
    said = [
        refused(two_cards("frames", "join", "f1", "f2")),
        refused(two_cards("retouch", "accept", "f1")),
    ]
    assert said[0].startswith("A:0001 and B:0001 are of different cameras.")
    assert said[1].startswith("A:0001 did not go out to be retouched.")
    assert not [text for text in said if re.search(r"\bf[12]\b", text)]


def test_picks_whose_file_names_others_have_are_listed_with_their_paths(two_cards: Onsite) -> None:
    jpeg(Path("../card-2/DCIM/100ORCH/DSC_0002.JPG"), 3, taken="2026:06:13 10:00:05")
    two_cards("ingest", "../card-2", "--camera", "B")
    two_cards("frames", "give", "B:0001-0002", "C-2")
    assert two_cards("picks", "add", "C-2", "B:0001").status == 0
    assert two_cards("marks", "--list", "picks.txt").status == 0
    assert Path("picks.txt").read_text() == f"{Path('../card-2/DCIM/100ORCH/DSC_0001.JPG').resolve()}\n"
    assert two_cards("picks", "add", "C-2", "B:0002", "--instead").status == 0
    assert two_cards("marks", "--list", "picks.txt").status == 0
    assert Path("picks.txt").read_text() == "DSC_0002.JPG\n"


def test_a_frame_may_be_spelled_as_in_a_list_of_picks(day: Onsite) -> None:
    row = next(row for row in exported(day) if row["kind"] == "named")
    label = f"{row['camera']}:{int(row['counter']):04}"
    file = row["files"].split(";")[0].rpartition("/")[2]
    for text in (label, label.lower(), f"“{label}”,", file, file.swapcase(), file.rpartition(".")[0].lower()):
        assert day("frames", "aside", text, "--json").data["frames"] == [row["frame"]], text
