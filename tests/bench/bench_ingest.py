"""Ingest and match of 24-megapixel frames beside the bare cost of decoding the same files.

    python -m tests.bench.bench_ingest [FRAMES]

Draws a few frames of the invented day at 6000 × 4000 and copies each with another byte at its end, so that
every file is content of its own; then prints frames per second for: decoding every file in grey at 1/8 scale
inside the JPEG decoder on one core (the baseline), ingest on all cores, the same files again, and the match.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
import time
from pathlib import Path

from PIL import Image

from onsite.frames.ingest import ingest
from onsite.reconcile.current_match import match_now
from onsite.simulator.draw_invented_exposure import picture, save
from onsite.store.settings import Settings
from onsite.store.shoot import create_shoot
from tests.bench.big import LARGE
from tests.simulator.invented import invented

DRAWN = 20


def main(frames: int) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        files = draw(folder / "card", frames)
        size = sum(file.stat().st_size for file in files) / len(files) / 1e6
        print(f"{len(files)} files of {LARGE[0]} × {LARGE[1]}, {size:.1f} MB each on average")
        baseline = timed("decode at 1/8, one core", len(files), lambda: decode(files), None)
        shoot = create_shoot(folder / "shoot", Settings("Bench", timezone="Europe/Vienna"), "3333")
        timed("ingest, all cores", len(files), lambda: ingest(shoot, [folder / "card"]), baseline)
        timed("ingest again, nothing new", len(files), lambda: ingest(shoot, [folder / "card"]), baseline)
        timed("match", len(files), lambda: match_now(shoot), baseline)
        shoot.engine.dispose()


def draw(folder: Path, frames: int) -> list[Path]:
    day = invented(people=12, seed=1).day
    folder.mkdir()
    drawn = []
    for exposure in day.exposures[:DRAWN]:
        path = folder / exposure.name
        save(exposure, picture(exposure, seed=1, size=LARGE), path)
        drawn.append(path)
    files = list(drawn)
    for number in range(DRAWN, frames):
        copy = folder / f"_FCX{number + 1:04}.JPG"
        shutil.copy(drawn[number % DRAWN], copy)
        with copy.open("ab") as file:
            file.write(number.to_bytes(4, "big"))
        files.append(copy)
    return files


def decode(files: list[Path]) -> None:
    for file in files:
        with Image.open(file) as image:
            image.draft("L", (image.width // 8, image.height // 8))
            image.load()


def timed(what: str, frames: int, work, baseline: float | None) -> float:  # type: ignore[no-untyped-def]
    began = time.perf_counter()
    work()
    seconds = time.perf_counter() - began
    ratio = "" if baseline is None else f", {seconds / baseline:.2f} × the decoding"
    print(f"{what:28} {seconds:7.2f} s  {frames / seconds:8.1f} frames/s{ratio}")
    return seconds


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
