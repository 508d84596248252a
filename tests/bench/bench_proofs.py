"""Proof sheets and pages of 24-megapixel frames, beside ImageMagick doing the same.

    python -m tests.bench.bench_proofs [FRAMES] [--theirs FRAMES] [--parallel] [--hinted]
                                        [--picks ROWS]

Draws a few frames of the invented day at 6000 × 4000 and copies each with another byte at its end, gives
twelve to each of as many people as that makes, and prints the time for: sheets as JPEG and PDF and pages
(ours, all cores); `convert -resize` for each picture and `montage` of these for each person (ImageMagick,
with its own threads, one process after another, or with --parallel one for each core). `montage` of the
frames themselves needs more memory than ImageMagick is commonly allowed. --hinted tells `convert` to decode
reduced, which it does not do by itself. It takes so long that --theirs has it do some of the frames only;
compared are the times for a frame. ImageMagick makes neither the PDF nor the page, converts no colours
and puts on no mark.

With --picks it only makes and loads a file of so many picks, as CSV and, where a sheet holds that many rows,
as XLSX, and prints rows per second and memory.

`python -m tests.bench.bench_proofs 1000 --theirs 36` on two free cores: 1,000 frames of 24 megapixels in 62
s, 36 by `convert -resize` and `montage`, without PDF and page, in 41 s: 18 times as fast a frame. Earlier,
beside other work: 96 frames of 24 megapixels in 20 s, and `convert -resize` and `montage` for the same,
without PDF and page, in 517 s at a load of 9; 36 frames in 10.9 and 90.9 s at a load of 7. So 8 to 26 times
as fast, as the machine is used by others; 2.6 times where `convert` is told to decode reduced (`--hinted`).
With nothing new, 0.1 s. Some 75 ms of processor time a picture, two thirds of it decoding. A million rows
of picks at a load of 15: CSV 147 s (25 s of processor time, and no more memory than for ten rows), XLSX 163
s and 170 MB more.
"""

from __future__ import annotations

import argparse
import os
import resource
import shutil
import subprocess
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from onsite.frames.ingest import ingest
from onsite.picks.load_picks import load_picks
from onsite.proofs.build_proofs import build_proofs
from onsite.proofs.proof_picture import LONG_SIDE
from onsite.reconcile.overrides import give
from onsite.roster.load_roster import load_list
from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot
from tests.bench.bench_ingest import draw

EACH = 12


def main(frames: int, theirs: int, parallel: bool, hinted: bool, picks: int) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        files = draw(folder / "card", 24 if picks else frames)
        shoot = create_shoot(folder / "shoot", Settings("Bench", timezone="Europe/Vienna"), "3333")
        people = given(shoot, folder, files)
        if picks:
            load_many(shoot, folder, picks)
        else:
            compare(shoot, folder, people, theirs, parallel, hinted)
        shoot.engine.dispose()


def given(shoot: Shoot, folder: Path, files: list[Path]) -> list[list[Path]]:
    """Each person's files, given to them by hand."""
    people = [files[start : start + EACH] for start in range(0, len(files), EACH)]
    lines = [f"S-{number},Singer,Number{number}" for number in range(len(people))]
    (folder / "list.csv").write_text("key,given,family\n" + "\n".join(lines), encoding="utf-8")
    load_list(shoot, folder / "list.csv")
    ingest(shoot, [folder / "card"])
    for number, theirs in enumerate(people):
        give(shoot, [file.name for file in theirs], f"S-{number}")
    return people


def compare(
    shoot: Shoot, folder: Path, people: list[list[Path]], some: int, parallel: bool, hinted: bool
) -> None:
    frames = sum(map(len, people))
    ours = timed("sheets (JPEG, PDF) and pages", frames, lambda: build_proofs(shoot, folder / "proofs"))
    timed("the same again, nothing new", frames, lambda: build_proofs(shoot, folder / "proofs"))
    if some:
        people = people[: max(some // EACH, 1)]
    count = sum(map(len, people))
    montage, convert = program("montage"), program("convert")
    out = folder / "theirs"
    out.mkdir()
    size = f"{LONG_SIDE}x{LONG_SIDE}"
    hint = ["-define", f"jpeg:size={2 * LONG_SIDE}x{2 * LONG_SIDE}"] if hinted else []
    small = [
        [
            convert,
            *hint,
            str(file),
            "-auto-orient",
            "-resize",
            size,
            "-strip",
            "-quality",
            "80",
            str(out / file.name),
        ]
        for theirs in people
        for file in theirs
    ]
    tile = ["-tile", "4x4", "-geometry", "350x470+8+8", "-quality", "85"]
    sheets = [
        [
            montage,
            "-label",
            "%f",
            *(str(out / file.name) for file in theirs),
            *tile,
            str(out / f"sheet{number}.jpg"),
        ]
        for number, theirs in enumerate(people)
    ]
    workers = (os.cpu_count() or 1) if parallel else 1

    def run_them() -> None:
        with ThreadPoolExecutor(workers) as pool:
            for commands in (small, sheets):
                list(pool.map(lambda command: subprocess.run(command, check=True), commands))

    theirs_took = timed(f"convert -resize, montage ({workers} at once)", count, run_them)
    print(f"{theirs_took / count / (ours / frames):.1f} times as fast")


def program(name: str) -> str:
    """ImageMagick's own program, under the name that its version has."""
    found = shutil.which(f"{name}-im6.q16") or shutil.which(f"{name}-im7.q16") or shutil.which(name)
    if found is None:
        raise SystemExit(f"{name} of ImageMagick is not installed")
    return found


def load_many(shoot: Shoot, folder: Path, rows: int) -> None:
    table = folder / "picks.csv"
    with table.open("w", encoding="utf-8") as file:
        file.write("key,file\n")
        for number in range(rows):
            file.write(f"S-{number % 2},IMG_{number:07}.JPG\n")
    with table.open("a", encoding="utf-8") as file:
        file.write("S-0,f1\n")
    timed("picks, CSV", rows, lambda: load_picks(shoot, table))
    if rows < 1_048_576:
        import openpyxl

        book = openpyxl.Workbook(write_only=True)
        sheet = book.create_sheet()
        sheet.append(["key", "file"])
        for number in range(rows - 1):
            sheet.append([f"S-{number % 2}", f"IMG_{number:07}.JPG"])
        sheet.append(["S-0", "f1"])
        book.save(folder / "picks.xlsx")
        timed("picks, XLSX", rows, lambda: load_picks(shoot, folder / "picks.xlsx"))


def timed(what: str, count: int, work: Callable[[], object]) -> float:
    began = time.perf_counter()
    work()
    seconds = time.perf_counter() - began
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{what:42} {seconds:8.2f} s  {count / seconds:9.1f} a second  peak {memory:,.0f} MB")
    return seconds


if __name__ == "__main__":
    arguments = argparse.ArgumentParser()
    arguments.add_argument("frames", nargs="?", type=int, default=1000)
    arguments.add_argument("--theirs", type=int, default=0, metavar="FRAMES", help="for ImageMagick")
    arguments.add_argument("--parallel", action="store_true")
    arguments.add_argument("--hinted", action="store_true")
    arguments.add_argument("--picks", type=int, default=0, metavar="ROWS")
    asked = arguments.parse_args()
    main(asked.frames, asked.theirs, asked.parallel, asked.hinted, asked.picks)
