"""A delivery beside the bare cost of coding the same JPEGs.

    python -m tests.bench.bench_delivery [FILES]

Draws a few frames of the invented day at 6000 × 4000 and has each accepted for many people (links to one
content, so that reading them costs as little in both). Then prints files per second for: Pillow alone on all
cores (decode, crop and resize, encode, write), the delivery as a plain folder, Pillow once more, and the same
delivery again with nothing new; and the most memory that all of it took.

`python -m tests.bench.bench_delivery 500` took 132 s where Pillow alone took 135 and then 124 s. `python -m
tests.bench.bench_delivery` compares with Pillow alone doing decode, crop, resize and encode on the same
cores. Two runs with 40 files of 24 megapixels and one with 24, two deliveries each, on two cores that
others used too: 0.82 to 1.21 times the computing, 0.69 to 1.17 times the time by the clock, where Pillow
alone differed by 0.92 to 1.30 from itself; at most 452 MB of memory.
"""

from __future__ import annotations

import hashlib
import os
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from pathlib import Path

from PIL import Image

from onsite.delivery.deliver import deliver_pictures
from onsite.delivery.delivery_sets import DeliveryOrder
from onsite.delivery.finish_delivered_picture import crop_box, size_of
from onsite.simulator.draw_invented_exposure import picture, save
from onsite.simulator.invented_exposure import SimulatedExposure
from onsite.store.events import EventKind, add_event
from onsite.store.schema import Camera, Frame, Person
from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot
from tests.bench.big import LARGE
from tests.simulator.invented import invented

DRAWN = 8
LONG_SIDE, QUALITY, RATIO = 3000, 92, 0.8  # as agreed where nothing else is


def main(files: int) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shoot = create_shoot(folder / "shoot", Settings("Bench", "Client", timezone="Europe/Vienna"), "3333")
        sources = accepted(shoot, files)
        size = sum(path.stat().st_size for path in sources) / len(sources) / 1e6
        print(
            f"{files} files of {LARGE[0]} × {LARGE[1]}, {size:.1f} MB each on average, {os.cpu_count()} cores"
        )
        first = timed("Pillow alone", files, lambda: bare(sources, folder / "bare 1"), None)
        timed("delivery", files, lambda: delivered(shoot, folder / "out", files), first)
        second = timed("Pillow alone, once more", files, lambda: bare(sources, folder / "bare 2"), first)
        timed("delivery with --again", files, lambda: again(shoot, folder / "again", files), second)
        timed("nothing new", files, lambda: delivered(shoot, folder / "out", 0), first)
        print(f"most memory: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000:.0f} MB")
        shoot.engine.dispose()


def accepted(shoot: Shoot, files: int) -> list[Path]:
    """People with a frame under their name each, picked, and its retouched file accepted."""
    day = invented(people=12, seed=1).day
    folder = shoot.folder / "retouched"
    folder.mkdir()
    drawn = []
    for number, exposure in enumerate(day.exposures[:DRAWN]):
        path = shoot.folder / f"drawn-{number}.jpg"
        with ProcessPoolExecutor(1) as apart:  # whose memory is not counted
            apart.submit(draw, exposure, path).result()
        drawn.append((path, hashlib.sha256(path.read_bytes()).hexdigest()))
    sources = []
    with shoot.writing() as session:
        session.add(Camera(id=1, label="A", identity="A"))
        for number in range(1, files + 1):
            key = f"P-{number:04}"
            session.add(
                Person(id=number, key=key, name=f"Singer {key}", family=key, given="Singer", code=key)
            )
            session.add(
                Frame(id=number, camera_id=1, counter=number, name=f"A{number:04}.JPG", source="card")
            )
        session.flush()
        for number in range(1, files + 1):
            source, sha256 = drawn[number % len(drawn)]
            path = folder / f"{number:04}.jpg"
            path.hardlink_to(source)
            sources.append(path)
            add_event(session, EventKind.GIVEN, shoot.now(), person_id=number, frame_id=number)
            add_event(
                session, EventKind.PICKED, shoot.now(), person_id=number, frames=[number], notes={}, note=""
            )
            add_event(
                session,
                EventKind.RECEIVED,
                shoot.now(),
                person_id=number,
                frame_id=number,
                batch="B1",
                version=1,
                file=f"retouched/{path.name}",
                sha256=sha256,
            )
    return sources


def draw(exposure: SimulatedExposure, path: Path) -> None:
    save(exposure, picture(exposure, seed=1, size=LARGE), path)


def bare(sources: list[Path], folder: Path) -> None:
    folder.mkdir()

    def one(source: Path) -> None:
        with Image.open(source) as image:
            box = crop_box(*image.size, RATIO)
            finished = image.resize(size_of(box, LONG_SIDE), Image.Resampling.LANCZOS, box)
        finished.save(folder / source.name, quality=QUALITY)

    with ThreadPoolExecutor(os.cpu_count()) as pool:
        list(pool.map(one, sources))


def delivered(shoot: Shoot, folder: Path, files: int) -> None:
    assert deliver_pictures(shoot, folder, DeliveryOrder()).files == files


def again(shoot: Shoot, folder: Path, files: int) -> None:
    assert deliver_pictures(shoot, folder, DeliveryOrder(again=True)).files == files


def timed(
    what: str, files: int, work: Callable[[], None], baseline: tuple[float, float] | None
) -> tuple[float, float]:
    """Seconds by the clock and seconds of computing, which other programs on the machine change less."""
    began, computing = time.perf_counter(), time.process_time()
    work()
    seconds, computing = time.perf_counter() - began, time.process_time() - computing
    told = f"{what:28} {seconds:7.2f} s  {files / seconds:8.1f} files/s  {computing:7.2f} s of computing"
    if baseline is not None:
        told += f"; {seconds / baseline[0]:.2f} and {computing / baseline[1]:.2f} × Pillow alone"
    print(told, flush=True)
    return seconds, computing


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 500)
