"""The desk, driven with keys."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from PIL import Image
from sqlmodel import Session, select

from onsite.checkin.check_in import check_in_person
from onsite.checkin.walk_ins_and_corrections import correct_person
from onsite.frames.frame_previews import save_preview
from onsite.retouch.retouch_folder import HeldFile, save_held_files
from onsite.status.person_status import OpenWork
from onsite.store.events import Event, EventKind, add_event, newest_event_id, read_events
from onsite.store.schema import Camera, File, Frame, Meta, Person, VerdictRow
from onsite.store.shoot import Shoot
from onsite.tui.commands.command_form import CommandFormScreen
from onsite.tui.desk.choose_pictures import ChoosePicturesScreen
from onsite.tui.desk.desk_rows import BY_COMMAND
from onsite.tui.desk.desk_screen import DeskScreen
from onsite.tui.desk.held_returns import HeldReturnsScreen
from onsite.tui.dialogs.person_history_screen import HistoryScreen
from onsite.tui.dialogs.question_dialogs import AskScreen
from onsite.tui.widgets.frame_picture import FramePicture
from onsite.tui.widgets.status_line import StatusLine
from onsite.tui.widgets.virtual_list import VirtualList
from tests.tui.driving import COMMANDS, Driven, opened, screen_text, told, typed, until

VIENNA = ZoneInfo("Europe/Vienna")
MORNING = datetime(2026, 6, 13, 9, tzinfo=VIENNA)
NOW = datetime(2026, 6, 20, 12, tzinfo=VIENNA)


@pytest.fixture
def later(choirs: Shoot, monkeypatch: pytest.MonkeyPatch) -> Shoot:
    """A week after the shoot: 1 and 2 have proofs, 3 is at retouch, 4 has no proof yet. Two picks agreed."""
    monkeypatch.setattr(Shoot, "now", lambda _: NOW)
    for person in (1, 2, 3, 4):
        check_in_person(choirs, person, "door-1", at=MORNING + timedelta(minutes=person))
    with choirs.writing() as session:
        _shoot(choirs, session)
        at = MORNING + timedelta(days=1)
        for person in (1, 2, 3):
            add_event(session, EventKind.PROOFED, at, person_id=person, frames=[], page=f"p{person}.html")
            add_event(session, EventKind.INVITED, at, person_id=person)
        add_event(
            session,
            EventKind.PICKED,
            at,
            person_id=3,
            frames=[7],
            notes={"7": "stray hair"},
            note="soft light",
        )
        add_event(
            session,
            EventKind.BATCH,
            at,
            batch="B1",
            hand="in house",
            due="2026-06-18",
            price="",
            currency="EUR",
        )
        add_event(
            session, EventKind.SENT, at + timedelta(days=1), person_id=3, frame_id=7, batch="B1", version=1
        )
        session.flush()
        session.merge(Meta(key="matched_event", value=str(newest_event_id(session))))
    agreed = replace(choirs.settings.agreed, picks=2)
    return replace(choirs, settings=replace(choirs.settings, agreed=agreed))


def _shoot(shoot: Shoot, session: Session) -> None:
    """Three frames each."""
    session.add(Camera(id=1, label="A", identity="A", serial="1"))
    session.flush()
    for number in range(1, 13):
        person, sha256 = (number - 1) // 3 + 1, f"{number:064x}"
        taken = datetime(2026, 6, 13, 9) + timedelta(minutes=number)
        name = f"A{number:04}.JPG"
        session.add(Frame(id=number, camera_id=1, counter=number, name=name, taken=taken, source="card"))
        session.flush()
        session.add(File(frame_id=number, name=name, kind="jpeg", size=1, sha256=sha256))
        session.add(VerdictRow(frame_id=number, kind="named", person_id=person))
        save_preview(shoot.folder, sha256, _jpeg(shoot.folder / "one.jpg", number))


def _jpeg(path: Path, shade: int) -> bytes:
    Image.new("RGB", (60, 40), (20 * shade, 90, 90)).save(path)
    return path.read_bytes()


def waiting(pilot: Driven) -> list[str]:
    roll: VirtualList[OpenWork] = pilot.app.screen.query_one("#people", VirtualList)
    return [waits.status.person.name for waits in roll.items]


def recorded(shoot: Shoot, kind: EventKind) -> list[Event]:
    with shoot.reading() as session:
        return read_events(session, (kind,))


@pytest.mark.long
async def test_who_waits_for_what_and_what_is_out(later: Shoot) -> None:
    async with opened(later, "desk") as pilot:
        await until(pilot, lambda: "1 overdue" in screen_text(pilot))
        text = screen_text(pilot)
        assert "0 people have everything · 4 wait · 1 batch out, 1 overdue" in text
        assert waiting(pilot) == ["Ana Horvat", "Bo Lind"]
        assert "6 d" in text
        assert "! overdue B1" in text
        assert "0/1 back" in text
        await pilot.press("left_square_bracket", "left_square_bracket")
        await until(pilot, lambda: waiting(pilot) == ["Zoë Ó Súilleabháin"])
        await pilot.press("right_square_bracket")
        await until(pilot, lambda: waiting(pilot) == ["Jürgen Weiß"])


@pytest.mark.long
async def test_consent_taken_back_after_a_delivery_stands_first(later: Shoot) -> None:
    with later.writing() as session:
        add_event(session, EventKind.DELIVERED, later.now(), person_id=1, frame_id=7, file="Horvat_Ana.jpg")
    async with opened(later, "desk") as pilot:
        await until(pilot, lambda: "overdue" in screen_text(pilot))
        assert "took consent back" not in screen_text(pilot)
        correct_person(later, 1, {"consent": "no"}, "office")
        said = "! 1 took consent back after delivery: tell the client"
        await until(pilot, lambda: said in screen_text(pilot))


@pytest.mark.long
async def test_what_happens_elsewhere_is_seen(later: Shoot) -> None:
    async with opened(later, "desk") as pilot:
        await until(pilot, lambda: waiting(pilot) == ["Ana Horvat", "Bo Lind"])
        with later.writing() as session:
            add_event(session, EventKind.RECEIVED, NOW, person_id=3, frame_id=7, batch="B1", version=1)
        await until(pilot, lambda: "all back" in screen_text(pilot))
        assert "0 batches out" in screen_text(pilot)


@pytest.mark.long
async def test_one_key_writes_the_reminders_and_sends_nothing(later: Shoot) -> None:
    async with opened(later, "desk") as pilot:
        await until(pilot, lambda: waiting(pilot) == ["Ana Horvat", "Bo Lind"])
        await pilot.press("r")
        await until(pilot, lambda: "Write 2 reminders?" in screen_text(pilot))
        await pilot.press("escape", "r")
        await until(pilot, lambda: "Write 2 reminders?" in screen_text(pilot))
        assert not recorded(later, EventKind.REMINDED)
        await pilot.press("enter")
        await until(pilot, lambda: "written to" in told(pilot))
        assert "Nothing was sent." in told(pilot)
        await until(pilot, lambda: "reminded now" in screen_text(pilot))
        assert [event.person_id for event in recorded(later, EventKind.REMINDED)] == [1, 2]
        assert (later.folder / "reminders" / "2026-06-20 picks 1" / "merge.csv").is_file()
        await pilot.press("r")
        await until(
            pilot, lambda: "Nobody is to be reminded now. 2 people had a mail within a day." in told(pilot)
        )
    assert len(recorded(later, EventKind.REMINDED)) == 2


@pytest.mark.long
async def test_reminding_from_another_list_shows_first_who_it_is_for(later: Shoot) -> None:
    async with opened(later, "desk") as pilot:
        await pilot.press("right_square_bracket")
        await until(pilot, lambda: waiting(pilot) == [])
        await pilot.press("r")
        await until(pilot, lambda: waiting(pilot) == ["Ana Horvat", "Bo Lind"])
        assert told(pilot) == "2 people have not picked. R: write their reminders."
    assert not recorded(later, EventKind.REMINDED)


@pytest.mark.long
async def test_what_cannot_be_written_is_told(later: Shoot) -> None:
    (later.folder / "reminders").write_text("in the way", encoding="utf-8")
    async with opened(later, "desk") as pilot:
        await until(pilot, lambda: waiting(pilot) == ["Ana Horvat", "Bo Lind"])
        await pilot.press("r", "enter")
        await until(pilot, lambda: "cannot be written" in told(pilot))
    assert not recorded(later, EventKind.REMINDED)


@pytest.mark.long
async def test_what_happens_at_the_desk_has_no_frame_matched_anew(later: Shoot) -> None:
    """These frames have no slates: matched anew, they would be nobody's."""
    async with opened(later, "desk") as pilot:
        await until(pilot, lambda: waiting(pilot) == ["Ana Horvat", "Bo Lind"])
        await pilot.press("r", "enter")
        await until(pilot, lambda: "reminded now" in screen_text(pilot))
        await pilot.pause(1)
        await pilot.press("left_square_bracket")
        await until(pilot, lambda: waiting(pilot) == ["Jürgen Weiß"])


