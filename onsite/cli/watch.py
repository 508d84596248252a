"""`onsite watch`: frames are read in as they land, until Ctrl-C."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from typer import Argument, Option

from onsite.cli.options import asked, the_shoot
from onsite.cli.output import answer_with_names, say

if TYPE_CHECKING:
    from datetime import datetime

    from onsite.frames.watched import Watched
    from onsite.slate.verdict import SlateCount
    from onsite.store.shoot import Shoot
    from onsite.wrap.live import LiveFrame


def watch(
    folder: Annotated[Path, Argument(metavar="FOLDER", help="Where the tether program writes.")],
    camera: Annotated[str, Option(metavar="LABEL", help="What the camera is called.")] = "",
    copy_to: Annotated[
        list[Path] | None, Option(metavar="DIR", help="A verified copy of every file there.")
    ] = None,
) -> None:
    """Reads frames as they land in a folder, until Ctrl-C; originals are never changed."""
    from onsite.problems import Problem
    from onsite.slate.verdict import SlateCount

    shoot = the_shoot()
    if not folder.is_dir():
        raise Problem(f"{folder} is not a folder.", "Name the folder that the tether program writes into.")
    told = _Told(shoot, SlateCount.none())
    if not asked.as_json:
        say(f"Watching {folder}. Ctrl-C ends it.")
    _until_interrupted(shoot, folder, camera, copy_to or [], told)
    answer_with_names(shoot, told.data(), told.summary)


def _until_interrupted(shoot: Shoot, folder: Path, camera: str, copy_to: list[Path], told: _Told) -> None:
    """Watches in a thread, so that Ctrl-C never breaks into the writing of a frame."""
    from concurrent.futures import ThreadPoolExecutor
    from concurrent.futures import TimeoutError as NotYet
    from threading import Event

    from onsite.frames.watch import watch as watch_it

    stop = Event()
    with ThreadPoolExecutor(1, thread_name_prefix="watch") as pool:
        watching = pool.submit(watch_it, shoot, folder, camera, stop=stop, tell=told, copy_to=copy_to)
        try:
            while not watching.done():
                try:
                    watching.result(timeout=0.2)
                except NotYet:
                    continue
        except KeyboardInterrupt:
            stop.set()
        finally:
            stop.set()
        watching.result()


@dataclass(slots=True)
class _Told:
    """Prints a line for everything that is told, and counts."""

    shoot: Shoot
    verdicts: SlateCount
    frames: int = 0
    slates: int = 0
    refused: list[dict[str, str]] = field(default_factory=list)
    troubled: list[dict[str, str]] = field(default_factory=list)
    seen: set[int] = field(default_factory=set)

    def __call__(self, what: Watched) -> None:
        from onsite.frames import watched

        match what:
            case watched.Landed(frame_ids):
                self._landed(frame_ids)
            case watched.Waiting(path):
                self._say(f"  waiting for {path}: it is still being written")
            case watched.Refused(path, reason):
                self.refused.append({"file": str(path), "reason": reason})
                self._say(f"  refused: {path}: {reason}")
            case watched.Troubled(path, reason):
                self.troubled.append({"file": str(path), "reason": reason})
                self._say(f"  trouble: {path}: {reason}")
            case watched.Gone(gone):
                self._say(f"  {gone} has gone; it is looked for every second")
            case watched.Back(back):
                self._say(f"  {back} is back")
            case watched.Ready():
                self._say("  all that lay there is read")

    def summary(self) -> None:
        if self.verdicts.told:
            say(f"Slates: {self.verdicts.told}.")
        say(f"{self.frames} frames landed, {self.slates} with a slate.")

    def data(self) -> dict[str, Any]:
        return {
            "frames": self.frames,
            "slates": self.slates,
            "verdicts": self.verdicts.data(),
            "refused": self.refused,
            "troubled": self.troubled,
        }

    def _landed(self, frame_ids: tuple[int, ...]) -> None:
        from onsite.frames.landed import landed
        from onsite.wrap.live import live_of

        new = [frame_id for frame_id in frame_ids if frame_id not in self.seen]
        self.seen.update(new)
        standing = {} if asked.as_json else live_of(self.shoot, new)
        for frame in landed(self.shoot, new):
            self.frames += 1
            self.slates += frame.is_slate
            self.verdicts.add(frame.verdict)
            time = _time_of(standing.get(frame.id), frame.taken)
            counter = frame.name if frame.counter is None else f"{frame.counter:04}"
            self._say(f"{time} {frame.camera} {counter} {frame.slate}".rstrip())

    def _say(self, text: str) -> None:
        if not asked.as_json:
            say(text)


def _time_of(frame: LiveFrame | None, taken: datetime | None) -> str:
    """A frame's shoot time, with the camera's own beside it where its clock is wrong."""
    time = frame.shoot_time if frame is not None else taken
    if time is None:
        return "--:--:--"
    told = f"{time:%H:%M:%S}"
    own = frame.camera_time if frame is not None else None
    return f"{told} ({own:%H:%M:%S} by its clock)" if own is not None else told
