"""What the slate reader costs on JPEGs of 24 megapixels.

    python -m tests.bench.bench_reader [PORTRAITS] [--repeats N]

Draws frames of the invented day, with and without slates, and this project's slate in every kind of trouble
at strengths 3 and 5 (enlarged from 6 megapixels), and reads the files in one run: decoded at 1/8 in grey (the
baseline); by this reader, decoded in grey reduced as ingest does it, and in full only where the reader asks
for that; decoded in full and read by zxing-cpp, in grey and for QR alone, and all by defaults: in colour and
for every format. Times are the processor's, the least of several repeats for each file; ratios are taken file
by file. Last, one thread against two over the same files, by the clock, and bare decoding as a measure of
what the machine has to give at the time.

Measured.

Processor time on JPEGs of 24 megapixels, `bench_reader`, then twice with `--repeats 2`, beside two to twelve
other processes on two cores: in the middle, over bare decoding at 1/8 (decoding at 1/4 is 1.1 of these):
portraits 1.37, 1.45, 1.45, clean slates 1.19, 1.20, 1.24, slates in trouble 1.61, 1.45, 1.55; the slowest
frame 0.6, 0.4, 0.5 s. 16 to 20 times as quick as full-size decoding with zxing-cpp's defaults.

Two threads over one, by the clock, `bench_reader`: 1.8 and 1.9 on portraits and clean slates, 1.7 in trouble,
where bare decoding came to 2.1. In the other two runs the cores were not free: bare decoding came to 1.5 and
1.1, the reader to 1.0 to 1.8.

Since grids are searched for by what the shared modules explain, `bench_reader 8 --repeats 2` beside some ten
other processes: portraits 1.63 in the middle, clean slates 1.27, slates in trouble 1.56; the slowest slate
0.38 s. Old and new reader in turn on eight of the portraits, least of three: 56 and 54 ms in the middle where
bare decoding took 38; one textured portrait 210 and 426 ms.

Since only grids are moved that explain something before, and the full picture is decoded for a likely grid
or three clear finder patterns alone: that reader and this one, least of four each, beside some eight
processes, on eight portraits 1.41 and 1.33 times bare decoding at 1/8 in the middle, on eight clean slates
1.22 and 1.22 (decoding at 1/4 alone takes 1.15); the textured portrait 370 and 94 ms. Portraits drawn at
1800 x 1200 with noisy backdrops, 60: 10.9 and 3.1 s. Frames of `bench_camera` and `bench_slates` in
trouble, 340: 30.4 and 19.9 s, the slowest 0.49 and 0.29 s.

Since fewer parts: the reader before and this one on the same sixteen frames, least of six, beside some six
processes: portraits 1.33 and 1.33 in the middle, clean slates 1.22 and 1.21, the textured portrait 2.4 and
2.6. Of a portrait, decoding at 1/4 takes 1.15, the general decoder 0.03, finder patterns 0.10. Sixteen frames
in trouble at strengths 4 and 5 took 0.44 and 0.53 s, as all grids of a frame are fitted now, the slowest of
980 0.19 s (processor time).
Two threads over one, by the clock, the same sixteen frames, cores not free: 1.58, bare decoding 1.55.

Since a slate that was read is not fitted again where it lies, and the two kinds of samples share a
regression: that reader and this one in turn on 64 blind frames in trouble at strengths 3 to 5, least of
three: 2.14 and 1.72 s, the slowest 0.105 and 0.078 s. Sixteen frames at 24 megapixels, least of ten, beside
some seven processes: portraits 1.34 and 1.33, clean slates 1.23 and 1.23 in the middle, decoding at 1/4
alone 1.16. Two threads over one came to 1.32, 1.37 and 1.50 where bare decoding came to 2.28, 1.84 and
0.95: on a machine this busy that says nothing.
"""

from __future__ import annotations

import argparse
import os
import random
import statistics
import tempfile
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from PIL import Image

from onsite.core.codes import new_code
from onsite.frames.find_frame_files import FileKind
from onsite.frames.open_frame_picture import full_grey, scale_for
from onsite.simulator.draw_invented_exposure import picture, save
from onsite.slates.reader.closed_set import KnownSlates, known_slates
from onsite.slates.reader.read_slates import read_symbols
from onsite.slates.reader.seen_symbol import SymbolSeen
from tests.bench.bench_slates import SHOOT, by_zxing, closed_set, slate
from tests.bench.big import LARGE
from tests.bench.trouble.frame import frame
from tests.bench.trouble.kinds import KINDS, trouble
from tests.simulator.invented import invented

TROUBLED = (3, 5)


@dataclass(frozen=True)
class Costs:
    """Seconds of one file: decoded at 1/8; decoded for the reader; decoded and read; in full by zxing-cpp,
    for QR alone and by defaults."""

    file: Path
    baseline: float
    decoded: float
    read: float
    only_qr: float
    defaults: float


STEPS = ("baseline", "decoded", "read", "only_qr", "defaults")