async def choosing(pilot: Driven) -> None:
    if pilot.app.focused is None or pilot.app.focused.id != "people":
        await pilot.press("tab")
    await pilot.press("enter")
    await until(pilot, lambda: isinstance(pilot.app.screen, ChoosePicturesScreen))
    await until(pilot, lambda: "of 3" in screen_text(pilot))


async def test_picks_are_chosen_with_the_pictures_side_by_side(later: Shoot) -> None:
    async with opened(later, "desk", size=(120, 36)) as pilot:
        await until(pilot, lambda: waiting(pilot) == ["Ana Horvat", "Bo Lind"])
        await pilot.press("tab", "down")
        await choosing(pilot)
        assert "0 chosen, 2 pictures agreed: Bo Lind" in screen_text(pilot)
        assert sum(picture.display for picture in pilot.app.screen.query(FramePicture)) == 3
        await pilot.press("right", "space", "left", "space")
        assert "[x] chosen: A:0004, 1 of 3" in screen_text(pilot)
        await pilot.press("right", "right", "space")
        assert "3 picks, and 2 are agreed." in pilot.app.screen.query_one(StatusLine).text
        await pilot.press("enter")
        await until(pilot, lambda: told(pilot) == "Bo Lind: 2 picks.")
        await until(pilot, lambda: waiting(pilot) == ["Ana Horvat"])
    (event,) = recorded(later, EventKind.PICKED)[1:]
    assert (event.person_id, event.station) == (2, "door-1")
    assert event.details == {"frames": [5, 4], "notes": {}, "note": "", "from": "the desk"}


