"""The set, driven with keys, with frames landing in a real folder."""

from __future__ import annotations

import shutil
from datetime import timedelta
from pathlib import Path

import pytest
from PIL import Image
from sqlmodel import select
from textual.widgets import Input

from onsite.checkin.check_in import check_in
from onsite.frames import frame_quality_checks
from onsite.frames.folder_watch_events import WatchedFolder, read_watched_folder, save_watched_folder
from onsite.frames.ingest import ingest
from onsite.reconcile.overrides import give_frames
from onsite.roster.read_people import read_people
from onsite.simulator.invented_exposure import CAMERAS, SlateDamage
from onsite.store.events import EventKind, add_event, read_events
from onsite.store.schema import Frame
from onsite.store.shoot import Shoot, open_shoot
from onsite.tui.app import OnsiteApp
from onsite.tui.dialogs.full_screen import ClockScreen, FrameScreen, SlateScreen
from onsite.tui.set import set_view
from onsite.tui.set.current_person import CallList
from onsite.tui.set.set_frame_list import FrameList
from onsite.tui.set.warning_bars import WarningBars
from onsite.tui.widgets.block_text import BlockText
from tests.frames.pictures import ORIGINAL, SUB_SECONDS
from tests.slates.test_clock_slate import photograph
from tests.tiers import long_after
from tests.tui.driving import Driven, opened, screen_text, told, typed, until
from tests.tui.set.tethered import Tethered

WIDE = (120, 36)


@pytest.fixture
def codes(choirs: Shoot) -> dict[str, str]:
    """Four of the choirs are there; all codes, by key."""
    for key in "1234":
        check_in(choirs, key, station="door-1")
    with choirs.reading() as session:
        return {person.key: person.code for person in read_people(session)}


@pytest.fixture
def tethered(tmp_path: Path) -> Tethered:
    return Tethered(tmp_path / "tether")


def shown_to_be_on_set(shoot: Shoot) -> list[tuple[str, str]]:
    """(key, station) of the slates shown."""
    with shoot.reading() as session:
        keys = {person.id: person.key for person in read_people(session)}
        return [(keys[e.person_id or 0], e.station) for e in read_events(session, (EventKind.SLATE_SHOWN,))]


def marked(pilot: Driven) -> str:
    item = pilot.app.screen.query_one(CallList).item
    return item.status.person.name if item is not None else ""


def film(pilot: Driven) -> list[str]:
    """The roll of film as it stands there: headings and frames."""
    roll = pilot.app.screen.query_one(FrameList)
    return [" ".join(roll.render_line(y).text.split()) for y in range(min(len(roll.items), roll.size.height))]


def warned(pilot: Driven) -> str:
    lines = pilot.app.screen.query_one(WarningBars)
    return lines.text if lines.display else ""


async def watching(pilot: Driven, folder: Path, label: str = "") -> None:
    """Starts watching a folder with keys."""
    await pilot.press("w")
    await until(pilot, lambda: pilot.app.focused is not None and isinstance(pilot.app.focused, Input))
    pilot.app.screen.query_one("#field-folder", Input).value = str(folder)
    await pilot.press("enter")
    await typed(pilot, label)
    await pilot.press("enter")
    await until(pilot, lambda: told(pilot) == f"watching {folder}")


@pytest.mark.long
@pytest.mark.usefixtures("codes")
async def test_enter_shows_the_slate_records_it_and_goes_on_to_the_next(choirs: Shoot) -> None:
    async with opened(choirs, "set", station="set-A") as pilot:
        await until(pilot, lambda: marked(pilot) == "Ana Horvat")
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, SlateScreen))
        assert "▄" in screen_text(pilot)
        await until(pilot, lambda: shown_to_be_on_set(choirs) == [("1", "set-A")])
        await pilot.press("enter")
        await until(pilot, lambda: marked(pilot) == "Bo Lind")
        await until(pilot, lambda: "Ana Horvat: slate shown" in told(pilot))
        await until(pilot, lambda: "shown" in pilot.app.screen.query_one(CallList).render_line(0).text)
        await pilot.press("down", "enter")
        await until(pilot, lambda: shown_to_be_on_set(choirs)[1:] == [("3", "set-A")])
        await pilot.press("escape")
        await until(pilot, lambda: marked(pilot) == "Jürgen Weiß")


@pytest.mark.long
async def test_nobody_waits(choirs: Shoot) -> None:
    async with opened(choirs, "set") as pilot:
        await until(pilot, lambda: "nobody waits" in screen_text(pilot))
        await pilot.press("enter")
        await pilot.pause()
        assert told(pilot).startswith("! Nobody waits.")


