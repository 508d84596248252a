"""Whether a code is ever told that no card in the frame shows.

    python -m tests.bench.bench_wrong [FRAMES] [--first NUMBER] [--sets SETS] [--cores N]

Frames go through all kinds of trouble at strengths 3 to 5, of a bare symbol and of this project's slate:
four in five show a slate whose code is in none of the sets, of this shoot or of another, one in five shows a
sitter alone or a card with lettering alone. Each is a whole frame with trouble, noise and code of its own,
read as ingest has it read.

What the general decoder does not read is compared with a set of codes. Finding the grids to compare takes
nearly all of the time and looks at no code, so those of a frame are found once and compared, just as the
reader does it, with many sets of 3,000 codes, each drawn anew. One frame compared with one set is one
reading. The readings of a frame share its grids: they are many as far as codes go, but only as many pictures
as there are frames, which are therefore counted apart.

`nearest` is how near chance came: the greatest score of all readings over the score that it needed.

Measured. `bench_wrong 260 --first 33000 --sets 400` and `340 --first 34000 --sets 400`: none in 66,400
readings. Of 600 frames the general decoder read 322, and 166 were compared with codes; of the 118 sitters
and cards with lettering alone, 7 were. Chance came to 0.89 of the score it needs at most.
Earlier states of this reader: none in 345,815 readings of some 3,000 frames, 0.93 at most.
"""

from __future__ import annotations

import argparse
import os
import random
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import lru_cache, partial
from itertools import product

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # one process to a core: threads would only wait

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from onsite.core.codes import new_code
from onsite.slates.reader.closed_set import ClosedSetMatch, KnownSlates
from onsite.slates.slate_layout import ticket_layout
from tests.bench.bench_slates import CLOSED_SET, FACES, SHOOT, as_ingest, closed_set, slate, told_of
from tests.bench.trouble.frame import frame, sitter
from tests.bench.trouble.kinds import KINDS, trouble

OTHER_SHOOT = "XTQ7"
UNKNOWN, OTHERS, NOTHING = "slate not in the sets", "slate of another shoot", "sitter or lettering alone"
STRENGTHS = (3, 4, 5)
FIRST_SEED = 10_000
"""Beyond the seeds of the frames that the reader was made with."""

CELLS = list(product(KINDS, STRENGTHS, ("bare", "slate"), (UNKNOWN, OTHERS, UNKNOWN, OTHERS, NOTHING)))
random.Random("cells").shuffle(CELLS)  # so that any number of frames is a sample of all


@dataclass(frozen=True)
class Stray:
    """One frame without any of the codes: how often it was compared, whether the general decoder read the
    code that it shows, and the codes that were told and are wrong."""

    kind: str
    what: str
    readings: int
    decoded: bool
    nearest: float
    wrong: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Listening(KnownSlates):
    """A set of codes that keeps the grids it is asked about."""

    asked: list[NDArray[np.floating]] = field(default_factory=list)

    def match(self, free: NDArray[np.floating]) -> ClosedSetMatch:
        self.asked.append(free)
        return super().match(free)


def main(arguments: argparse.Namespace) -> None:
    held_codes(arguments.sets)  # before the processes part, so that they share the sets
    numbers = range(arguments.first, arguments.first + arguments.frames)
    with ProcessPoolExecutor(arguments.cores) as pool:
        done = pool.map(partial(stray, sets=arguments.sets), numbers)
        show(list(told_of(done, arguments.frames)), arguments.sets)


def stray(number: int, sets: int) -> Stray:
    kind, strength, face, what = CELLS[number % len(CELLS)]
    shoot = OTHER_SHOOT if what == OTHERS else SHOOT
    code = new_code(shoot, held_codes(sets), random.Random(f"stray {number}"))
    picture = drawn(kind, strength, face, what, code, FIRST_SEED + number)
    first = closed_set(0)
    listening = Listening(first.codes, first.template, first.modules)
    told = [str(one.text) for one in as_ingest(picture, listening) if one.text is not None]
    nearest = 0.0
    for free in listening.asked:
        for each in range(sets):
            match = closed_set(each).match(free)
            nearest = max(nearest, match.score / match.needed)
            told += [str(match.code)] if match.accepted and each > 0 else []
    right = () if what == NOTHING else (code,)
    wrong = tuple(text for text in told if text not in right)
    readings = sets if listening.asked else 0
    return Stray(kind, what, readings, any(text in right for text in told), nearest, wrong)


@lru_cache(maxsize=1)
def held_codes(sets: int) -> frozenset[str]:
    return frozenset(code for number in range(sets) for code in closed_set(number).codes)


def drawn(kind: str, strength: int, face: str, what: str, code: str, seed: int) -> Image.Image:
    how = trouble(kind, strength, seed)
    if what != NOTHING:
        return frame(FACES[face][1](code), how, seed)
    return sitter(how, seed) if face == "bare" else frame(lettering(code), how, seed)


def lettering(code: str) -> Image.Image:
    """The face of this project's slate without its symbols."""
    face = slate(code)
    for box in ticket_layout(*face.size).symbols:
        ImageDraw.Draw(face).rectangle((box.x, box.y, box.right, box.bottom), fill=255)
    return face


def show(strays: Sequence[Stray], sets: int) -> None:
    print(f"{'frame shows':28}{'frames':>8}{'decoded':>9}{'compared':>10}{'readings':>10}", end="")
    print(f"{'wrong':>7}{'nearest':>9}")
    for what in (UNKNOWN, OTHERS, NOTHING, "all"):
        some = [one for one in strays if what in (one.what, "all")]
        compared = sum(one.readings > 0 for one in some)
        readings, wrong = sum(one.readings for one in some), sum(len(one.wrong) for one in some)
        print(f"{what:28}{len(some):8}{sum(one.decoded for one in some):9}{compared:10}", end="")
        print(f"{readings:10}{wrong:7}{max((one.nearest for one in some), default=0.0):9.2f}")
    by_kind = Counter(one.kind for one in strays if one.readings)
    print("compared, by kind: " + ", ".join(f"{kind} {by_kind[kind]}" for kind in KINDS))
    print(f"readings of one frame share its grids, compared with {sets} sets of {CLOSED_SET} codes,", end=" ")
    print(f"{len(held_codes(sets))} codes in all")
    for one in strays:
        if one.wrong:
            print(f"WRONG: {one}")


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("frames", nargs="?", type=int, default=840)
    parser.add_argument("--first", type=int, default=0, help="number of the first frame")
    parser.add_argument("--sets", type=int, default=110, help="of codes that each frame is compared with")
    parser.add_argument("--cores", type=int, default=2)
    main(parser.parse_args())
