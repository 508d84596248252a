"""What is on at a camera, from frames written into the store as ingest writes them."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import pytest

from onsite.checkin.check_in import check_in
from onsite.core.codes import new_code
from onsite.frames.frame_quality_checks import WarningKind
from onsite.frames.save_frames import NOT_LOOKED_AT
from onsite.reconcile.camera_on_set import CameraNow, cameras_now, read_camera_now
from onsite.reconcile.current_match import match_now
from onsite.roster.load_roster import load_list
from onsite.roster.read_people import read_people
from onsite.status.status_cache import StatusCache
from onsite.store.events import EventKind, add_event
from onsite.store.schema import Camera, Frame, MeasureRow, SymbolReading
from onsite.store.shoot import Shoot


class Roll:
    """One camera's frames: bright, sharp and before the same backdrop unless it is said otherwise."""

    def __init__(self, shoot: Shoot, label: str = "A") -> None:
        self.shoot = shoot
        self.counter = 0
        self.at = datetime(2026, 6, 13, 10, 0)
        with shoot.writing() as session:
            camera = Camera(label=label, identity=label, serial=label)
            session.add(camera)
            session.flush()
            assert camera.id is not None
            self.camera = camera.id

    def frame(
        self,
        slate: str | None = None,
        *,
        unread: bool = False,
        turned: int = 0,
        brightness: float = 0.3,
        sharpness: float = 0.1,
        green: float = 0.0,
        trouble: str = "",
        skip: int = 0,
    ) -> int:
        self.counter += 1 + skip
        self.at += timedelta(seconds=2)
        with self.shoot.writing() as session:
            frame = Frame(
                camera_id=self.camera,
                counter=self.counter,
                name=f"F{self.counter:04}",
                taken=self.at,
                utc_offset=120,
                source="tether",
                trouble=trouble,
            )
            session.add(frame)
            session.flush()
            assert frame.id is not None
            session.add(
                MeasureRow(
                    frame_id=frame.id,
                    brightness=brightness,
                    sharpness=sharpness,
                    backdrop_l=50.0,
                    backdrop_a=-green,
                    backdrop_b=0.0,
                )
            )
            if slate or unread:
                session.add(SymbolReading(frame_id=frame.id, text=slate, turned=turned, share=0.2))
            add_event(session, EventKind.INGESTED, self.shoot.now(), frames=1, files=1, folders=["tether"])
            return frame.id

    def run(self, slate: str, portraits: int = 4) -> list[int]:
        return [self.frame(slate), *(self.frame() for _ in range(portraits))]

    def pause(self, seconds: float) -> None:
        self.at += timedelta(seconds=seconds)

    def now(self) -> CameraNow:
        everybody = StatusCache()
        everybody.catch_up(self.shoot)
        return read_camera_now(self.shoot, self.camera, everybody.statuses)


@pytest.fixture
def codes(shoot: Shoot, tmp_path: Path) -> dict[str, str]:
    """Three people who have arrived and one who has not; their codes by name."""
    listed = tmp_path / "list.csv"
    listed.write_text("key,name\n1,Ana Horvat\n2,Bo Lind\n3,Zoë Kern\n4,Imogen Pym\n", encoding="utf-8")
    load_list(shoot, listed)
    for key in "123":
        check_in(shoot, key)
    with shoot.reading() as session:
        return {person.name: person.code for person in read_people(session)}


@pytest.fixture
def roll(shoot: Shoot) -> Roll:
    return Roll(shoot)


def told(now: CameraNow) -> dict[int, list[WarningKind]]:
    """The kinds of warnings by frame, of those that have any."""
    frames = (frame for run in now.runs for frame in run.frames)
    return {frame.id: [alarm.kind for alarm in frame.warnings] for frame in frames if frame.warnings}


def texts(now: CameraNow) -> list[str]:
    return [alarm.text for run in now.runs for frame in run.frames for alarm in frame.warnings]


