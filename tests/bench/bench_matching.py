"""How long matching takes, by itself and around the store. Run it as a script; `store` as its argument adds
the store's part.

Two made-up shoots on four cameras, nine portraits and a slate for each person, a slate forgotten here and
there: a big client's week, and a tenth of it as the baseline of the same run. Matching should cost about
n log n. In the store: how long the write lock is held, a decision by hand, the last frames of a camera, the
lanes of the day.
"""

from __future__ import annotations

import random
import resource
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import insert
from sqlmodel import SQLModel

from onsite.matching.evidence import Evidence, FrameEvidence, Shown, Symbol
from onsite.matching.match import match
from onsite.slate.code import new_code, new_shoot_mark
from onsite.store.record import Kind
from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot
from onsite.store.tables import Camera, Event, Frame, Person, Reading
from onsite.wrap import decide, keep
from onsite.wrap.apart import bring_up_to_date_apart
from onsite.wrap.current import frames_of, match_now
from onsite.wrap.lanes import lanes_now
from onsite.wrap.lists import lists_now
from onsite.wrap.live import live
from onsite.wrap.undo import undo_last

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


def fill(folder: Path, evidence: Evidence) -> Shoot:
    """A shoot in the store with that evidence in it. Ids in it are one higher: they begin at 1."""
    made = create_shoot(folder, Settings(name="Festival", date="2025-06-15"), evidence.shoot)
    day = datetime(2025, 6, 15, tzinfo=UTC)
    codes = {person: code for code, person in evidence.codes.items()}
    people = [
        {
            "id": p + 1,
            "key": f"C-{p}",
            "name": f"Singer {p}",
            "group": f"Choir {p % 40}",
            "code": codes[p],
            "extra": {},
        }
        for p in evidence.people
    ]
    cameras = [
        {"id": c + 1, "label": "ABCD"[c], "identity": f"c{c}", "serial": f"{c}"} for c in range(CAMERAS)
    ]
    frames = [
        {
            "id": frame.id + 1,
            "camera_id": frame.camera + 1,
            "counter": frame.counter,
            "name": frame.name,
            "taken": datetime.fromtimestamp(frame.taken or 0.0, UTC).replace(tzinfo=None),
            "source": "card",
            "look": frame.look,
        }
        for frame in sorted(evidence.frames, key=lambda frame: frame.id)
    ]
    readings = [
        {"frame_id": frame.id + 1, "text": symbol.text, "turned": 0, "share": 0.3}
        for frame in evidence.frames
        for symbol in frame.symbols
    ]
    happened = [(Kind.LISTED, day, person, "") for person in evidence.people]
    happened += [
        (Kind.ARRIVED, datetime.fromtimestamp(at, UTC), person, "door-1")
        for person, at in evidence.arrived.items()
    ]
    happened += [
        (Kind.SLATE_SHOWN, datetime.fromtimestamp(shown.at, UTC), shown.person, shown.station)
        for shown in evidence.shown
    ]
    events = [
        {
            "at": at,
            "recorded": at,
            "kind": kind.value,
            "person_id": person + 1,
            "station": station,
            "details": {},
        }
        for kind, at, person, station in sorted(happened, key=lambda event: event[1])
    ]
    tables: list[tuple[type[SQLModel], list[dict[str, Any]]]] = [
        (Person, people),
        (Camera, cameras),
        (Frame, frames),
        (Reading, readings),
        (Event, events),
    ]
    with made.writing() as session:
        for table, rows in tables:
            session.execute(insert(table), rows)
    return made


class Locks:
    """How long the write lock was held, each time: a shoot whose `writing` is timed."""

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
        until = keep.matched_until(made.reading().__enter__())
        timed("the same kept again", lambda: keep.keep(made, outcome.verdicts, until))
        print(f"  {locks.told()}")
        frames = iter(range(100, 100_000, 97))
        timed("a frame given by hand", lambda: decide.give_frames(made, [next(frames)], 7, "set-A"), 20)
        timed("a run split", lambda: decide.split(made, next(frames), "set-A"), 20)
        timed("undone", lambda: undo_last(made, "set-A"), 20)
        locks.told()
        timed("matched again in its own process", lambda: bring_up_to_date_apart(made))
        decide.give_frames(made, [500], 7, "set-A")
        locks.told()
        timed("matched again after a decision", lambda: match_now(made))
        print(f"  {locks.told()}")
        timed("the last 300 frames of a camera", lambda: live(made, 1), 20)
        timed("the lanes of the day", lambda: lanes_now(made), 3)
        day = lanes_now(made)
        timed("the lists of the wrap", lambda: lists_now(made, day), 3)
        with made.reading() as session:
            timed("frames of everybody", lambda: frames_of(session), 5)
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
