"""Watching a folder: every frame is taken in, once, whole, as it lands."""

from __future__ import annotations

import random
import shutil
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from queue import Empty, SimpleQueue
from threading import Event, Thread

import pytest
from PIL import Image
from sqlmodel import select

from onsite.core.errors import Problem
from onsite.frames import watch_folder as watching
from onsite.frames import watched_folder_changes
from onsite.frames.folder_watch_events import (
    FileIncomplete,
    FileRefused,
    FolderBack,
    FolderGone,
    FramesLanded,
    FrameTroubled,
    WatchEvent,
    WatchReady,
)
from onsite.frames.ingest import ingest
from onsite.frames.watch_folder import watch_folder
from onsite.store.schema import Camera, File, Frame
from onsite.store.shoot import Shoot
from tests.frames.pictures import jpeg, raw
from tests.patience import PATIENCE


class Watching:
    """A watch in its thread, and what it tells."""

    def __init__(self, shoot: Shoot, folder: Path, **how: object) -> None:
        self.told: list[WatchEvent] = []
        self._queue: SimpleQueue[WatchEvent] = SimpleQueue()
        self._stop = Event()
        how = {"stop": self._stop, "tell": self._queue.put, **how}
        self._thread = Thread(target=watch_folder, args=(shoot, folder), kwargs=how)
        self._thread.start()

    def until(self, wanted: Callable[[WatchEvent], bool]) -> WatchEvent:
        """The next thing told that is wanted."""
        give_up = time.monotonic() + PATIENCE
        while True:
            try:
                what = self._queue.get(timeout=max(give_up - time.monotonic(), 0))
            except Empty:
                raise AssertionError(f"not told; before it: {self.told}") from None
            self.told.append(what)
            if wanted(what):
                return what

    def until_a(self, kind: type[WatchEvent]) -> WatchEvent:
        return self.until(lambda what: isinstance(what, kind))

    def until_frames(self, count: int) -> None:
        """Until so many frames have landed since the last call."""
        landed = 0
        while landed < count:
            what = self.until_a(FramesLanded)
            assert isinstance(what, FramesLanded)
            landed += len(what.frame_ids)
        assert landed == count

    def end(self) -> list[WatchEvent]:
        """All that was told."""
        self._stop.set()
        self._thread.join(PATIENCE)
        assert not self._thread.is_alive()
        while not self._queue.empty():
            self.told.append(self._queue.get())
        return self.told


Start = Callable[..., Watching]


@pytest.fixture(autouse=True)
def _in_a_hurry(monkeypatch: pytest.MonkeyPatch) -> None:
    """What takes seconds on a real day takes less in these tests."""
    for name, seconds in (("_GONE_SECONDS", 0.2), ("_AGAIN_SECONDS", 0.3), ("_LIST_SECONDS", 0.5)):
        monkeypatch.setattr(watching, name, seconds)
    monkeypatch.setitem(watched_folder_changes.SECONDS, watched_folder_changes.FileEnding.UNKNOWN, 0.6)


@pytest.fixture
def tether(tmp_path: Path) -> Path:
    folder = tmp_path / "tether"
    folder.mkdir()
    return folder


@pytest.fixture(params=[True, False], ids=["events", "clock"])
def start(request: pytest.FixtureRequest, shoot: Shoot, tether: Path) -> Iterator[Start]:
    """Starts a watch of the tether folder and waits until it has caught up."""
    begun: list[Watching] = []

    def begin(ready: bool = True, **how: object) -> Watching:
        begun.append(Watching(shoot, tether, **{"by_events": request.param, **how}))
        if ready:
            begun[-1].until_a(WatchReady)
        return begun[-1]

    yield begin
    for one in begun:
        one.end()


def frames(shoot: Shoot) -> list[str]:
    with shoot.reading() as session:
        return sorted(session.exec(select(Frame.name)))


def files(shoot: Shoot) -> list[tuple[int, str]]:
    with shoot.reading() as session:
        return sorted((file.frame_id, file.name) for file in session.exec(select(File)))


def content(number: int) -> bytes:
    """A JPEG of some size."""
    import io

    data = io.BytesIO()
    Image.frombytes("RGB", (300, 200), random.Random(number).randbytes(180_000)).save(data, "JPEG")
    return data.getvalue()


def test_what_lies_there_and_what_lands(shoot: Shoot, tether: Path, start: Start) -> None:
    jpeg(tether / "IMG_0001.JPG", 1)
    one = start()
    assert frames(shoot) == ["IMG_0001"]
    jpeg(tether / "IMG_0002.JPG", 2)
    one.until_frames(1)
    (tether / "DCIM" / "100ABC").mkdir(parents=True)
    jpeg(tether / "DCIM" / "100ABC" / "IMG_0003.JPG", 3)
    one.until_frames(1)
    assert frames(shoot) == ["IMG_0001", "IMG_0002", "IMG_0003"]