@pytest.mark.long
async def test_a_changed_mind_keeps_the_notes_of_what_stays(later: Shoot) -> None:
    async with opened(later, "desk", size=(120, 36)) as pilot:
        await until(pilot, lambda: "1 overdue" in screen_text(pilot))  # and comes first
        await pilot.press("left_square_bracket", "left_square_bracket")
        await until(pilot, lambda: waiting(pilot) == ["Zoë Ó Súilleabháin"])
        await choosing(pilot)
        assert "note: soft light" in screen_text(pilot)
        await pilot.press("right", "space", "enter")
        await until(pilot, lambda: told(pilot).endswith(": 2 picks."))
    details = recorded(later, EventKind.PICKED)[-1].details
    assert (details["frames"], details["notes"], details["note"]) == (
        [7, 8],
        {"7": "stray hair"},
        "soft light",
    )


@pytest.mark.long
async def test_keys_pressed_fast_are_meant_for_the_people_shown_then(later: Shoot) -> None:
    async with opened(later, "desk", size=(120, 36)) as pilot:
        await until(pilot, lambda: waiting(pilot) == ["Ana Horvat", "Bo Lind"])
        await until(pilot, lambda: "1 overdue" in screen_text(pilot))
        screen: Any = pilot.app.screen
        screen.action_turn(-1)
        screen.action_turn(-1)
        screen._choose_pictures()
        await until(pilot, lambda: "agreed: Zoë Ó Súilleabháin" in screen_text(pilot))


