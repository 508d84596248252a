"""What the slate reader costs on JPEGs of 24 megapixels.

    python -m tests.bench.bench_reader [PORTRAITS] [--repeats N]

Draws frames of the invented day, with and without slates, and this project's slate in every kind of trouble
at strengths 3 and 5 (enlarged from 6 megapixels), and reads the files in one run: decoded at 1/8 in grey (the
baseline); by this reader, decoded in grey reduced as ingest does it, and in full only where the reader asks
for that; decoded in full and read by zxing-cpp, in grey and for QR alone, and all by defaults: in colour and
for every format. Times are the processor's, the least of several repeats for each file; ratios are taken file
by file. Last, one thread against two over the same files, by the clock, and bare decoding as a measure of
what the machine has to give at the time.

Measured on two cores with nothing else running, `bench_reader 24 --repeats 3`:

  processor ms, median (worst)     1/8   1/4       reader      × the 1/8    zxing, QR     ×     defaults     ×
  portraits, 24 files               37    43     51 (263)    1.34 (5.50)    109 (125)   2.1    714 (864)  13.9
  clean slates, 24 files            38    43      45 (54)    1.20 (1.41)    107 (114)   2.4    730 (788)  16.3
  slates in trouble, 28 files       22    26     37 (316)    1.39 (6.95)     82 (288)   2.6   572 (2027)  17.1

  frames/s by the clock                 1 thread  2 threads   ratio
  bare decoding at 1/8                      26.4       51.4    1.95
  portraits                                 15.9       27.1    1.70
  clean slates                              22.0       41.7    1.89
  slates in trouble                         12.3       19.5    1.59

Of a portrait's 1.34, decoding at 1/4 alone is 1.16, the general decoder 0.05 and finder patterns 0.13. Eyes
look like finder patterns: while one was enough to search for grids, portraits cost 2.09 in the middle and two
threads read 13.4 a second where 21.4 are read now. Three of the 24 still have two or three that lie as those
of a symbol do; two of these ask for the full picture, and are the slowest.
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