def test_a_folder_watched_again_tells_nothing_twice(shoot: Shoot, tether: Path, start: Start) -> None:
    for number in range(3):
        jpeg(tether / f"IMG_000{number}.JPG", number)
    ingest(shoot, [tether])
    first = start()
    jpeg(tether / "IMG_0007.JPG", 7)
    first.until_frames(1)
    first.end()
    assert start().end() == [WatchReady()]
    assert len(files(shoot)) == 4


def test_the_camera_is_the_one_that_ingest_would_find(shoot: Shoot, tether: Path, start: Start) -> None:
    jpeg(tether / "DCIM" / "a.jpg", 1)
    ingest(shoot, [tether])
    one = start()
    jpeg(tether / "b.jpg", 2)
    one.until_frames(1)
    with shoot.reading() as session:
        assert len(session.exec(select(Camera)).all()) == 1


def test_a_file_that_grows_slowly_is_never_read_half(shoot: Shoot, tether: Path, start: Start) -> None:
    one = start()
    whole = content(1)
    with (tether / "IMG_0001.JPG").open("wb", buffering=0) as file:
        for part in range(10):
            file.write(whole[len(whole) * part // 10 : len(whole) * (part + 1) // 10])
            time.sleep(0.15)
    one.until_frames(1)
    told = one.end()
    assert [what for what in told if not isinstance(what, WatchReady | FramesLanded)] == [
        FileIncomplete(tether / "IMG_0001.JPG")
    ]
    with shoot.reading() as session:
        (frame,) = session.exec(select(Frame)).all()
        (file_,) = session.exec(select(File)).all()
    assert (frame.trouble, frame.width, file_.size) == ("", 300, len(whole))


def test_a_file_that_is_empty_for_long_is_waited_for(shoot: Shoot, tether: Path, start: Start) -> None:
    (tether / "IMG_0001.JPG").touch()
    one = start(ready=False)
    one.until_a(FileIncomplete)
    assert frames(shoot) == []
    jpeg(tether / "IMG_0001.JPG")
    one.until_frames(1)


def test_a_file_that_breaks_off_is_kept_and_told_in_the_end(
    tether: Path, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(watched_folder_changes.SECONDS, watched_folder_changes.FileEnding.CUT, 0.5)
    (tether / "IMG_0001.JPG").write_bytes(content(1)[:30_000])
    one = start(ready=False)
    trouble = one.until_a(FrameTroubled)
    assert isinstance(trouble, FrameTroubled)
    assert "damaged" in trouble.reason
    one.until_frames(1)


@pytest.mark.long
def test_a_raw_and_its_jpeg_are_one_frame_whichever_lands_first(
    shoot: Shoot, tether: Path, start: Start
) -> None:
    pytest.importorskip("rawpy", reason="the reader for raw files is not installed here")
    facts = {"taken": "2026:06:13 09:00:00", "serial": "42"}
    one = start()
    raw(tether / "DSC_0001.DNG", Image.new("RGB", (300, 200)), **facts)
    one.until_frames(1)
    jpeg(tether / "DSC_0001.JPG", model="Model One", **facts)
    one.until_frames(1)
    jpeg(tether / "DSC_0002.JPG", 2, model="Model One", **facts)
    one.until_frames(1)
    raw(tether / "DSC_0002.DNG", **facts)
    one.until_frames(1)
    assert len(frames(shoot)) == 2
    assert [frame for frame, _ in files(shoot)] == [1, 1, 2, 2]


def test_other_content_under_a_name_is_another_frame(shoot: Shoot, tether: Path, start: Start) -> None:
    jpeg(tether / "IMG_0001.JPG", 1)
    one = start()
    jpeg(tether / "IMG_0001.JPG", 2)
    one.until_frames(1)
    assert frames(shoot) == ["IMG_0001", "IMG_0001"]


def test_what_is_passed_over_and_what_is_refused(shoot: Shoot, tether: Path, start: Start) -> None:
    for name in (".IMG_0001.JPG", "~IMG_0001.JPG", ".parts/IMG_0001.JPG"):
        jpeg(tether / name)
    (tether / "IMG_0001.JPG.part").write_bytes(content(1))
    (tether / "letter.jpg").write_text("Dear choir")
    one = start(ready=False)
    refused = one.until_a(FileRefused)
    assert isinstance(refused, FileRefused)
    assert refused.path.name == "letter.jpg"
    (tether / "IMG_0001.JPG.part").rename(tether / "IMG_0001.JPG")
    one.until_frames(1)
    assert frames(shoot) == ["IMG_0001"]
    assert sum(isinstance(what, FileRefused) for what in one.end()) == 1


def test_hostile_names(shoot: Shoot, tether: Path, start: Start) -> None:
    one = start()
    names = ["line\nbreak", "\x1b[31mred", "Zoë's [bold] 100%", "'; DROP TABLE frame; --"]
    for number, name in enumerate(names):
        jpeg(tether / f"{name}.jpg", number)
    one.until_frames(4)
    assert set(frames(shoot)) == set(names)


def test_a_folder_that_disappears_and_returns(tether: Path, start: Start) -> None:
    jpeg(tether / "IMG_0001.JPG", 1)
    one = start()
    shutil.rmtree(tether)
    assert one.until_a(FolderGone) == FolderGone(tether)
    tether.mkdir()
    jpeg(tether / "IMG_0002.JPG", 2)
    assert one.until_a(FolderBack) == FolderBack(tether)
    one.until_frames(1)
    one.until_a(WatchReady)
    jpeg(tether / "IMG_0003.JPG", 3)
    one.until_frames(1)
    assert sum(isinstance(what, FolderGone) for what in one.end()) == 1


def test_a_folder_that_is_not_there_yet(tether: Path, start: Start) -> None:
    tether.rmdir()
    one = start(ready=False)
    one.until_a(FolderGone)
    tether.mkdir()
    one.until_a(FolderBack)
    jpeg(tether / "IMG_0001.JPG", 1)
    one.until_frames(1)


def test_a_file_that_cannot_be_read_for_a_while(
    tether: Path, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    look = watching.ending_of
    locked = Event()
    locked.set()

    def refuse(path: Path, *more: object) -> object:
        if locked.is_set():
            raise PermissionError(13, "Permission denied")
        return look(path, *more)  # type: ignore[arg-type]

    monkeypatch.setattr(watching, "ending_of", refuse)
    jpeg(tether / "IMG_0001.JPG", 1)
    one = start(ready=False)
    refused = one.until_a(FileRefused)
    assert isinstance(refused, FileRefused)
    assert "Permission denied" in refused.reason
    locked.clear()
    one.until_frames(1)


def test_a_database_that_cannot_be_written_for_a_while(
    tether: Path, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    save = watching.ingest_files
    full = Event()
    full.set()

    def fail(*all_: object, **more: object) -> None:
        if full.is_set():
            raise Problem("The disk is full: nothing of this was saved.")
        save(*all_, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(watching, "ingest_files", fail)
    one = start()
    jpeg(tether / "IMG_0001.JPG", 1)
    trouble = one.until_a(FrameTroubled)
    assert isinstance(trouble, FrameTroubled)
    assert "full" in trouble.reason
    full.clear()
    one.until_frames(1)
    assert sum(isinstance(what, FrameTroubled) for what in one.end()) == 1


def test_copies_are_made_and_made_again_when_they_failed(
    shoot: Shoot, tether: Path, start: Start, tmp_path: Path
) -> None:
    one = start(copy_to=[tmp_path / "copies"])
    jpeg(tether / "IMG_0001.JPG", 1)
    one.until_frames(1)
    assert (tmp_path / "copies" / "IMG_0001.JPG").read_bytes() == (tether / "IMG_0001.JPG").read_bytes()
    shutil.rmtree(tmp_path / "copies")
    (tmp_path / "copies").touch()
    jpeg(tether / "IMG_0002.JPG", 2)
    trouble = one.until_a(FrameTroubled)
    assert isinstance(trouble, FrameTroubled)
    assert "no copy" in trouble.reason
    (tmp_path / "copies").unlink()
    give_up = time.monotonic() + PATIENCE
    while not (tmp_path / "copies" / "IMG_0002.JPG").is_file():
        assert time.monotonic() < give_up
        time.sleep(0.02)
    assert len(frames(shoot)) == 2


def test_copies_that_are_missing_at_the_start_are_made(
    shoot: Shoot, tether: Path, start: Start, tmp_path: Path
) -> None:
    jpeg(tether / "IMG_0001.JPG", 1)
    ingest(shoot, [tether])
    assert start(copy_to=[tmp_path / "copies"]).end() == [WatchReady()]
    assert (tmp_path / "copies" / "IMG_0001.JPG").read_bytes() == (tether / "IMG_0001.JPG").read_bytes()


def test_a_folder_whose_name_differs_by_case_is_another_one(shoot: Shoot, tether: Path, start: Start) -> None:
    other = tether.with_name(tether.name.upper())
    if other.exists():
        pytest.skip("names differing by case are one name here")
    jpeg(other / "IMG_0001.JPG", 1)
    ingest(shoot, [other])
    one = start()
    jpeg(tether / "IMG_0001.JPG", 2)
    one.until_frames(1)


@pytest.mark.long
def test_many_files_at_once(shoot: Shoot, tether: Path, start: Start) -> None:
    one = start()
    for number in range(60):
        jpeg(tether / f"IMG_{number:04}.JPG", number)
    one.until_frames(60)
    assert len(set(files(shoot))) == 60


def test_the_previews_of_the_shoot_are_no_frames(shoot: Shoot) -> None:
    jpeg(shoot.folder / "tether" / "IMG_0001.JPG", 1)
    one = Watching(shoot, shoot.folder)
    one.until_frames(1)
    one.until_a(WatchReady)
    jpeg(shoot.folder / "tether" / "IMG_0002.JPG", 2)
    one.until_frames(1)
    time.sleep(1)
    one.end()
    assert frames(shoot) == ["IMG_0001", "IMG_0002"]