@pytest.mark.long
async def test_forgetting_it_records_nothing(later: Shoot) -> None:
    async with opened(later, "desk", size=(120, 36)) as pilot:
        await until(pilot, lambda: waiting(pilot) == ["Ana Horvat", "Bo Lind"])
        await choosing(pilot)
        await pilot.press("space", "escape")
        await until(pilot, lambda: not isinstance(pilot.app.screen, ChoosePicturesScreen))
        await choosing(pilot)
        await pilot.press("enter")
        await until(pilot, lambda: told(pilot) == "Ana Horvat: nothing was changed.")
    assert len(recorded(later, EventKind.PICKED)) == 1


@pytest.mark.long
async def test_a_frame_that_is_somebody_elses_by_then_is_refused(later: Shoot) -> None:
    async with opened(later, "desk", size=(120, 36)) as pilot:
        await until(pilot, lambda: waiting(pilot) == ["Ana Horvat", "Bo Lind"])
        await choosing(pilot)
        await pilot.press("space")
        with later.writing() as session:
            session.exec(select(VerdictRow).where(VerdictRow.frame_id == 1)).one().person_id = 2
        await pilot.press("enter")
        await until(pilot, lambda: told(pilot).startswith("! 'A:0001' is not a frame of Ana Horvat"))
    assert len(recorded(later, EventKind.PICKED)) == 1


@pytest.mark.long
async def test_picks_that_come_in_meanwhile_are_not_lost(later: Shoot) -> None:
    async with opened(later, "desk", size=(120, 36)) as pilot:
        await until(pilot, lambda: waiting(pilot) == ["Ana Horvat", "Bo Lind"])
        await choosing(pilot)
        await pilot.press("space")
        with later.writing() as session:
            add_event(session, EventKind.PICKED, NOW, person_id=1, frames=[3], notes={"3": "lint"}, note="")
        await pilot.press("enter")
        await until(
            pilot, lambda: told(pilot).startswith("! Ana Horvat: their picks have just come from elsewhere")
        )
    assert recorded(later, EventKind.PICKED)[-1].details["frames"] == [3]


@pytest.mark.long
async def test_a_narrow_screen_shows_two_and_goes_on_frame_by_frame(later: Shoot) -> None:
    async with opened(later, "desk", size=(80, 24)) as pilot:
        await until(pilot, lambda: waiting(pilot) == ["Ana Horvat", "Bo Lind"])
        await choosing(pilot)
        assert "1 of 3" in screen_text(pilot)
        assert "3 of 3" not in screen_text(pilot)
        await pilot.press("right", "right")
        await until(pilot, lambda: "3 of 3" in screen_text(pilot))
        assert "2 of 3" in screen_text(pilot)


@pytest.mark.long
async def test_history_from_the_desk(later: Shoot) -> None:
    async with opened(later, "desk", size=(120, 36)) as pilot:
        await until(pilot, lambda: waiting(pilot) == ["Ana Horvat", "Bo Lind"])
        await pilot.press("h")
        await until(pilot, lambda: isinstance(pilot.app.screen, HistoryScreen))
        await until(pilot, lambda: "proofs made of 0 frames" in screen_text(pilot))


@pytest.mark.long
async def test_a_hostile_name_is_shown_as_it_is(later: Shoot) -> None:
    with later.writing() as session:
        session.exec(select(Person).where(Person.id == 1)).one().name = "[b]Ana[/b]\x1b[31m"
    async with opened(later, "desk") as pilot:
        await until(pilot, lambda: "[b]Ana[/b]" in screen_text(pilot))
        assert "\x1b" not in screen_text(pilot)


