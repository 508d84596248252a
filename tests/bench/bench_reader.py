"""What the slate reader costs on JPEGs of 24 megapixels.

    python -m tests.bench.bench_reader [PORTRAITS] [--repeats N]

Draws frames of the invented day, with and without slates, and this project's slate in every kind of trouble
at strengths 3 and 5 (enlarged from 6 megapixels), and reads the files in one run: decoded at 1/8 in grey (the
baseline); by this reader, decoded in grey reduced as ingest does it, and in full only where the reader asks for
that; decoded in full and read by zxing-cpp with its defaults. Times are the processor's, the least of several
repeats for each file; ratios are taken file by file. Last, one thread against two over the same files, by the
clock.
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

from onsite.demo.draw import LARGE, picture, save
from onsite.frames.found import FileKind
from onsite.frames.picture import full_grey, scale_for
from onsite.slate.code import new_code
from onsite.slate.known import KnownSlates, known_slates
from onsite.slate.reader import SymbolSeen, read_symbols
from tests.bench.bench_slates import SHOOT, by_zxing, closed_set, slate
from tests.bench.trouble.frame import frame
from tests.bench.trouble.kinds import KINDS, trouble
from tests.demo.invented import invented

TROUBLED = (3, 5)


@dataclass(frozen=True)
class Costs:
    """Seconds of one file: decoded at 1/8; decoded for the reader; decoded and read; in full by zxing-cpp."""

    file: Path
    baseline: float
    decoded: float
    read: float
    usual: float

    @property
    def ratio(self) -> float:
        return self.read / self.baseline


def main(arguments: argparse.Namespace) -> None:
    with tempfile.TemporaryDirectory() as name:
        groups = draw(Path(name), arguments.portraits)
        codes = [path.stem.split("_")[-1] for path in groups["slates in trouble"]]
        known = known_slates(SHOOT, [*closed_set(0).codes, *codes])
        print(f"{'processor ms a file, median (worst)':36}{'1/8':>7}{'1/4':>7}{'reader':>15}", end="")
        print(f"{'× the 1/8':>15}{'full + zxing-cpp':>19}{'× the reader':>14}")
        for what, files in groups.items():
            show(what, [costs(file, known, arguments.repeats) for file in files])
        print(f"\n{'frames/s by the clock':36}{'1 thread':>10}{'2 threads':>11}{'ratio':>8}")
        for what, files in groups.items():
            one, two = (scaled(files, known, threads, arguments.repeats) for threads in (1, 2))
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
    each = (partial(grey, file, 8), partial(grey, file), partial(read, file, known), partial(usual, file))
    return Costs(file, *(least(work, repeats) for work in each))


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


def read(file: Path, known: KnownSlates) -> tuple[SymbolSeen, ...]:
    return read_symbols(grey(file), lambda: full_grey(file, FileKind.JPEG), 1, known)


def usual(file: Path) -> list[str]:
    return by_zxing(grey(file, 1))


def scaled(files: Sequence[Path], known: KnownSlates, threads: int, repeats: int) -> float:
    """Seconds by the clock for all files."""
    spent = []
    with ThreadPoolExecutor(threads) as pool:
        for _ in range(repeats):
            began = time.perf_counter()
            list(pool.map(lambda file: read(file, known), files))
            spent.append(time.perf_counter() - began)
    return min(spent)


def show(what: str, some: Sequence[Costs]) -> None:
    def middle(*values: float) -> float:
        return statistics.median(values)

    both = "{:.0f} ({:.0f})".format
    read = both(1e3 * middle(*(one.read for one in some)), 1e3 * max(one.read for one in some))
    ratio = f"{middle(*(one.ratio for one in some)):.2f} ({max(one.ratio for one in some):.2f})"
    usual = both(1e3 * middle(*(one.usual for one in some)), 1e3 * max(one.usual for one in some))
    faster = middle(*(one.usual / one.read for one in some))
    baseline, decoded = (
        1e3 * middle(*(getattr(one, step) for one in some)) for step in ("baseline", "decoded")
    )
    print(f"{f'{what}, {len(some)} files':36}{baseline:7.0f}{decoded:7.0f}{read:>15}{ratio:>15}", end="")
    print(f"{usual:>19}{faster:14.1f}")
    if what != "portraits":
        slowest = sorted(some, key=lambda one: -one.read)[:5]
        print("  slowest: " + ", ".join(f"{one.file.stem[:-13]} {one.read:.2f} s" for one in slowest))


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("portraits", nargs="?", type=int, default=12, help="and as many clean slates")
    parser.add_argument("--repeats", type=int, default=3)
    main(parser.parse_args())
