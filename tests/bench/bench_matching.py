"""How long matching takes, by itself: a big client's week beside a tenth of it. Run it as a script.

Two made-up shoots on four cameras, nine portraits and a slate for each person, a slate forgotten here and
there. The smaller one is the baseline of the same run: matching should cost about n log n.
"""

from __future__ import annotations

import random
import resource
import sys
import time

from onsite.matching.evidence import Evidence, FrameEvidence, Shown, Symbol
from onsite.matching.match import match
from onsite.slate.code import new_code, new_shoot_mark

CAMERAS = 4
PER_PERSON = 10  # frames, the slate among them
BINS = 192
FORGOTTEN = 0.01


def shoot(people: int, seed: int = 1) -> Evidence:
    rng = random.Random(seed)
    mark = new_shoot_mark(rng)
    codes: dict[str, int] = {}
    arrived: dict[int, float] = {}
    shown: list[Shown] = []
    frames: list[FrameEvidence] = []
    clocks = [1_750_000_000.0] * CAMERAS
    counters = [1] * CAMERAS
    for person in range(people):
        camera = person % CAMERAS
        code = new_code(mark, codes, rng)
        codes[code] = person
        arrived[person] = clocks[camera] - 300
        shown.append(Shown(clocks[camera] + 30, person, f"set-{camera}"))
        clocks[camera] += 36
        forgotten = rng.random() < FORGOTTEN
        own = [rng.randrange(BINS) for _ in range(8)]
        for number in range(PER_PERSON):
            clocks[camera] += 4
            look = bytearray(BINS)
            for place in own:
                look[place] = 60 + rng.randrange(40)
            symbols = (Symbol(code),) if number == 0 and not forgotten else ()
            name = f"{camera}_{counters[camera]:04d}"
            frames.append(
                FrameEvidence(
                    len(frames),
                    camera,
                    name,
                    clocks[camera] - 3600 * camera,
                    counters[camera],
                    symbols=symbols,
                    look=bytes(look),
                )
            )
            counters[camera] = counters[camera] % 9999 + 1
    rng.shuffle(frames)
    return Evidence(mark, frames, range(people), codes, arrived, shown=shown)


def seconds(evidence: Evidence) -> float:
    start = time.perf_counter()
    result = match(evidence)
    taken = time.perf_counter() - start
    counts = ", ".join(f"{count} {kind}" for kind, count in result.count().items())
    print(f"{len(evidence.frames):7} frames, {len(evidence.people):6} people: {taken:6.2f} s ({counts})")
    return taken


def peak_mib() -> float:
    """The process's peak so far; the system states it in KiB, on macOS in bytes."""
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / (2**20 if sys.platform == "darwin" else 2**10)


def main() -> None:
    small, large = shoot(1_000), shoot(10_000)
    before = peak_mib()
    baseline = min(seconds(small) for _ in range(3))
    big = seconds(large)
    print(f"ten times the frames take {big / baseline:.1f} times as long")
    print(f"peak memory {peak_mib():.0f} MiB, of which the evidence {before:.0f} MiB")


if __name__ == "__main__":
    main()
