"""How long a 24-megapixel JPEG takes from its last byte in a watched folder until it is told.

    python -m tests.bench.bench_landing [LANDINGS [FRAMES_THERE]]

Draws 20 frames of the invented day at 6000 × 4000, fills the shoot with FRAMES_THERE made-up frames, and
has each file written into the watched folder in pieces, as a tether program does. What is told then is in the
database with its slate read and its preview written. Printed: the middle and the slowest of the times, beside
the bare decoding of the same file at half size on one core, and where the time goes.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from queue import SimpleQueue
from statistics import median
from threading import Event, Thread

from PIL import Image

from onsite.files.atomic_write import sha256_of
from onsite.frames.examine_frame import examine_file
from onsite.frames.find_frame_files import CandidateFile, FileKind
from onsite.frames.folder_watch_events import FramesLanded, WatchEvent, WatchReady
from onsite.frames.watch_folder import watch_folder
from onsite.frames.watched_folder_changes import BETWEEN_LOOKS
from onsite.store.schema import Camera, File, FilePlace, Frame
from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot
from tests.bench.bench_ingest import draw

PIECES = 8
BETWEEN_PIECES = 0.01  # seconds


def main(landings: int, there: int) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        sources = draw(folder / "card", landings)
        shoot = create_shoot(folder / "shoot", Settings("Bench", timezone="Europe/Vienna"), "3333")
        fill(shoot, there)
        for by_events in (True, False):
            tether = folder / f"tether {by_events}"
            tether.mkdir()
            report(
                "by events" if by_events else "by the clock", sources, land(shoot, tether, sources, by_events)
            )
            append_a_byte(sources)  # so that they are new again
        where_it_goes(sources[0])
        shoot.engine.dispose()


def land(shoot: Shoot, tether: Path, sources: list[Path], by_events: bool) -> list[float]:
    """Seconds from the last byte until it was told, for each file."""
    told: SimpleQueue[WatchEvent] = SimpleQueue()
    stop = Event()
    how = {"stop": stop, "tell": told.put, "by_events": by_events}
    thread = Thread(target=watch_folder, args=(shoot, tether), kwargs=how)
    thread.start()
    wait_for(told, WatchReady)
    times = []
    for number, source in enumerate(sources):
        time.sleep(0.3 + 0.137 * (number % 7))  # at any point of the watch's round
        write_in_pieces(tether / source.name, source.read_bytes())
        written = time.perf_counter()
        wait_for(told, FramesLanded)
        times.append(time.perf_counter() - written)
    stop.set()
    thread.join()
    return times


def wait_for(told: SimpleQueue[WatchEvent], kind: type[WatchEvent]) -> None:
    while not isinstance(told.get(timeout=60), kind):
        continue


def write_in_pieces(path: Path, content: bytes) -> None:
    step = len(content) // PIECES + 1
    with path.open("wb", buffering=0) as file:
        for start in range(0, len(content), step):
            file.write(content[start : start + step])
            if start + step < len(content):
                time.sleep(BETWEEN_PIECES)


def append_a_byte(files: list[Path]) -> None:
    for file in files:
        with file.open("ab") as stream:
            stream.write(b"\0")


def fill(shoot: Shoot, frames: int) -> None:
    """Made-up frames of another camera: only their number matters."""
    with shoot.writing() as session:
        session.add(Camera(label="Z", identity="made up"))
        session.flush()
        for number in range(1, frames + 1):
            session.add(
                Frame(camera_id=1, counter=number, name=f"_FCZ{number}", source="made up", look=bytes(192))
            )
        session.flush()
        for number in range(1, frames + 1):
            session.add(File(frame_id=number, name="", kind="jpeg", size=1, sha256=f"{number:064x}"))
        session.flush()
        for number in range(1, frames + 1):
            session.add(FilePlace(file_id=number, path=f"made up/{number}", size=1, mtime_ns=1, head=""))


def report(how: str, sources: list[Path], times: list[float]) -> None:
    bare = median(seconds(lambda file=file: decode(file)) for file in sources)  # type: ignore[misc]
    middle = median(times)
    ms = f"{1000 * middle:.0f} ms in the middle, {1000 * min(times):.0f} to {1000 * max(times):.0f} ms"
    print(f"{how}: {len(times)} landings, {ms}; {middle / bare:.1f} × the decoding ({1000 * bare:.0f} ms)")


def where_it_goes(file: Path) -> None:
    candidate = CandidateFile(file, file.parent, FileKind.JPEG)
    parts: list[tuple[str, Callable[[], object]]] = [
        ("hash", lambda: sha256_of(file)),
        ("decode at half size", lambda: decode(file)),
        ("all that is read of a file", lambda: examine_file(candidate)),
    ]
    print(f"  {'until it lies still':28} {1000 * BETWEEN_LOOKS:6.1f} ms")
    for what, work in parts:
        print(f"  {what:28} {1000 * min(seconds(work) for _ in range(5)):6.1f} ms")


def decode(file: Path) -> None:
    with Image.open(file) as image:
        image.draft("RGB", (image.width // 2, image.height // 2))
        image.load()


def seconds(work: Callable[[], object]) -> float:
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


if __name__ == "__main__":
    numbers = [int(word) for word in sys.argv[1:]]
    main(*[*numbers, *(20, 0)[len(numbers) :]])
