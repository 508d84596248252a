"""Frames that land while the server of a shoot is gone wait in their folder, and are taken in once."""

from __future__ import annotations

from pathlib import Path
from threading import Event, Thread
from time import monotonic, sleep

import pytest
from sqlmodel import select

from onsite.frames.watch_folder import watch_folder
from onsite.store.schema import Frame
from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot
from onsite.tui.background_folder_watch import FolderWatching
from tests.frames.pictures import jpeg
from tests.store.server import new_database, started, stopped, url_of

pytestmark = pytest.mark.long

PATIENCE = 120.0


def frames(shoot: Shoot) -> list[str]:
    with shoot.reading() as session:
        return sorted(session.exec(select(Frame.name)))


def until(shoot: Shoot, names: list[str]) -> None:
    begun = monotonic()
    while frames(shoot) != names:
        assert monotonic() - begun < PATIENCE, frames(shoot)
        sleep(0.1)


@pytest.mark.parametrize("by", ["command", "set"])
def test_frames_wait_in_their_folder_while_the_server_is_gone(tmp_path: Path, by: str) -> None:
    server = started()
    shoot = create_shoot(tmp_path / "day", Settings("Day", store=new_database(url_of(server), "day")), "AAAA")
    tether = tmp_path / "tether"
    jpeg(tether / "IMG_0001.JPG", 10)
    stop = Event()
    watching = FolderWatching(shoot, "set-A", lambda _: None, lambda _: None)
    thread = Thread(
        target=watch_folder, args=(shoot, tether, ""), kwargs={"stop": stop, "tell": lambda _: None}
    )
    watching.start(tether) if by == "set" else thread.start()
    try:
        until(shoot, ["IMG_0001"])
        with stopped(server):
            jpeg(tether / "IMG_0002.JPG", 40)
            jpeg(tether / "IMG_0003.JPG", 70)
            sleep(6)
        until(shoot, ["IMG_0001", "IMG_0002", "IMG_0003"])
        jpeg(tether / "IMG_0004.JPG", 100)
        until(shoot, ["IMG_0001", "IMG_0002", "IMG_0003", "IMG_0004"])
    finally:
        stop.set()
        watching.close()
        if by == "command":
            thread.join(PATIENCE)
        shoot.engine.dispose()
        server.cleanup()