@pytest.mark.long
@pytest.mark.usefixtures("codes")
async def test_somebody_else_is_picked(choirs: Shoot) -> None:
    async with opened(choirs, "set", station="set-A") as pilot:
        await pilot.press("p")
        await typed(pilot, "mia")
        await pilot.press("enter")
        await until(pilot, lambda: shown_to_be_on_set(choirs) == [("6", "set-A")])
        assert isinstance(pilot.app.screen, SlateScreen)


async def test_frames_appear_under_their_person_as_they_land(
    choirs: Shoot, codes: dict[str, str], tethered: Tethered
) -> None:
    async with opened(choirs, "set", WIDE, station="set-A") as pilot:
        await watching(pilot, tethered.folder, "A")
        tethered.slate(codes["3"], "3")
        await until(pilot, lambda: film(pilot)[:1] == ["Zoë Ó Súilleabháin no frames yet"])
        assert "! MUST NOT BE PUBLISHED (no)" in screen_text(pilot)
        assert "note: not in print" in screen_text(pilot)
        tethered.portrait("3")
        tethered.portrait("3")
        await until(pilot, lambda: film(pilot)[:1] == ["Zoë Ó Súilleabháin 2 frames"])
        assert [line.split()[0] for line in film(pilot)[1:]] == ["0003", "0002", "0001"]
        assert film(pilot)[3].endswith("▚ slate")
        assert warned(pilot) == ""
        assert "Zoë" not in " ".join(
            line.status.person.name for line in pilot.app.screen.query_one(CallList).items
        )
        await until(pilot, lambda: "0003 Zoë Ó Súilleabháin" in screen_text(pilot))


@pytest.mark.long
async def test_a_warning_is_loud_rings_once_and_goes_when_it_was_seen(
    choirs: Shoot, codes: dict[str, str], tethered: Tethered, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with opened(choirs, "set", WIDE, station="set-A") as pilot:
        rung: list[str] = []
        monkeypatch.setattr(pilot.app, "bell", lambda: rung.append(warned(pilot)))
        await watching(pilot, tethered.folder)
        tethered.slate(codes["1"], "1")
        await until(pilot, lambda: film(pilot)[:1] == ["Ana Horvat no frames yet"])
        tethered.pause(20)
        tethered.slate(codes["2"], "2", SlateDamage.GLARE)
        await until(pilot, lambda: "! 0002: The slate does not read: shoot it again." in warned(pilot))
        assert "No frames followed the slate of Ana Horvat." in warned(pilot)
        assert len(rung) == 1
        await pilot.press("x")
        await until(pilot, lambda: warned(pilot) == "")
        assert told(pilot) == "2 warnings seen. U: undo"
        assert "! unread" in film(pilot)[1]  # it stays with the frame
        assert "! no frames" in film(pilot)[3]
        tethered.slate(codes["2"], "2")
        await until(pilot, lambda: film(pilot)[:1] == ["Bo Lind no frames yet"])
        assert warned(pilot) == ""
        assert len(rung) == 1


@pytest.mark.long
async def test_what_was_before_the_run_that_is_on_needs_no_eye(
    choirs: Shoot, codes: dict[str, str], tethered: Tethered, monkeypatch: pytest.MonkeyPatch
) -> None:
    tethered.slate(codes["1"], "1", SlateDamage.GLARE)
    tethered.slate(codes["1"], "1")
    tethered.portrait("1")
    ingest(choirs, [tethered.folder])
    rung: list[None] = []
    monkeypatch.setattr(OnsiteApp, "bell", lambda _: rung.append(None))
    async with opened(choirs, "set", WIDE) as pilot:
        await until(pilot, lambda: film(pilot)[:1] == ["Ana Horvat 1 frame"])
        assert any("! unread" in line for line in film(pilot))
        assert warned(pilot) == ""
        assert rung == []


@pytest.mark.long
async def test_the_name_under_the_picture_follows_a_decision_by_hand(
    choirs: Shoot, codes: dict[str, str], tethered: Tethered
) -> None:
    tethered.slate(codes["1"], "1")
    tethered.portrait("1")
    ingest(choirs, [tethered.folder])
    async with opened(choirs, "set", WIDE) as pilot:
        await until(pilot, lambda: "0002 Ana Horvat" in screen_text(pilot))
        with choirs.reading() as session:
            bo = next(person.id for person in read_people(session) if person.key == "2")
            frame = session.exec(select(Frame.id).where(Frame.counter == 2)).one()
        give_frames(choirs, [frame or 0], bo, "set-B")
        await until(pilot, lambda: "0002 Bo Lind" in screen_text(pilot))
        assert "■ by hand" in " ".join(film(pilot))


@pytest.mark.long
async def test_a_slate_that_does_not_read_is_heard_while_it_still_stands_there(
    choirs: Shoot, codes: dict[str, str], tethered: Tethered, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with opened(choirs, "set", WIDE, station="set-A") as pilot:
        rung: list[str] = []
        monkeypatch.setattr(pilot.app, "bell", lambda: rung.append(type(pilot.app.screen).__name__))
        await watching(pilot, tethered.folder)
        tethered.slate(codes["2"], "2")
        await until(pilot, lambda: film(pilot)[:1] == ["Bo Lind no frames yet"])
        tethered.portrait("2")
        await until(pilot, lambda: film(pilot)[:1] == ["Bo Lind 1 frame"])
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, SlateScreen))
        tethered.slate(codes["1"], "1", SlateDamage.GLARE)
        await until(pilot, lambda: rung == ["SlateScreen"])
        await pilot.press("enter")
        assert "The slate does not read" in warned(pilot)
        assert pilot.app.screen.query_one(".on--name", BlockText).text == "! no name"
        assert "a slate was seen" in screen_text(pilot)


