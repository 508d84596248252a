"""The command `onsite watch`: reads frames as they land, until Ctrl-C."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from typer import Argument, Option

from onsite.cli.common_options import common_options, open_chosen_shoot
from onsite.cli.output import print_answer_with_names, print_text

if TYPE_CHECKING:
    from datetime import datetime

    from onsite.frames.folder_watch_events import WatchEvent
    from onsite.reconcile.live_match import LiveFrame
    from onsite.slates.slate_verdict import SlateCounts
    from onsite.store.shoot import Shoot


def watch(
    folder: Annotated[
        Path, Argument(metavar="FOLDER", help="The folder that your tether program writes to.")
    ],
    camera: Annotated[str, Option(metavar="LABEL", help="The camera's name, such as A.")] = "",
    copy_to: Annotated[
        list[Path] | None, Option(metavar="DIR", help="Copy every file there, and compare the copy.")
    ] = None,
) -> None:
    """Read frames as they land in a folder, until Ctrl-C. Originals are never changed."""
    from onsite.core.errors import Problem
    from onsite.slates.slate_verdict import SlateCounts

    shoot = open_chosen_shoot()
    if not folder.is_dir():
        raise Problem(f"{folder} is not a folder.", "Name the folder that the tether program writes into.")
    reporter = _WatchReporter(shoot, SlateCounts.none())
    if not common_options.as_json:
        print_text(f"Watching {folder}. Ctrl-C ends it.")
    _until_interrupted(shoot, folder, camera, copy_to or [], reporter)
    print_answer_with_names(shoot, reporter.data(), reporter.summary)


def _until_interrupted(
    shoot: Shoot, folder: Path, camera: str, copy_to: list[Path], reporter: _WatchReporter
) -> None:
    """Watch in a thread, so that Ctrl-C never interrupts the writing of a frame."""
    from concurrent.futures import ThreadPoolExecutor
    from concurrent.futures import TimeoutError as NotYet
    from threading import Event

    from onsite.frames.watch_folder import watch_folder as watch_it

    stop = Event()
    with ThreadPoolExecutor(1, thread_name_prefix="watch") as pool:
        watching = pool.submit(watch_it, shoot, folder, camera, stop=stop, tell=reporter, copy_to=copy_to)
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
class _WatchReporter:
    """Prints a line for every watch event, and counts frames and slates."""

    shoot: Shoot
    verdicts: SlateCounts
    frames: int = 0
    slates: int = 0
    refused: list[dict[str, str]] = field(default_factory=list)
    troubled: list[dict[str, str]] = field(default_factory=list)
    seen: set[int] = field(default_factory=set)

    def __call__(self, what: WatchEvent) -> None:
        from onsite.frames import folder_watch_events

        match what:
            case folder_watch_events.FramesLanded(frame_ids):
                self._landed(frame_ids)
            case folder_watch_events.FileIncomplete(path):
                self._say(f"  waiting for {path}: it is still being written")
            case folder_watch_events.FileRefused(path, reason):
                self.refused.append({"file": str(path), "reason": reason})
                self._say(f"  refused: {path}: {reason}")
            case folder_watch_events.FrameTroubled(path, reason):
                self.troubled.append({"file": str(path), "reason": reason})
                self._say(f"  trouble: {path}: {reason}")
            case folder_watch_events.FolderGone(gone):
                self._say(f"  {gone} has gone; it is looked for every second")
            case folder_watch_events.FolderBack(back):
                self._say(f"  {back} is back")
            case folder_watch_events.WatchReady():
                self._say("  all that lay there is read")

    def summary(self) -> None:
        if self.verdicts.text:
            print_text(f"Slates: {self.verdicts.text}.")
        print_text(f"{self.frames} frames landed, {self.slates} with a slate.")

    def data(self) -> dict[str, Any]:
        return {
            "frames": self.frames,
            "slates": self.slates,
            "verdicts": self.verdicts.data(),
            "refused": self.refused,
            "troubled": self.troubled,
        }

    def _landed(self, frame_ids: tuple[int, ...]) -> None:
        from onsite.core.file_counter import counter_text
        from onsite.frames.folder_watch_events import landed_frames
        from onsite.reconcile.live_match import live_frames_of
        from onsite.reconcile.measured_clocks import measured_in

        new = [frame_id for frame_id in frame_ids if frame_id not in self.seen]
        self.seen.update(new)
        status = {} if common_options.as_json else live_frames_of(self.shoot, new)
        for frame in landed_frames(self.shoot, new):
            self.frames += 1
            self.slates += frame.is_slate
            self.verdicts.add(frame.verdict)
            time = _time_of(status.get(frame.id), frame.taken)
            counter = frame.name if frame.counter is None else counter_text(frame.counter)
            self._say(f"{time} {frame.camera} {counter} {frame.slate}".rstrip())
        for clock in measured_in(self.shoot, new):
            self._say(f"  camera {clock.label}: clock {clock.text}")

    def _say(self, text: str) -> None:
        if not common_options.as_json:
            print_text(text)


def _time_of(frame: LiveFrame | None, taken: datetime | None) -> str:
    """A frame's shoot time, with the camera's time beside it where that clock is wrong."""
    time = frame.shoot_time if frame is not None else taken
    if time is None:
        return "--:--:--"
    text = f"{time:%H:%M:%S}"
    own = frame.camera_time if frame is not None else None
    return f"{text} ({own:%H:%M:%S} by its clock)" if own is not None else text