def main(arguments: argparse.Namespace) -> None:
    with tempfile.TemporaryDirectory() as name:
        groups = draw(Path(name), arguments.portraits)
        codes = [path.stem.split("_")[-1] for path in groups["slates in trouble"]]
        known = known_slates(SHOOT, [*closed_set(0).codes, *codes])
        print(
            f"{'processor ms, median (worst)':30}{'1/8':>6}{'1/4':>6}{'reader':>13}{'× the 1/8':>15}", end=""
        )
        print(f"{'zxing, QR':>13}{'×':>6}{'defaults':>13}{'×':>6}")
        for what, files in groups.items():
            show(what, [costs(file, known, arguments.repeats) for file in files])
        print(f"\n{'frames/s by the clock':36}{'1 thread':>10}{'2 threads':>11}{'ratio':>8}")
        every = [*groups["portraits"], *groups["clean slates"]]
        jobs: dict[str, tuple[Callable[[Path], object], list[Path]]] = {
            "bare decoding at 1/8": (eighth, every)
        }
        jobs |= {what: (partial(read, known=known), files) for what, files in groups.items()}
        for what, (work, files) in jobs.items():
            one, two = scaled(work, files, arguments.repeats)
            print(f"{what:36}{len(files) / one:10.1f}{len(files) / two:11.1f}{one / two:8.2f}")
        print(f"({os.cpu_count()} cores)")


def draw(folder: Path, portraits: int) -> dict[str, list[Path]]:
    groups: dict[str, list[Path]] = {"portraits": [], "clean slates": [], "slates in trouble": []}
    for exposure in invented(people=60, seed=1).day.exposures:
        files = groups["clean slates" if exposure.slate else "portraits"]
        if len(files) < portraits:
            files.append(folder / exposure.name)
            save(exposure, picture(exposure, seed=1, size=LARGE), files[-1])
    for kind in KINDS:
        for strength in TROUBLED:
            code = new_code(SHOOT, (), random.Random(f"{kind}/{strength}/0"))
            path = folder / f"{kind}_{strength}_{code}.JPG"
            small = frame(slate(code), trouble(kind, strength, 0), 0)
            small.resize(LARGE, Image.Resampling.BICUBIC).convert("RGB").save(path, "JPEG", quality=88)
            groups["slates in trouble"].append(path)
    return groups


def costs(file: Path, known: KnownSlates, repeats: int) -> Costs:
    steps: tuple[Callable[[Path], object], ...]
    steps = (eighth, grey, partial(read, known=known), only_qr, defaults)
    return Costs(file, *(least(partial(step, file), repeats) for step in steps))


def least(work: Callable[[], object], repeats: int) -> float:
    """Of the processor's time, in seconds."""
    spent = []
    for _ in range(repeats):
        began = time.process_time()
        work()
        spent.append(time.process_time() - began)
    return min(spent)


def grey(file: Path, scale: int | None = None) -> Image.Image:
    """The picture reduced so much, else as far as ingest reduces it."""
    with Image.open(file) as image:
        factor = scale or scale_for(image.size)
        image.draft("L", (image.width // factor, image.height // factor))
        image.load()
        return image if image.mode == "L" else image.convert("L")


def eighth(file: Path) -> Image.Image:
    return grey(file, 8)


def read(file: Path, known: KnownSlates) -> tuple[SymbolSeen, ...]:
    return read_symbols(grey(file), lambda: full_grey(file, FileKind.JPEG), 1, known)


def only_qr(file: Path) -> list[str]:
    return by_zxing(grey(file, 1))


def defaults(file: Path) -> list[str]:
    import zxingcpp

    with Image.open(file) as image:
        return [barcode.text for barcode in zxingcpp.read_barcodes(image)]


def scaled(work: Callable[[Path], object], files: Sequence[Path], repeats: int) -> tuple[float, float]:
    """Seconds by the clock for all files, on one thread and on two."""
    spent: dict[int, list[float]] = {1: [], 2: []}
    for _ in range(repeats):
        for threads, seconds in spent.items():
            with ThreadPoolExecutor(threads) as pool:
                began = time.perf_counter()
                list(pool.map(work, files))
                seconds.append(time.perf_counter() - began)
    return min(spent[1]), min(spent[2])


def show(what: str, some: Sequence[Costs]) -> None:
    median = statistics.median
    baseline, decoded, read, only_qr, defaults = (
        [1e3 * getattr(one, step) for one in some] for step in STEPS
    )
    ratios = [one.read / one.baseline for one in some]
    print(f"{f'{what}, {len(some)} files':30}{median(baseline):6.0f}{median(decoded):6.0f}", end="")
    print(
        f"{f'{median(read):.0f} ({max(read):.0f})':>13}{f'{median(ratios):.2f} ({max(ratios):.2f})':>15}",
        end="",
    )
    for usual in (only_qr, defaults):
        faster = median([theirs / mine for theirs, mine in zip(usual, read, strict=True)])
        print(f"{f'{median(usual):.0f} ({max(usual):.0f})':>13}{faster:6.1f}", end="")
    slowest = sorted(some, key=lambda one: -one.read)[:5]
    print("\n  slowest: " + ", ".join(f"{one.file.stem} {1e3 * one.read:.0f}" for one in slowest))


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("portraits", nargs="?", type=int, default=12, help="and as many clean slates")
    parser.add_argument("--repeats", type=int, default=3)
    main(parser.parse_args())