@pytest.mark.long
async def test_a_slate_without_frames_is_told_by_the_clock(
    choirs: Shoot, codes: dict[str, str], tethered: Tethered, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(frame_quality_checks, "LONE_SLATE_SECONDS", 0.3)
    monkeypatch.setattr(set_view, "_TICK", 0.1)
    tethered.slate(codes["1"], "1")
    ingest(choirs, [tethered.folder])
    async with opened(choirs, "set", WIDE) as pilot:
        await until(pilot, lambda: "No frames followed the slate of Ana Horvat." in warned(pilot))


@pytest.mark.long
async def test_a_folder_that_disappears_is_waited_for(
    choirs: Shoot, codes: dict[str, str], tethered: Tethered
) -> None:
    async with opened(choirs, "set", WIDE, station="set-A") as pilot:
        await watching(pilot, tethered.folder)
        tethered.slate(codes["1"], "1")
        await until(pilot, lambda: film(pilot)[:1] == ["Ana Horvat no frames yet"])
        shutil.rmtree(tethered.folder)
        await until(pilot, lambda: warned(pilot).startswith("! folder gone:"))
        await pilot.press("x")  # nobody can wave that away
        assert "folder gone" in warned(pilot)
        tethered.folder.mkdir()
        await until(pilot, lambda: warned(pilot) == "")
        tethered.portrait("1")
        await until(pilot, lambda: film(pilot)[:1] == ["Ana Horvat 1 frame"])


@pytest.mark.long
async def test_a_file_that_is_still_being_written_is_waited_for(
    choirs: Shoot, codes: dict[str, str], tethered: Tethered
) -> None:
    async with opened(choirs, "set", WIDE, station="set-A") as pilot:
        await watching(pilot, tethered.folder)
        tethered.slate(codes["1"], "1")
        await until(pilot, lambda: film(pilot)[:1] == ["Ana Horvat no frames yet"])
        path, rest = tethered.half("1")
        await until(pilot, lambda: f"coming in: {path.name} …" in screen_text(pilot))
        assert film(pilot)[:1] == ["Ana Horvat no frames yet"]
        with path.open("ab") as file:
            file.write(rest)
        await until(pilot, lambda: film(pilot)[:1] == ["Ana Horvat 1 frame"])
        await until(pilot, lambda: "coming in" not in screen_text(pilot))
        assert warned(pilot) == ""


@pytest.mark.long
async def test_watching_goes_on_in_another_mode_and_after_the_screens_were_closed(
    choirs: Shoot, codes: dict[str, str], tethered: Tethered
) -> None:
    async with opened(choirs, "set", WIDE, station="set-A") as pilot:
        await watching(pilot, tethered.folder, "A")
        await pilot.press("f1")
        tethered.slate(codes["1"], "1")
        tethered.portrait("1")
        await pilot.press("f2")
        await until(pilot, lambda: film(pilot)[:1] == ["Ana Horvat 1 frame"])
    tethered.portrait("1")  # while nobody looks
    again = open_shoot(choirs.folder)
    async with opened(again, "door", WIDE, station="set-A") as pilot:
        await pilot.press("f2")
        await until(pilot, lambda: film(pilot)[:1] == ["Ana Horvat 2 frames"])
    again.engine.dispose()


@pytest.mark.long
async def test_watching_stops_where_no_folder_is_given(choirs: Shoot, tethered: Tethered) -> None:
    async with opened(choirs, "set", WIDE, station="set-A") as pilot:
        await watching(pilot, tethered.folder)
        await pilot.press("w")
        await until(pilot, lambda: isinstance(pilot.app.focused, Input))
        assert pilot.app.screen.query_one("#field-folder", Input).value == str(tethered.folder)
        pilot.app.screen.query_one("#field-folder", Input).value = ""
        await pilot.press("ctrl+s")
        await until(pilot, lambda: told(pilot) == "no folder is watched now")
        assert "No folder is watched" in screen_text(pilot)
    assert read_watched_folder(choirs, "set-A") == WatchedFolder(str(tethered.folder), "", on=False)
    assert read_watched_folder(choirs, "set-B") is None


@pytest.mark.long
async def test_a_folder_that_is_not_there_is_refused(choirs: Shoot, tmp_path: Path) -> None:
    async with opened(choirs, "set", WIDE, station="set-A") as pilot:
        await pilot.press("w")
        await until(pilot, lambda: isinstance(pilot.app.focused, Input))
        pilot.app.screen.query_one("#field-folder", Input).value = str(tmp_path / "nowhere")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "There is no folder" in screen_text(pilot))
        typed_path = pilot.app.screen.query_one("#field-folder", Input).value
        assert typed_path == str(tmp_path / "nowhere")  # to be mended, not typed again
        await pilot.press("escape")
    assert read_watched_folder(choirs, "set-A") is None


