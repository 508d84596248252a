"""How much damage a slate takes: fourteen kinds of trouble at five strengths, read by several readers.

    python -m tests.bench.bench_slates [FRAMES_PER_CELL] [--first SEED] [--kinds far,dark]
                                       [--readers zxing,bare,slate] [--others FRAMES_PER_CELL]
                                       [--cores N]

Frames of 6 megapixels are drawn by `tests.bench.trouble`: of a bare version 1-Q symbol as large as a card's
face allows, and of this project's slate. Decoders for anybody's symbols read the bare one at full size with
their default options; this reader reads both as ingest has it read: first at half size, with a closed set of
3,000 other codes and the one shown. Readers that are not installed are left out. The table has, for every
kind, the frames read of 100 at strengths 1 to 5. `--readers one,two,four` compares faces with so many copies
of the symbol above the room for type, as large as they can be; the reader puts those side by side together.

Codes, trouble and noise follow from kind, strength and seed, so the same program prints the same table; with
another `--first` it is one of frames not seen before.

Measured. `tests/bench/trouble` draws frames of 6 megapixels, head to waist: fourteen kinds of trouble at five
strengths, of a bare symbol and of the project's slate. How far is far and how tilted is tilted is our own
choice. `python -m tests.bench.bench_slates 5 --readers bare,slate` read 98.9 of 100 bare symbols and 99.7 of
100 slates, 350 frames each, no wrong code: all but four bare symbols half under glare (strengths 4 and 5) and
one overexposed slate (strength 5). The reader was tuned on frames from `--first 100`.

Frames that nothing was tuned on, `bench_slates 2 --first 500 --readers bare,slate`: 140 of 140 bare, 140 of
140 slates, no wrong code; from `--first 300`, three a cell: 210 of 210 both, by the reader at that time.

Photographs of anybody's symbols, 141 in the shared data, all readers in one run: this reader at full size
129, zxing-cpp by its defaults 129 (the same ones), ZBar 105, OpenCV 60. Before light on dark was tried at
full size it was 126.

Other readers at full size on bare symbols, `bench_slates 1 --others 1`: of 100: zxing-cpp 78.6, ZBar 62.9,
OpenCV 44.3, this reader 100 (70 frames each).

One, two and four copies on a face, `bench_slates 5 --kinds glare,crease --readers one,two,four`, and `1
--first 500 --kinds far,defocus,glare,thumb,curl,shadow,crease`: 94.0, 100 and 100 of 100 in glare and creases
(50 frames each; one copy fails under glare); 100, 100 and 88.6 over seven kinds (35 each; four are too small
from strength 4 of far and out of focus). Two it is.
"""

from __future__ import annotations

import argparse
import os
import random
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache, partial
from importlib.util import find_spec
from itertools import product
from typing import TypeVar

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # one process to a core: threads would only wait

import numpy as np
from PIL import Image

from onsite.core.codes import new_code
from onsite.slates.qr_symbol import MODULES, QUIET_ZONE, qr_modules
from onsite.slates.reader.closed_set import KnownSlates, known_slates
from onsite.slates.reader.read_slates import read_symbols
from onsite.slates.reader.seen_symbol import SymbolSeen
from onsite.slates.slate_image import ticket_image
from onsite.slates.slate_layout import COPY_STEP, Ticket
from tests.bench.trouble.frame import frame
from tests.bench.trouble.kinds import KINDS, STRENGTHS, trouble

Done = TypeVar("Done")

SHOOT = "AAAA"
CLOSED_SET = 3000
FACE = (1740, 1160)
"""Pixels of a bare face: 40 to a module of the one symbol on it."""
ABOVE_TYPE = FACE[1] * 4 // 5  # as on this project's slate
PEOPLE = (
    ("Ida Brandvold", "Kammerchor Lindental"),
    ("Théodore Vasseur-Okonjo", "Ensemble Val-Clair"),
    ("Małgorzata Wieczorkowska", "Orkiestra Zielonych Wzgórz"),
    ("Bo Li", "Harbour Voices"),
    ("Anneliese von der Tannhöhe", "Nordmark Sinfonietta"),
)


@dataclass(frozen=True)
class Reading:
    """What one reader made of one frame. `told` are the texts, of which only `code` is right."""

    reader: str
    kind: str
    strength: int
    seed: int
    code: str
    told: tuple[str, ...]
    by: str = ""
    seconds: float = 0.0

    @property
    def right(self) -> bool:
        return self.code in self.told

    @property
    def wrong(self) -> bool:
        return any(text != self.code for text in self.told)


Job = tuple[str, int, int, tuple[str, ...]]
"""Kind, strength, seed and readers."""


def bare(code: str) -> Image.Image:
    """A white face of 3:2 with nothing on it but a symbol and its quiet zone, as high as the face."""
    return copies(code, 1, 1, FACE[1])


