"""How long matching takes, by itself and around the store. Run it as a script; `store` as its argument adds
the store's part.

Two made-up shoots on four cameras, nine portraits and a slate for each person, a slate forgotten here and
there: a big client's week, and a tenth of it as the baseline of the same run. Matching should cost about n
log n. It runs without the garbage collector, as in its own process (`reconcile.match_process`). In the store:
how long the write lock is held, an override, the last frames of a camera, the lanes of the day.

100,000 frames take 1.9 to 2.0 s of processor time where nothing else runs, ten times the frames 7 times as
long. Peak memory 331 MiB, of which the evidence 196.
"""

from __future__ import annotations

import gc
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from onsite.matching.evidence import Evidence
from onsite.matching.match_frames import match
from onsite.reconcile import overrides, store_match
from onsite.reconcile.camera_lanes import read_day_lanes
from onsite.reconcile.current_match import frames_per_person, match_now
from onsite.reconcile.end_of_day_lists import read_end_of_day_lists
from onsite.reconcile.live_match import live_frames
from onsite.reconcile.match_process import update_match_in_process
from onsite.reconcile.overrides import undo_last_override
from onsite.store.shoot import Shoot
from tests.bench.big import evidence as shoot
from tests.bench.big import fill, peak_mib


def seconds(evidence: Evidence) -> float:
    gc.collect()
    gc.disable()
    start = time.process_time()
    result = match(evidence)
    taken = time.process_time() - start
    gc.enable()
    counts = ", ".join(f"{count} {kind}" for kind, count in result.count().items())
    size = f"{len(evidence.frames):7} frames, {len(evidence.codes):6} people"
    print(f"{size}: {taken:6.2f} s of CPU ({counts})")
    return taken


class Locks:
    """Durations for which the write lock was held, by a shoot whose `writing` is timed."""

    def __init__(self, monkeyed: type[Shoot]) -> None:
        self.held: list[float] = []
        plain = monkeyed.writing

        @contextmanager
        def timed(shoot: Shoot) -> Iterator[Any]:
            start = 0.0
            try:
                with plain(shoot) as session:
                    start = time.perf_counter()
                    yield session
            finally:
                self.held.append(time.perf_counter() - start)

        monkeyed.writing = timed  # type: ignore[method-assign, assignment]

    def told(self) -> str:
        held, self.held = self.held, []
        return f"lock taken {len(held)} times, at most {max(held, default=0.0) * 1000:.0f} ms"


def timed(what: str, do: Callable[[], object], times: int = 1) -> None:
    took = []
    for _ in range(times):
        start = time.perf_counter()
        do()
        took.append(time.perf_counter() - start)
    print(
        f"{what}: median {statistics.median(took) * 1000:.0f} ms, worst {max(took) * 1000:.0f} ms of {times}"
    )


def in_the_store(evidence: Evidence) -> None:
    locks = Locks(Shoot)
    with tempfile.TemporaryDirectory() as folder:
        made = fill(Path(folder) / "shoot", evidence)
        locks.told()
        outcome = match_now(made)
        print(f"first match kept: {locks.told()}")
        until = store_match.matched_until(made.reading().__enter__())
        timed("the same kept again", lambda: store_match.save_match(made, outcome, until))
        print(f"  {locks.told()}")
        frames = iter(range(100, 100_000, 97))
        timed("a frame given by hand", lambda: overrides.give_frames(made, [next(frames)], 7, "set-A"), 20)
        timed("a run split", lambda: overrides.split_run(made, next(frames), "set-A"), 20)
        timed("undone", lambda: undo_last_override(made, "set-A"), 20)
        locks.told()
        timed("matched again in its own process", lambda: update_match_in_process(made))
        overrides.give_frames(made, [500], 7, "set-A")
        locks.told()
        timed("matched again after a decision", lambda: match_now(made))
        print(f"  {locks.told()}")
        timed("the last 300 frames of a camera", lambda: live_frames(made, 1), 20)
        timed("the lanes of the day", lambda: read_day_lanes(made), 3)
        day = read_day_lanes(made)
        timed("the lists of the day's end", lambda: read_end_of_day_lists(made, day), 3)
        with made.reading() as session:
            timed("frames of everybody", lambda: frames_per_person(session), 5)
        made.engine.dispose()


def main() -> None:
    small, large = shoot(1_000), shoot(10_000)
    before = peak_mib()
    baseline = min(seconds(small) for _ in range(3))
    big = seconds(large)
    print(f"ten times the frames take {big / baseline:.1f} times as long")
    print(f"peak memory {peak_mib():.0f} MiB, of which the evidence {before:.0f} MiB")
    if "store" in sys.argv[1:]:
        in_the_store(large)


if __name__ == "__main__":
    main()