@pytest.mark.long
async def test_a_remembered_folder_that_is_not_there_is_waited_for(
    choirs: Shoot, codes: dict[str, str], tethered: Tethered
) -> None:
    tethered.folder.rmdir()
    save_watched_folder(choirs, "set-A", WatchedFolder(str(tethered.folder), "A"))
    async with opened(choirs, "set", WIDE, station="set-A") as pilot:
        await until(pilot, lambda: "folder gone" in warned(pilot))
        tethered.folder.mkdir()
        tethered.slate(codes["1"], "1")
        await until(pilot, lambda: film(pilot)[:1] == ["Ana Horvat no frames yet"])
        assert warned(pilot) == ""


@pytest.mark.long
async def test_cameras_are_changed_with_the_brackets(
    choirs: Shoot, codes: dict[str, str], tmp_path: Path
) -> None:
    first, second = (Tethered(tmp_path / c.label, c) for c in CAMERAS)
    first.slate(codes["1"], "1")
    first.portrait("1")
    second.slate(codes["2"], "2", SlateDamage.GLARE)
    for body in (first, second):
        ingest(choirs, [body.folder], label=body.camera.label)
    async with opened(choirs, "set", WIDE) as pilot:
        await until(pilot, lambda: "On now, camera B" in screen_text(pilot))  # its frame came last
        assert "does not read" in warned(pilot)
        await pilot.press("right_square_bracket")
        await until(pilot, lambda: "On now, camera A" in screen_text(pilot))
        assert film(pilot)[:1] == ["Ana Horvat 1 frame"]
        assert warned(pilot) == ""
        assert "B ! 1" in screen_text(pilot)  # and the other one's warnings are counted
        await pilot.press("left_square_bracket")
        await until(pilot, lambda: "On now, camera B" in screen_text(pilot))


@pytest.mark.long
async def test_a_camera_an_hour_ahead_is_shown_in_shoot_time(
    choirs: Shoot, codes: dict[str, str], tmp_path: Path
) -> None:
    ahead = Tethered(tmp_path / "tether", at=choirs.now() + timedelta(hours=1))
    now = choirs.now()
    for number, key in enumerate("123456"):
        ahead.slate(codes[key], key)
        ahead.portrait(key)
        moment = now + timedelta(seconds=4 * number)
        with choirs.writing() as session:
            add_event(session, EventKind.SLATE_SHOWN, moment, station="set-A", person_id=number + 1)
    ingest(choirs, [ahead.folder])
    async with opened(choirs, "set", (160, 36)) as pilot:
        await until(pilot, lambda: len(film(pilot)) > 2)
        last = (ahead.at - timedelta(hours=1)).astimezone(choirs.zone)
        minute = (last + timedelta(seconds=off) for off in range(-45, 46))
        assert film(pilot)[1].split()[1] in [f"{moment:%H:%M:%S}" for moment in minute]
        own = ahead.at + timedelta(hours=2)  # in the zone that it writes
        await until(pilot, lambda: f"· {own:%H:%M:%S} by" in screen_text(pilot))


