"""How much damage a slate takes: fourteen kinds of trouble at five strengths, read by several readers.

    python -m tests.bench.bench_slates [FRAMES_PER_CELL] [--first SEED] [--kinds far,dark]
                                       [--readers zxing,bare,slate] [--others FRAMES_PER_CELL]
                                       [--wrong FRAMES] [--cores N]

Frames of 6 megapixels are drawn by `tests.bench.trouble`: of a bare version 1-Q symbol as large as a card's
face allows, and of this project's slate. Decoders for anybody's symbols read the bare one at full size with
their default options; this reader reads both as ingest has it read: first at half size, with a closed set of
3,000 other codes and the one shown. Readers that are not installed are left out. The table has, for every
kind, the frames read of 100 at strengths 1 to 5.

`--wrong` looks for wrong codes where none is there to be told, on so many frames: of slates that are not in
the closed set or are of another shoot, and one in five of cards with lettering alone or of sitters without a
card; in kinds of trouble that decoders fail at, at strengths 3 to 5. To be quick, only a part of each frame
is read (900 × 700 pixels around the card). Where the reader compares what it saw with codes, that is held
against `SETS` closed sets of 3,000 codes each and counts as many readings, which share their grids; any other
frame counts as one.

Codes, trouble and noise follow from kind, strength and seed, so the same program prints the same table; with
another `--first` it is one of frames not seen before.
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
from dataclasses import dataclass, field
from functools import lru_cache, partial
from importlib.util import find_spec
from typing import TypeVar

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # one process to a core: threads would only wait

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from onsite.slate.card import Card, layout
from onsite.slate.code import new_code
from onsite.slate.known import KnownSlates, Match, known_slates
from onsite.slate.png import card_image
from onsite.slate.reader import read_symbols
from onsite.slate.seen import SymbolSeen
from onsite.slate.symbol import symbol, with_quiet_zone
from tests.bench.trouble.frame import SIZE, frame, sitter
from tests.bench.trouble.kinds import KINDS, STRENGTHS, Trouble, trouble

Done = TypeVar("Done")

SHOOT, OTHER_SHOOT = "AAAA", "XTQ7"
CLOSED_SET = 3000
SETS = 40
WINDOW = (900, 700)
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
    dark = with_quiet_zone(symbol(code))
    drawn = Image.fromarray(~dark).convert("L").resize((40 * dark.shape[1], 40 * dark.shape[0]), 0)
    face = Image.new("L", (drawn.height * 3 // 2, drawn.height), 255)
    face.paste(drawn, ((face.width - drawn.width) // 2, 0))
    return face


def slate(code: str) -> Image.Image:
    """The face of this project's slate."""
    name, group = random.Random(code).choice(PEOPLE)
    return card_image(Card(code, name, group, str(int.from_bytes(code.encode()) % 900), "Seebad")).convert(
        "L"
    )


def lettering(code: str) -> Image.Image:
    """The same face without a symbol."""
    face = slate(code)
    for box in layout(*face.size).symbols:
        ImageDraw.Draw(face).rectangle((box.x, box.y, box.right, box.bottom), fill=255)
    return face


def by_zxing(picture: Image.Image) -> list[str]:
    import zxingcpp

    found = zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.QRCode))
    return [barcode.text for barcode in found]


def by_zbar(picture: Image.Image) -> list[str]:
    from pyzbar import pyzbar  # type: ignore[import-not-found, import-untyped, unused-ignore]

    return [found.data.decode() for found in pyzbar.decode(picture, symbols=[pyzbar.ZBarSymbol.QRCODE])]


def by_opencv(picture: Image.Image) -> list[str]:
    import cv2  # type: ignore[import-not-found, unused-ignore]

    text, _, _ = cv2.QRCodeDetector().detectAndDecode(np.asarray(picture))
    return [text] if text else []


OTHERS: dict[str, tuple[str, str, Callable[[Image.Image], list[str]]]] = {
    "zxing": ("zxing-cpp", "zxingcpp", by_zxing),
    "zbar": ("zbar", "pyzbar", by_zbar),
    "opencv": ("OpenCV", "cv2", by_opencv),
}
"""Heading, module and function of the decoders for anybody's symbols."""

FACES = {"bare": ("this reader, bare symbol", bare), "slate": ("this reader, its own slate", slate)}


