"""Whatever fails off the thread that draws is told on the screen, and goes on when its cause is gone."""

from __future__ import annotations

import re
import sqlite3
import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from onsite.checkin import station_door
from onsite.core.errors import NoServer, Problem
from onsite.frames import watch_folder as watch_module
from onsite.frames.ingest import ingest
from onsite.status.status_cache import StatusCache
from onsite.store.events import newest_event_id
from onsite.store.shoot import Shoot
from onsite.tui import app as app_module
from onsite.tui import background_updates, background_workers, thread_retries
from onsite.tui.desk import desk_screen
from onsite.tui.dialogs import full_screen
from onsite.tui.dialogs import person_history_screen as history_module
from onsite.tui.door import door_view
from onsite.tui.reconcile import camera_strips, end_of_day_screen, reconcile_view
from onsite.tui.set.set_screen_reader import SetReader
from onsite.tui.thread_retries import RetryState, worker_problem
from onsite.tui.widgets import frame_picture, pictures_side_by_side
from tests.tiers import long_after
from tests.tui.driving import opened, screen_text, told, typed, until

TUI = Path(background_workers.__file__).parent


@pytest.fixture(autouse=True)
def quickly(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(thread_retries, "FIRST_PAUSE", 0.05)


class Telling(list[str]):
    """What the screens are told."""

    def has(self, text: str) -> Callable[[], bool]:
        return lambda: any(text in one for one in self)


@pytest.fixture
def heard(monkeypatch: pytest.MonkeyPatch) -> Telling:
    """All that stood in the line of answers, one after the other."""
    telling, tell = Telling(), app_module.OnsiteApp.show_message

    def listening(self: app_module.OnsiteApp, said: str | Problem) -> None:
        telling.append(str(said))
        tell(self, said)

    monkeypatch.setattr(app_module.OnsiteApp, "show_message", listening)
    return telling


class Broken:
    """A function that fails until it is mended."""

    def __init__(self, works: Callable[..., Any]) -> None:
        self.works, self.mended, self.failures = works, False, 0

    def __call__(self, *arguments: Any, **named: Any) -> Any:
        if self.mended:
            return self.works(*arguments, **named)
        self.failures += 1
        raise KeyError("lost")

    def __get__(self, instance: Any, _: Any = None) -> Any:
        """As a method."""
        return self if instance is None else lambda *a, **named: self(instance, *a, **named)


@dataclass(frozen=True)
class Case:
    """A worker: where it is met, what in it fails, and the keys that start it."""

    doing: str
    mode: str
    owner: Any
    name: str
    keys: tuple[str, ...] = ()


CASES = (
    Case("Looking for what has happened in the shoot", "door", StatusCache, "catch_up"),
    Case("Matching the frames", "reconcile", background_updates, "update_match_in_process", ("x",)),
    Case("Counting who waits", "door", door_view, "waiting_people", ("f2", "f1")),
    Case("Reading the day", "reconcile", reconcile_view, "read_day_lanes", ("x",)),
    Case("Finding pictures", "reconcile", pictures_side_by_side, "preview_place_of", ("right",)),
    Case("Finding the picture", "reconcile", full_screen, "preview_place_of", ("f",)),
    Case("Reading the picture", "reconcile", frame_picture, "_read", ("f",)),
    Case("Reading the lists", "reconcile", end_of_day_screen, "read_end_of_day_lists", ("l",)),
    Case("Reading the set", "set", SetReader, "read"),
    Case("Reading who waits", "desk", desk_screen, "open_work", ("f1", "f10")),
    Case("Reading the history", "board", history_module, "history", ("enter",)),
)


@pytest.fixture
def small(choirs: Shoot, tmp_path: Path) -> Shoot:
    """The choirs with three frames that no slate names."""
    folder = tmp_path / "card"
    folder.mkdir()
    for number in range(1, 4):
        Image.new("RGB", (96, 64), (40 * number, 90, 90)).save(folder / f"IMG_{number:04}.JPG")
    ingest(choirs, [folder], "A")
    return choirs


@pytest.mark.long
@pytest.mark.parametrize("case", long_after(3, CASES), ids=[case.doing for case in CASES])
async def test_a_worker_that_fails_says_so_once_and_works_on_when_the_cause_is_gone(
    small: Shoot, case: Case, heard: Telling, monkeypatch: pytest.MonkeyPatch
) -> None:
    broken = Broken(getattr(case.owner, case.name))
    async with opened(small, case.mode, (120, 40)) as pilot:
        await until(pilot, lambda: pilot.app.screen.query("*"))
        if case.mode == "reconcile":
            await until(pilot, lambda: camera_strips.READING not in screen_text(pilot))
        monkeypatch.setattr(case.owner, case.name, broken)
        if case.owner is StatusCache:
            _confirm(small.folder / "onsite.db")
        await pilot.press(*case.keys)
        failed = f"{case.doing} has failed: KeyError 'lost'."
        await until(pilot, heard.has(failed))
        await until(pilot, lambda: broken.failures >= 3)
        assert sum(failed in one for one in heard) == 1
        assert "It is tried again by itself" in next(one for one in heard if failed in one)
        broken.mended = True
        await until(pilot, heard.has(f"{case.doing} works again."))
        assert pilot.app.is_running


def test_a_copy_that_fails_is_told_as_a_copy_and_a_server_that_is_gone_by_others(
    choirs: Shoot, monkeypatch: pytest.MonkeyPatch
) -> None:
    telling, worked = Telling(), threading.Event()
    outcomes = iter([NoServer("gone"), OSError("no space left"), NoServer("gone")])

    def copied(_: Shoot) -> None:
        if error := next(outcomes, None):
            raise error
        worked.set()

    monkeypatch.setattr(background_updates, "save_local_copy", copied)
    monkeypatch.setattr(background_updates, "update_match_in_process", lambda *_: None)
    monkeypatch.setattr(background_updates, "_BACKUP_LOOK", 0.01)
    live = background_updates.BackgroundUpdates(
        choirs, StatusCache(), lambda *_: None, lambda said: telling.append(str(said))
    )
    live.start()
    assert worked.wait(10)
    live.stop()
    assert telling == [
        "Keeping a copy for when the server is gone has failed: OSError no space left.\n"
        "It is tried again by itself; Ctrl+Q closes the screens.",
        "Keeping a copy for when the server is gone works again.",
    ]


def _confirm(database: Path) -> None:
    """Something happens at another station, in another program."""
    with sqlite3.connect(database) as store:
        store.execute(
            "insert into event (at, recorded, station, kind, person_id, details)"
            " values ('2026-06-13 08:00:00', '2026-06-13 08:00:00', 'door-2', 'confirmed', 1,"
            ' \'{"name": "Ana Horvat"}\')'
        )
    store.close()


@pytest.mark.long
async def test_a_damaged_page_is_told_and_the_screens_go_on_once_it_is_whole(
    choirs: Shoot, heard: Telling
) -> None:
    database = choirs.folder / "onsite.db"
    async with opened(choirs) as pilot:
        with sqlite3.connect(database) as store:
            store.execute("pragma wal_checkpoint(truncate)")
            (root,) = store.execute("select rootpage from sqlite_master where name = 'person'").fetchone()
            (size,) = store.execute("pragma page_size").fetchone()
        store.close()
        with database.open("r+b") as file:
            file.seek((root - 1) * size)
            whole = file.read(size)
            file.seek((root - 1) * size)
            file.write(b"\xff" * size)
        _confirm(database)
        await until(pilot, heard.has("The shoot's database is damaged: table person, page"))
        assert any(step in screen_text(pilot) for step in ("onsite restore 1", "go on in the last copy"))
        await typed(pilot, "horvat")  # what is known is still found
        assert "Ana Horvat" in screen_text(pilot)
        with database.open("r+b") as file:
            file.seek((root - 1) * size)
            file.write(whole)
        await until(pilot, heard.has("Looking for what has happened in the shoot works again."))
        _confirm(database)
        with choirs.reading() as session:
            newest = newest_event_id(session)
        await until(pilot, lambda: pilot.app.status_cache.newest == newest)


@pytest.mark.long
async def test_watching_a_folder_goes_on_after_an_error(
    choirs: Shoot, tmp_path: Path, heard: Telling, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "tether"
    folder.mkdir()
    broken = Broken(watch_module.watch_folder)
    monkeypatch.setattr(watch_module, "watch_folder", broken)
    async with opened(choirs, "set") as pilot:
        pilot.app.watching.start(folder)
        await until(pilot, heard.has(f"Watching {folder} has failed: KeyError 'lost'."))
        await until(pilot, lambda: broken.failures >= 3)
        assert sum("has failed" in one for one in heard) == 1
        broken.mended = True
        await until(pilot, heard.has(f"Watching {folder} works again."))
        Image.new("RGB", (96, 64)).save(folder / "IMG_0001.JPG")
        await until(pilot, lambda: pilot.app.watching.state.frame is not None)


@pytest.mark.long
async def test_a_write_that_fails_is_told_and_the_screens_stay(
    choirs: Shoot, monkeypatch: pytest.MonkeyPatch
) -> None:
    broken = Broken(station_door.check_in_person)
    monkeypatch.setattr(station_door, "check_in_person", broken)
    async with opened(choirs) as pilot:
        await typed(pilot, "bo lind")
        await pilot.press("enter")
        await until(pilot, lambda: "Saving this has failed: KeyError 'lost'." in told(pilot))
        assert "Nothing was saved. Do it again." in told(pilot)
        broken.mended = True
        await typed(pilot, "bo lind")
        await pilot.press("enter")
        await until(pilot, lambda: "Bo Lind arrived" in told(pilot))


def test_an_error_is_told_once_and_the_pause_grows_up_to_a_bound() -> None:
    said: list[str] = []
    attempts = RetryState("Reading", lambda what: said.append(str(what)))
    pauses = [attempts.failed(KeyError("lost")) for _ in range(12)]
    assert pauses == sorted(pauses)
    assert pauses[1] == 2 * pauses[0]
    assert pauses[-1] == pauses[-2] == thread_retries.LONGEST_PAUSE
    attempts.failed(ValueError("another"))
    attempts.worked()
    attempts.worked()
    assert [one.partition(".")[0] for one in said] == [
        "Reading has failed: KeyError 'lost'",
        "Reading has failed: ValueError another",
        "Reading works again",
    ]
    assert attempts.failed(KeyError("lost")) == thread_retries.FIRST_PAUSE


def test_a_problem_keeps_its_own_words() -> None:
    told_as = worker_problem(
        "Reading", Problem("The disk is full.", "Free some space."), "It is tried again."
    )
    assert (told_as.what, told_as.remedy) == ("The disk is full.", "Free some space. It is tried again.")


def test_every_thread_of_the_screens_tells_of_its_errors() -> None:
    """Textual's own `work` is used in one place, and for commands, whose errors are their result; the other
    threads count their attempts."""
    for path in TUI.rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        if path.name not in ("background_workers.py", "command_run.py"):
            assert not re.search(r"@work\b|run_worker|call_from_thread", text), path
        if "threading.Thread(" in text:
            assert "RetryState(" in text, path