def copies(code: str, across: int, down: int, room: int) -> Image.Image:
    """A white face with copies of a symbol in the upper `room` of it, as large as they can be."""
    drawn = np.full([count * COPY_STEP + QUIET_ZONE for count in (down, across)], 255, np.uint8)
    for row, column in product(range(down), range(across)):
        y, x = QUIET_ZONE + row * COPY_STEP, QUIET_ZONE + column * COPY_STEP
        drawn[y : y + MODULES, x : x + MODULES][qr_modules(code)] = 0
    module = min(FACE[0] // drawn.shape[1], room // drawn.shape[0])
    inked = Image.fromarray(drawn).resize((module * drawn.shape[1], module * drawn.shape[0]), 0)
    face = Image.new("L", FACE, 255)
    face.paste(inked, ((face.width - inked.width) // 2, 0))
    return face


def slate(code: str) -> Image.Image:
    """The face of this project's slate."""
    name, group = random.Random(code).choice(PEOPLE)
    return ticket_image(
        Ticket(code, name, group, str(int.from_bytes(code.encode()) % 900), "Seebad")
    ).convert("L")


def by_zxing(picture: Image.Image) -> list[str]:
    import zxingcpp

    found = zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.QRCode))
    return [barcode.text for barcode in found]


def by_zbar(picture: Image.Image) -> list[str]:
    from pyzbar import pyzbar  # type: ignore[import-not-found, import-untyped, unused-ignore]

    return [found.data.decode() for found in pyzbar.decode(picture, symbols=[pyzbar.ZBarSymbol.QRCODE])]


def by_opencv(picture: Image.Image) -> list[str]:
    import cv2  # type: ignore[import-not-found, unused-ignore]

    try:
        text, _, _ = cv2.QRCodeDetector().detectAndDecode(np.asarray(picture))
    except (cv2.error, UnicodeDecodeError):  # as on two of the photographs
        text = ""
    return [text] if text else []


OTHERS: dict[str, tuple[str, str, Callable[[Image.Image], list[str]]]] = {
    "zxing": ("zxing-cpp", "zxingcpp", by_zxing),
    "zbar": ("zbar", "pyzbar", by_zbar),
    "opencv": ("OpenCV", "cv2", by_opencv),
}
"""Heading, module and function of the decoders for anybody's symbols."""

FACES: dict[str, tuple[str, Callable[[str], Image.Image]]] = {
    "bare": ("this reader, bare symbol", bare),
    "slate": ("this reader, its own slate", slate),
    "one": ("one copy", partial(copies, across=1, down=1, room=ABOVE_TYPE)),
    "two": ("two copies", partial(copies, across=2, down=1, room=ABOVE_TYPE)),
    "four": ("four copies", partial(copies, across=2, down=2, room=ABOVE_TYPE)),
}
USUAL = [*OTHERS, "bare", "slate"]


def main(arguments: argparse.Namespace) -> None:
    if absent := [OTHERS[one][0] for one in arguments.readers if not installed(one)]:
        print(f"not installed here: {', '.join(absent)}\n")
    readers = [one for one in arguments.readers if installed(one)]
    jobs = list(planned(arguments, readers))
    closed_set(0)  # before the processes part, so that they share it
    with ProcessPoolExecutor(arguments.cores) as pool:
        readings = [one for some in told_of(pool.map(attempted, jobs), len(jobs)) for one in some]
        print_table(readings, readers, arguments.kinds)
        print_failures([one for one in readings if one.reader in FACES])


def installed(reader: str) -> bool:
    return reader in FACES or find_spec(OTHERS[reader][1]) is not None


def planned(arguments: argparse.Namespace, readers: Sequence[str]) -> Iterable[Job]:
    for kind in arguments.kinds:
        for strength in STRENGTHS:
            for number in range(arguments.frames):
                some = tuple(one for one in readers if one != "opencv" or number < arguments.others)
                seed = arguments.first + number
                yield kind, strength, seed, some


def told_of(done: Iterable[Done], count: int) -> Iterable[Done]:
    """Passes on what is done and says on standard error how far it is."""
    began = time.perf_counter()
    for number, one in enumerate(done, start=1):
        passed = time.perf_counter() - began
        left = passed / number * (count - number)
        print(f"\r{number} of {count}, {left:.0f} s left ", end="", file=sys.stderr, flush=True)
        yield one
    print(f"\r{count} in {time.perf_counter() - began:.0f} s{'':20}", file=sys.stderr)


def attempted(job: Job) -> list[Reading]:
    kind, strength, seed, readers = job
    code = new_code(SHOOT, (), random.Random(f"{kind}/{strength}/{seed}"))
    known = known_slates(SHOOT, [*closed_set(0).codes, code])
    readings = []
    for name, (_, face) in FACES.items():
        mine = [one for one in readers if one == name or (name == "bare" and one in OTHERS)]
        picture = frame(face(code), trouble(kind, strength, seed), seed) if mine else None
        for reader in mine if picture is not None else ():
            assert picture is not None
            began = time.perf_counter()
            told, by = read(reader, picture, known)
            seconds = time.perf_counter() - began
            readings.append(Reading(reader, kind, strength, seed, code, tuple(told), by, seconds))
    return readings


def read(reader: str, picture: Image.Image, known: KnownSlates) -> tuple[list[str], str]:
    """The texts that a reader finds, and how, where it says so."""
    if reader in OTHERS:
        return OTHERS[reader][2](picture), ""
    seen = [one for one in as_ingest(picture, known) if one.text is not None]
    return [one.text or "" for one in seen], str(seen[0].by) if seen else ""


def as_ingest(picture: Image.Image, known: KnownSlates) -> tuple[SymbolSeen, ...]:
    return read_symbols(picture.reduce(2), lambda: picture, 1, known)


@cache
def closed_set(number: int) -> KnownSlates:
    rng = random.Random(f"closed set {number}")
    codes: set[str] = set()
    while len(codes) < CLOSED_SET:
        codes.add(new_code(SHOOT, codes, rng))
    return known_slates(SHOOT, codes)


def print_table(readings: Sequence[Reading], readers: Sequence[str], kinds: Sequence[str]) -> None:
    """As Markdown, with columns that line up as plain text too."""
    heads = {one: (OTHERS.get(one) or FACES[one])[0] for one in readers}
    rows = [["strengths 1 to 5", *heads.values()]]
    for kind in kinds:
        mine = [one for one in readings if one.kind == kind]
        rows.append([kind, *(cells([one for one in mine if one.reader == reader]) for reader in readers)])
    by_reader = {reader: [one for one in readings if one.reader == reader] for reader in readers}
    rows.append(["all", *(f"{share(some):.1f}" for some in by_reader.values())])
    rows.append(["frames", *(str(len(some)) for some in by_reader.values())])
    rows.append(["wrong codes", *(str(sum(one.wrong for one in some)) for some in by_reader.values())])
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for number, row in enumerate(rows):
        line = " | ".join(
            [
                row[0].ljust(widths[0]),
                *(cell.rjust(width) for cell, width in zip(row[1:], widths[1:], strict=True)),
            ]
        )
        print(f"| {line} |")
        if number == 0:
            dashes = [f"{'-' * width}:" for width in widths[1:]]
            print("|".join(["", "-" * (widths[0] + 2), *(f" {each}" for each in dashes), ""]))
    print()
    for reader, some in by_reader.items():
        ways = Counter(one.by for one in some if one.right and one.by)
        seconds = [one.seconds for one in some] or [0.0]
        slow = f"{np.median(seconds) * 1e3:.0f} ms in the middle, {max(seconds) * 1e3:.0f} at most"
        print(f"{heads[reader]}: {', '.join([*(f'{count} by {way}' for way, count in ways.items()), slow])}")


def cells(readings: Sequence[Reading]) -> str:
    each = [[one for one in readings if one.strength == strength] for strength in STRENGTHS]
    return " ".join(f"{share(some):3.0f}" if some else "  –" for some in each)


def share(readings: Sequence[Reading]) -> float:
    return 100 * sum(one.right and not one.wrong for one in readings) / max(len(readings), 1)


def print_failures(readings: Sequence[Reading]) -> None:
    for reader, (head, _) in FACES.items():
        missed: dict[tuple[str, int], list[str]] = {}
        for one in readings:
            if one.reader == reader and (one.wrong or not one.right):
                seeds = missed.setdefault((one.kind, one.strength), [])
                seeds.append(f"{one.seed}{' WRONG ' + ' '.join(one.told) if one.wrong else ''}")
        if missed:
            print(f"\nnot read by {head}, kind strength: seeds")
            print(
                "; ".join(
                    f"{kind} {strength}: {' '.join(seeds)}" for (kind, strength), seeds in missed.items()
                )
            )


def listed(choices: Sequence[str], text: str) -> list[str]:
    some = text.split(",")
    if not set(some) <= set(choices):
        raise argparse.ArgumentTypeError(f"choose of {', '.join(choices)}")
    return some


def asked() -> argparse.Namespace:
    every = [*OTHERS, *FACES]
    parser = argparse.ArgumentParser()
    parser.add_argument("frames", nargs="?", type=int, default=5)
    parser.add_argument("--first", type=int, default=0, help="seed of the first frame of each cell")
    parser.add_argument("--kinds", type=partial(listed, KINDS), default=list(KINDS))
    parser.add_argument("--readers", type=partial(listed, every), default=USUAL)
    parser.add_argument("--others", type=int, default=3, help="frames per cell for OpenCV, which is slow")
    parser.add_argument("--cores", type=int, default=2)
    return parser.parse_args()


if __name__ == "__main__":
    main(asked())