def test_whoever_holds_the_last_slate_is_on_and_the_frames_are_theirs(
    roll: Roll, codes: dict[str, str]
) -> None:
    roll.run(codes["Ana Horvat"])
    roll.run(codes["Bo Lind"], portraits=3)
    now = roll.now()
    assert [run.portraits for run in now.runs] == [4, 3]
    assert now.person == now.runs[-1].person != now.runs[0].person
    assert now.people == {run.person for run in now.runs}
    assert told(now) == {}


def test_a_slate_alone_puts_somebody_on(roll: Roll, codes: dict[str, str]) -> None:
    roll.run(codes["Ana Horvat"])
    roll.frame(codes["Bo Lind"])
    now = roll.now()
    assert now.runs[-1].portraits == 0
    assert now.person == now.runs[-1].person is not None


def test_nobody_is_on_while_no_frame_has_come(roll: Roll) -> None:
    now = roll.now()
    assert now.person is None
    assert now.newest is None
    assert now.lone_slate(1000.0) is None


def test_the_same_slate_twice_in_a_row_is_one_run(roll: Roll, codes: dict[str, str]) -> None:
    roll.frame(codes["Ana Horvat"])
    roll.run(codes["Ana Horvat"])
    now = roll.now()
    assert len(now.runs) == 1
    assert told(now) == {}


def test_frames_without_a_slate_before_them_are_told_once(roll: Roll, codes: dict[str, str]) -> None:
    first, _, slate = roll.frame(), roll.frame(), roll.run(codes["Ana Horvat"])
    now = roll.now()
    assert told(now) == {first: [WarningKind.NO_SLATE]}
    assert now.runs[0].person is None
    assert now.runs[0].doubt == "no slate before it"
    assert now.runs[1].first == slate[0]


def test_a_slate_that_does_not_read_is_told_and_so_are_the_frames_after_it(
    roll: Roll, codes: dict[str, str]
) -> None:
    roll.run(codes["Ana Horvat"])
    roll.pause(30)
    unread, portrait = roll.frame(unread=True), roll.frame()
    now = roll.now()
    assert told(now) == {unread: [WarningKind.UNREAD], portrait: [WarningKind.NO_SLATE]}
    assert now.person is None


def test_another_shoots_slate_and_one_that_is_nobodys(roll: Roll) -> None:
    theirs, nobodys = new_code("KWRT", ()), new_code(roll.shoot.mark, ())
    one, _, other = roll.frame(theirs), roll.frame(), roll.frame(nobodys)
    found = told(roll.now())
    assert found[one] == [WarningKind.OTHER_SHOOT]
    assert found[other] == [WarningKind.NOBODY]


def test_a_slate_of_somebody_who_was_not_checked_in(roll: Roll, codes: dict[str, str]) -> None:
    slate = roll.run(codes["Imogen Pym"])[0]
    assert told(roll.now()) == {slate: [WarningKind.NOT_ARRIVED]}
    check_in(roll.shoot, "4")
    assert told(roll.now()) == {}


def test_a_slate_of_somebody_shot_before_on_this_camera(roll: Roll, codes: dict[str, str]) -> None:
    roll.run(codes["Ana Horvat"])
    roll.run(codes["Bo Lind"])
    again = roll.run(codes["Ana Horvat"])[0]
    now = roll.now()
    assert told(now) == {again: [WarningKind.SHOT_BEFORE]}
    assert texts(now) == ["Ana Horvat has been shot already: 4 frames."]


def test_a_slate_of_somebody_shot_before_on_another_camera(
    shoot: Shoot, roll: Roll, codes: dict[str, str]
) -> None:
    roll.run(codes["Ana Horvat"], portraits=5)
    match_now(shoot)
    other = Roll(shoot, "B")
    again = other.run(codes["Ana Horvat"])[0]
    assert texts(other.now()) == ["Ana Horvat has been shot already: 5 frames."]
    assert told(roll.now()) == {}  # there she came first
    assert again


def test_a_tail_slate_closes_its_run_and_is_no_second_one(roll: Roll, codes: dict[str, str]) -> None:
    roll.run(codes["Ana Horvat"])
    roll.frame(codes["Ana Horvat"], turned=180)
    now = roll.now()
    assert len(now.runs) == 1
    assert told(now) == {}
    assert now.lone_slate(1000.0) is None