@pytest.mark.long
async def test_held_files_are_a_row_and_are_looked_at_beside_what_went_out(
    later: Shoot, tmp_path: Path
) -> None:
    returned = tmp_path / "retouched.jpg"
    _jpeg(returned, 3)
    file = HeldFile(7, 3, "B1", 1, str(returned), "", "It may be another picture.")
    said = "1 of 1: A:0007, B1. It may be another picture."
    (later.folder / "retouch").mkdir(exist_ok=True)
    async with opened(later, "desk", size=(120, 36)) as pilot:
        await until(pilot, lambda: waiting(pilot) == ["Ana Horvat", "Bo Lind"])
        assert "to look at" not in screen_text(pilot)
        save_held_files(later, [file])
        await until(pilot, lambda: "1 to look at: held files" in screen_text(pilot))
        await pilot.press("up", "up", "enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, HeldReturnsScreen))
        await until(pilot, lambda: said in screen_text(pilot))
        assert "came back: retouched.jpg" in screen_text(pilot)
        await pilot.press("x")
        await until(pilot, lambda: "The retoucher reads it." in screen_text(pilot))
        await typed(pilot, "not hers")
        await pilot.press("enter")
        await until(pilot, lambda: not isinstance(pilot.app.screen, HeldReturnsScreen | AskScreen))
        await until(pilot, lambda: "to look at" not in screen_text(pilot))
    (event,) = recorded(later, EventKind.SENT_BACK)
    assert (event.frame_id, event.details["reason"]) == (7, "not hers")


async def test_rows_say_what_to_do_and_until_when_and_overdue_ones_come_first(later: Shoot) -> None:
    agreed = replace(later.settings.agreed, picks_due="2026-06-30", due="2026-07-10")
    shoot = replace(later, settings=replace(later.settings, agreed=agreed))
    async with opened(shoot, "desk", size=(120, 36)) as pilot:
        await until(pilot, lambda: "! due 18 Jun" in screen_text(pilot))
        rows = pilot.app.screen.query_one("#tasks", VirtualList)
        said = [" ".join(rows.render_line(y).text.split()) for y in range(5)]
        assert said == [
            "1 to get back from retouch since 5 d ! due 18 Jun",
            "1 to make proofs for since 7 d",
            "2 to remind: no picks yet since 6 d due 30 Jun",
            "0 to send to retouch",
            "0 to deliver",
        ]
        await pilot.press("down", "down", "enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, CommandFormScreen))


def test_what_the_desk_starts_is_a_command() -> None:
    assert set(BY_COMMAND.values()) <= {command.title for command in COMMANDS}


@pytest.mark.long
async def test_nobody_is_reminded_of_proofs_that_they_were_not_told_of(later: Shoot) -> None:
    check_in_person(later, 5, "door-1", at=MORNING)
    with later.writing() as session:
        add_event(session, EventKind.PROOFED, NOW, person_id=5, frames=[], page="p5.html")
    async with opened(later, "desk") as pilot:
        await until(pilot, lambda: "1 to tell: proofs are ready" in screen_text(pilot))
        assert waiting(pilot) == ["Ana Horvat", "Bo Lind"]
        await pilot.press("left_square_bracket")
        await until(pilot, lambda: waiting(pilot) == ["Ana Horvath"])
        await pilot.press("r", "r")
        await until(pilot, lambda: "Write 2 reminders?" in screen_text(pilot))


@pytest.mark.long
async def test_what_is_read_meanwhile_never_takes_a_key_back(later: Shoot) -> None:
    async with opened(later, "desk") as pilot:
        await until(pilot, lambda: waiting(pilot))
        tasks = pilot.app.screen.query_one("#tasks", VirtualList)
        tasks.action_step(1)  # as the key does, before it is answered
        wanted = tasks.item.work
        desk = pilot.app.screen
        assert isinstance(desk, DeskScreen)
        desk._have_held(5)
        await pilot.pause()
        assert tasks.item.work == wanted