@pytest.mark.long
async def test_the_picture_of_a_frame_fills_the_terminal(
    choirs: Shoot, codes: dict[str, str], tethered: Tethered
) -> None:
    tethered.slate(codes["1"], "1")
    tethered.portrait("1")
    ingest(choirs, [tethered.folder])
    async with opened(choirs, "set", (80, 24)) as pilot:
        await until(pilot, lambda: film(pilot)[:1] == ["Ana Horvat 1 frame"])
        for keys, frame in ((["f"], "0002"), (["tab", "down", "enter"], "0001"), (["f"], "0001")):
            await pilot.press(*keys)
            await until(pilot, lambda: isinstance(pilot.app.screen, FrameScreen))
            await until(pilot, lambda: f" of 2, {frame}" in screen_text(pilot))  # noqa: B023
            await until(pilot, lambda: "▀" in screen_text(pilot) or "▄" in screen_text(pilot))
            await pilot.press("escape")


@pytest.mark.long
@pytest.mark.parametrize("size", long_after(1, [(80, 24), (20, 5), (40, 10), (200, 60)]))
async def test_any_size_can_be_worked_in(
    size: tuple[int, int], choirs: Shoot, codes: dict[str, str], tethered: Tethered
) -> None:
    tethered.slate(codes["3"], "3")
    tethered.portrait("3")
    ingest(choirs, [tethered.folder])
    async with opened(choirs, "set", size, station="set-A") as pilot:
        await until(pilot, lambda: marked(pilot) == "Ana Horvat")
        await pilot.press(
            "enter", "escape", "down", "tab", "down", "f", "escape", "x", "w", "escape", "p", "escape"
        )
        await pilot.resize_terminal(100, 30)
        await until(pilot, lambda: "Zoë Ó Súilleabháin" in screen_text(pilot))
        await pilot.resize_terminal(*size)
        await pilot.pause()


@pytest.mark.long
async def test_hostile_names_are_shown_as_written(choirs: Shoot, tethered: Tethered) -> None:
    check_in(choirs, "6")
    with choirs.reading() as session:
        code = next(person.code for person in read_people(session) if person.key == "6")
    tethered.slate(code, "6")
    ingest(choirs, [tethered.folder], label="[red]A")
    other = Tethered(tethered.folder.parent / "other", CAMERAS[1])
    other.portrait("6")
    ingest(choirs, [other.folder])
    async with opened(choirs, "set", WIDE) as pilot:
        await pilot.press("left_square_bracket")
        await until(
            pilot, lambda: "Mia [b]Kern[/b]" in screen_text(pilot) or "Mia [b]Kern[/b]" in film(pilot)[0]
        )
        assert "[red]A" in screen_text(pilot)


@pytest.mark.long
async def test_the_clock_slate_shows_another_second_every_second(choirs: Shoot) -> None:
    async with opened(choirs, "set", WIDE, "set-A") as pilot:
        await pilot.press("c")
        await until(pilot, lambda: isinstance(pilot.app.screen, ClockScreen))
        first = screen_text(pilot)
        assert "██████████████" in first
        await until(pilot, lambda: screen_text(pilot) != first)
        await pilot.press("escape")
        await until(pilot, lambda: not isinstance(pilot.app.screen, ClockScreen))


@pytest.mark.long
async def test_a_camera_without_a_clock_slate_is_told_and_one_with_is_measured(
    choirs: Shoot, codes: dict[str, str], tethered: Tethered
) -> None:
    async with opened(choirs, "set", WIDE, "set-A") as pilot:
        assert "No clock slate" not in screen_text(pilot)
        tethered.slate(codes["1"], "1")
        await watching(pilot, tethered.folder)
        await until(pilot, lambda: "No clock slate yet. Press C." in screen_text(pilot))
        path = tethered.portrait("1")
        with Image.open(path) as portrait:
            tags = portrait.getexif()
        tags.get_ifd(0x8769)[ORIGINAL] = "2026:06:13 09:38:15"
        tags.get_ifd(0x8769).pop(SUB_SECONDS, None)
        part = path.with_name(".clock.part")
        photograph(1.5, shoot=choirs.mark).convert("RGB").save(part, "JPEG", quality=92, exif=tags)
        part.replace(path.with_name("_ACM0099.JPG"))
        await until(pilot, lambda: "clock: 3 min 12 s slow" in screen_text(pilot))
        assert "09:41" in screen_text(pilot)
