"""Made-up shoots as big as they get: what the benchmarks measure on. Invented people, no real ones."""

from __future__ import annotations

import random
import resource
import sys
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from sqlalchemy import insert
from sqlmodel import SQLModel

from onsite.core.codes import new_code, new_shoot_mark
from onsite.matching.evidence import Evidence, FrameEvidence, SlateShown, Symbol
from onsite.simulator.accident_days.simulated_looks import parts_of, signature
from onsite.simulator.accident_days.simulated_turns import Worn
from onsite.simulator.invented_people import invent_people
from onsite.store.event_projections import rebuild_projections
from onsite.store.events import EventKind
from onsite.store.schema import Camera, EventRow, Frame, Person, SequenceNumber, SymbolReading
from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot

CAMERAS = 4
LARGE = (6000, 4000)  # 24 megapixels: drawn smaller and enlarged, with noise of its own
OUTFITS = 400
"""People with looks of their own; after so many the looks come again, as clothes do."""
FORGOTTEN = 0.01
BETWEEN_PEOPLE, BETWEEN_FRAMES = 36, 4  # seconds


def evidence(
    people: int,
    seed: int = 1,
    *,
    each: int = 10,
    arrived: int | None = None,
    photographed: int | None = None,
    ends: float | None = None,
) -> Evidence:
    """People who come one after another to four cameras: a slate and portraits, `each` frames together, a
    slate forgotten here and there.

    The first `arrived` of them are there and the first `photographed` of those have frames; all of them
    where that is not said. The last frames are taken at `ends`, in seconds since the epoch.
    """
    rng = random.Random(seed)
    mark = new_shoot_mark(rng)
    arrived = people if arrived is None else arrived
    photographed = arrived if photographed is None else photographed
    turn = BETWEEN_PEOPLE + BETWEEN_FRAMES * each
    starts = 1_750_000_000.0 if ends is None else ends - turn * -(-photographed // CAMERAS)
    codes: dict[str, int] = {}
    came: dict[int, float] = {}
    shown: list[SlateShown] = []
    frames: list[FrameEvidence] = []
    clocks = [starts] * CAMERAS
    counters = [1] * CAMERAS
    for person in range(people):
        camera = person % CAMERAS
        code = new_code(mark, codes, rng)
        codes[code] = person
        if person < arrived:
            came[person] = clocks[camera] - 300
        if person >= photographed:
            clocks[camera] += 1
            continue
        shown.append(SlateShown(clocks[camera] + 30, person, f"set-{camera}"))
        clocks[camera] += BETWEEN_PEOPLE
        forgotten = rng.random() < FORGOTTEN
        own = _looks(person % OUTFITS)
        for number in range(each):
            clocks[camera] += BETWEEN_FRAMES
            look = own[0] if number == 0 else own[1 + rng.randrange(len(own) - 1)]
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
                    look=look,
                )
            )
            counters[camera] = counters[camera] % 9999 + 1
    rng.shuffle(frames)
    return Evidence(mark, frames, codes, came, slates_shown=shown)


@cache
def _looks(outfit: int) -> tuple[bytes, ...]:
    """Signatures of somebody with a slate, and of some portraits."""
    rng = np.random.default_rng(outfit)
    parts = parts_of(1, Worn(outfit), False)
    return tuple(signature(parts, rng, with_slate=number == 0) for number in range(6))


def fill(folder: Path, evidence: Evidence) -> Shoot:
    """A shoot in the store with that evidence in it. Ids in it are one higher: they begin at 1."""
    first = datetime.fromtimestamp(min(evidence.arrived.values()), UTC) - timedelta(hours=1)
    made = create_shoot(folder, Settings(name="Festival", date=first.date().isoformat()), evidence.shoot)
    codes = {person: code for code, person in evidence.codes.items()}
    numbers = {person: number for number, person in enumerate(evidence.arrived, start=1)}
    people = [
        {
            "id": p + 1,
            "key": guest.key,
            "name": guest.name,
            "given": guest.given,
            "family": guest.family,
            "group": guest.group,
            "role": guest.role,
            "slot": guest.slot,
            "consent": guest.consent,
            "note": guest.note,
            "code": codes[p],
            "extra": {},
        }
        for p, guest in enumerate(invent_people(len(codes), 1))
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
    happened: list[tuple[EventKind, datetime, int, str, dict[str, Any]]] = [
        (EventKind.LISTED, first, person, "", {}) for person in codes
    ]
    happened += [
        (EventKind.ARRIVED, datetime.fromtimestamp(at, UTC), person, "door-1", {"sequence": numbers[person]})
        for person, at in evidence.arrived.items()
    ]
    happened += [
        (EventKind.SLATE_SHOWN, datetime.fromtimestamp(shown.at, UTC), shown.person, shown.station, {})
        for shown in evidence.slates_shown
    ]
    events = [
        {
            "at": at,
            "recorded": at,
            "kind": kind.value,
            "person_id": person + 1,
            "station": station,
            "details": details,
        }
        for kind, at, person, station, details in sorted(happened, key=lambda event: event[1])
    ]
    tables: list[tuple[type[SQLModel], list[dict[str, Any]]]] = [
        (Person, people),
        (SequenceNumber, [{"number": number, "person_id": person + 1} for person, number in numbers.items()]),
        (Camera, cameras),
        (Frame, frames),
        (SymbolReading, readings),
        (EventRow, events),
    ]
    with made.writing() as session:
        for table, rows in tables:
            session.execute(insert(table), rows)
        rebuild_projections(session)
    return made


def peak_mib(who: int = resource.RUSAGE_SELF) -> float:
    """A process's peak so far; the system states it in KiB, on macOS in bytes."""
    peak = resource.getrusage(who).ru_maxrss
    return peak / (2**20 if sys.platform == "darwin" else 2**10)