def main(arguments: argparse.Namespace) -> None:
    if absent := [OTHERS[one][0] for one in arguments.readers if not installed(one)]:
        print(f"not installed here: {', '.join(absent)}\n")
    readers = [one for one in arguments.readers if installed(one)]
    jobs = list(planned(arguments, readers))
    for number in range(SETS if arguments.wrong else 1):
        closed_set(number)  # before the processes part, so that they share it
    with ProcessPoolExecutor(arguments.cores) as pool:
        readings = [one for some in told_of(pool.map(attempted, jobs), len(jobs)) for one in some]
        print_table(readings, readers, arguments.kinds)
        print_failures([one for one in readings if one.reader in FACES])
        if arguments.wrong:
            strays = list(told_of(pool.map(stray, range(arguments.wrong)), arguments.wrong))
            print_strays(strays)
            mine = sum(one.reader in FACES for one in readings)
            print(f"\nreadings of this reader in all: {mine + sum(one.readings for one in strays)}")


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


@lru_cache(maxsize=SETS)
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


@dataclass(frozen=True)
class Stray:
    """One frame with nothing that the closed sets hold: in how many readings what was told."""

    what: str
    readings: int
    compared: bool
    by_decoder: int
    wrong: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Listening(KnownSlates):
    """A closed set that keeps what it is asked."""

    asked: list[NDArray[np.float32]] = field(default_factory=list)

    def matches(self, values: NDArray[np.float32]) -> tuple[Match, ...]:
        self.asked.append(values)
        return super().matches(values)


HARD = ("motion", "dark", "glare", "thumb", "noise", "curl", "shadow", "crease")
STRAYS = ("not in the set", "another shoot's", "lettering alone", "no card")


def stray(number: int) -> Stray:
    what = STRAYS[number % 2 if number % 5 else 2 + number // 5 % 2]
    rng = random.Random(f"stray/{number}")
    kind, strength, seed = rng.choice(HARD), rng.randint(3, 5), 1000 + number
    known = [closed_set(number) for number in range(SETS)]
    code = new_code(OTHER_SHOOT if what == "another shoot's" else SHOOT, held_codes(), rng)
    picture = drawn(what, code, trouble(kind, strength, seed), seed, rng)
    first = Listening(known[0].codes, known[0].template, known[0].free, known[0].modules)
    told = [one.text for one in as_ingest(picture, first) if one.text is not None]
    for values in first.asked:
        told += [str(match.code) for each in known[1:] for match in each.matches(values) if match.accepted]
    wrong = tuple(text for text in told if text != code)
    return Stray(what, SETS if first.asked else 1, bool(first.asked), told.count(code), wrong)


@lru_cache(maxsize=1)
def held_codes() -> frozenset[str]:
    return frozenset(code for number in range(SETS) for code in closed_set(number).codes)


def drawn(what: str, code: str, how: Trouble, seed: int, rng: random.Random) -> Image.Image:
    """The part of a frame that is read."""
    width, height = WINDOW
    if what == "no card":
        x, y = rng.randint(0, SIZE[0] - width), rng.randint(0, SIZE[1] - height)
        return sitter(how, seed).crop((x, y, x + width, y + height))
    face = lettering if what == "lettering alone" else rng.choice((bare, slate))
    x, y = (
        round(share * side - part / 2) for share, side, part in zip(how.held.place, SIZE, WINDOW, strict=True)
    )
    return frame(face(code), how, seed).crop((x, y, x + width, y + height))


def print_strays(strays: Sequence[Stray]) -> None:
    print(f"\n{'frames without a known slate':30}{'frames':>8}{'compared':>10}{'readings':>10}{'wrong':>8}")
    for what in STRAYS:
        some = [one for one in strays if one.what == what]
        wrong = sum(len(one.wrong) for one in some)
        compared, readings = sum(one.compared for one in some), sum(one.readings for one in some)
        print(f"{what:30}{len(some):8}{compared:10}{readings:10}{wrong:8}")
    for one in strays:
        if one.wrong:
            print(f"WRONG: {one}")


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
    parser.add_argument("--readers", type=partial(listed, every), default=every)
    parser.add_argument("--others", type=int, default=3, help="frames per cell for OpenCV, which is slow")
    parser.add_argument("--wrong", type=int, default=0, help="frames where no known slate is shown")
    parser.add_argument("--cores", type=int, default=2)
    return parser.parse_args()


if __name__ == "__main__":
    main(asked())