def test_no_frames_after_a_slate_is_told_when_the_next_one_comes(roll: Roll, codes: dict[str, str]) -> None:
    alone = roll.frame(codes["Ana Horvat"])
    roll.run(codes["Bo Lind"])
    now = roll.now()
    assert told(now) == {alone: [WarningKind.NO_FRAMES]}
    assert "Ana Horvat" in texts(now)[0]


def test_a_slate_that_did_not_read_is_rightly_shot_again_at_once(roll: Roll, codes: dict[str, str]) -> None:
    unread = roll.frame(unread=True)
    assert roll.now().lone_slate(600.0) is None
    roll.run(codes["Ana Horvat"])
    assert told(roll.now()) == {unread: [WarningKind.UNREAD]}


def test_no_frames_after_a_slate_is_told_after_a_while(roll: Roll, codes: dict[str, str]) -> None:
    roll.frame(codes["Ana Horvat"])
    now = roll.now()
    assert now.lone_slate(5.0) is None
    late = now.lone_slate(600.0)
    assert late is not None
    assert late.kind is WarningKind.NO_FRAMES
    roll.frame()
    assert roll.now().lone_slate(600.0) is None


def test_a_dark_frame_a_soft_one_and_a_drifted_backdrop(roll: Roll, codes: dict[str, str]) -> None:
    roll.run(codes["Ana Horvat"], portraits=10)
    dark = roll.frame(brightness=0.05)
    soft = roll.frame(sharpness=0.02)
    drifted = roll.frame(green=20.0)
    assert told(roll.now()) == {
        dark: [WarningKind.DARK],
        soft: [WarningKind.SOFT],
        drifted: [WarningKind.BACKDROP],
    }


def test_missing_counters_and_a_damaged_frame(roll: Roll, codes: dict[str, str]) -> None:
    roll.run(codes["Ana Horvat"])
    jumped = roll.frame(skip=2)
    damaged = roll.frame(trouble="the picture is damaged")
    found = told(roll.now())
    assert found[jumped] == [WarningKind.COUNTER]
    assert found[damaged] == [WarningKind.DAMAGED]


def test_a_raw_that_waits_for_its_jpeg_is_not_damaged(roll: Roll, codes: dict[str, str]) -> None:
    roll.run(codes["Ana Horvat"])
    roll.frame(trouble=NOT_LOOKED_AT)
    assert told(roll.now()) == {}


def test_from_where_somebody_else_may_have_stepped_in_is_told(roll: Roll, codes: dict[str, str]) -> None:
    for name in ("Ana Horvat", "Bo Lind"):
        roll.run(codes[name])
    roll.frame()
    roll.pause(300)
    stepped_in = roll.frame()
    now = roll.now()
    assert told(now) == {stepped_in: [WarningKind.NO_SLATE]}
    assert texts(now)[0].startswith("No name from here on: a pause of 302 s")
    assert now.person is None


def test_frames_set_aside_are_a_run_of_their_own(roll: Roll, codes: dict[str, str]) -> None:
    roll.run(codes["Ana Horvat"])
    test = roll.frame()
    roll.frame()
    with roll.shoot.writing() as session:
        add_event(session, EventKind.SET_ASIDE, roll.shoot.now(), frame_id=test)
    now = roll.now()
    assert [(run.person is None, run.portraits) for run in now.runs] == [(False, 4), (True, 1), (False, 1)]
    assert now.runs[1].doubt == "set aside"


def test_cameras_come_by_their_labels_with_their_newest_frame(shoot: Shoot, codes: dict[str, str]) -> None:
    assert cameras_now(shoot) == []
    second, first = Roll(shoot, "B"), Roll(shoot, "A")
    second.run(codes["Ana Horvat"])
    newest = first.run(codes["Bo Lind"])[-1]
    cameras = cameras_now(shoot)
    assert [camera.label for camera in cameras] == ["A", "B"]
    assert cameras[0].newest == newest
    Roll(shoot, "C")  # nothing came from it yet
    assert len(cameras_now(shoot)) == 2
