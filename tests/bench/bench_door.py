"""Milliseconds for finding people, checking them in, and keeping every person's status up to date.

    python -m tests.bench.bench_door [PEOPLE] [FRAMES]      (default 10,000 people and 100,000 frames)

The shoot is made in a temporary folder: four in five people have arrived, each with one of 60 deck cards, and
the frames are named for the first people. Printed by the command above on two cores that were busy with other
work, in milliseconds:

    10000 people, 100000 frames: median, 95 of 100, longest
    everybody read at first                     1209.79  1209.79  1209.79
    a finder built                               488.98   494.67   494.67
    find                                           0.47     6.16    62.46
    find a paste of 100,000 characters             0.97     4.74     4.74
    check in                                       8.00    12.04    12.15
      catch up after it (check in)                 5.65     5.65     5.65
    tie a card                                    12.03    24.07    37.53
    look whether there is anything new             0.73     5.00     5.68
    the queue                                      1.61     5.95     5.95
    counts by stage and group                      3.49     7.80     7.80
    a history                                     10.64    17.94    17.94
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import Table, insert

from onsite.checkin.check_in import assign_deck_card, check_in_person, undo_arrival_of
from onsite.checkin.deck_cards import make_deck
from onsite.checkin.waiting_people import waiting_people
from onsite.core.codes import new_code
from onsite.roster.find_people import PersonFinder
from onsite.simulator.invented_people import invent_people
from onsite.status.person_history import history
from onsite.status.person_status import count_groups, count_stages
from onsite.status.status_cache import StatusCache
from onsite.store.event_projections import rebuild_projections
from onsite.store.schema import Camera, EventRow, Frame, Meta, Person, SequenceNumber, VerdictRow
from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot

PEOPLE, FRAMES, CARDS = 10_000, 100_000, 60
SEEN = 14
"""Frames of each person."""


def make(folder: Path, people: int, frames: int) -> Shoot:
    """The shoot, written straight into its tables."""
    now = datetime.now(UTC)
    settings = Settings("Bench", timezone="Europe/Vienna", date=now.date().isoformat())
    shoot = create_shoot(folder, settings, "AAAA")
    make_deck(shoot, CARDS)
    rng = random.Random(3)
    order = rng.sample(range(1, people + 1), people)
    here = order[: people * 4 // 5]
    events: list[dict[str, Any]] = []

    def happen(kind: str, at: datetime, person: int, card: int | None = None, **details: Any) -> None:
        events.append(
            {
                "id": len(events) + 1, "at": at, "recorded": at, "station": "door-1", "kind": kind,
                "person_id": person, "card_id": card, "frame_id": None, "details": details,
            }
        )  # fmt: skip

    for person in range(1, people + 1):
        happen("listed", now - timedelta(days=2), person)
    for number, person in enumerate(here, start=1):
        at = now - timedelta(seconds=3 * (len(here) - number))
        happen("arrived", at, person, sequence=number)
        happen("card tied", at, person, card=number % CARDS + 1)
        happen("slate shown", at, person)
    with shoot.writing() as session:
        for table, rows in (
            (Person, _people(people, rng)),
            (SequenceNumber, [{"number": n, "person_id": p} for n, p in enumerate(here, start=1)]),
            (EventRow, events),
            (Camera, [{"id": 1, "label": "A", "identity": "A", "serial": "1", "model": ""}]),
            (Frame, [_frame(number, now) for number in range(frames)]),
            (VerdictRow, [_verdict(number, order[number // SEEN % people]) for number in range(frames)]),
        ):
            into: Table = table.__table__  # type: ignore[attr-defined]
            session.execute(insert(into), rows)
        session.add(Meta(key="matched_event", value=str(len(events))))
        rebuild_projections(session)
    return shoot


def _people(count: int, rng: random.Random) -> list[dict[str, Any]]:
    codes: set[str] = set()
    rows = []
    for number, guest in enumerate(invent_people(count, 1), start=1):
        code = new_code("AAAA", codes, rng)
        codes.add(code)
        rows.append(
            {
                "id": number, "key": guest.key, "own_key": False, "walk_in": False, "name": guest.name,
                "given": guest.given, "family": guest.family, "group_name": guest.group, "role": guest.role,
                "email": guest.email, "phone": "", "slot": guest.slot, "consent": guest.consent,
                "note": guest.note, "spoken": "", "extra": {}, "code": code,
            }
        )  # fmt: skip
    return rows


def _frame(number: int, now: datetime) -> dict[str, Any]:
    taken = now.replace(tzinfo=None) - timedelta(hours=8) + timedelta(seconds=number * 0.25)
    return {
        "id": number + 1, "camera_id": 1, "counter": number % 9999 + 1, "name": f"A{number:06}.JPG",
        "taken": taken, "utc_offset": None, "source": "card", "width": 0, "height": 0,
        "trouble": "", "look": None,
    }  # fmt: skip


def _verdict(number: int, person: int) -> dict[str, Any]:
    kind = "named" if number % SEEN else "slate"
    return {
        "frame_id": number + 1, "kind": kind, "person_id": person, "how": "slate", "doubt": "",
        "run": number // SEEN, "suggestions": [],
    }  # fmt: skip


def told(what: str, acts: list[Callable[[], object]]) -> None:
    """Runs each, and prints median, 95 of 100, and longest in milliseconds."""
    took = []
    for act in acts:
        begun = time.perf_counter()
        act()
        took.append(1000 * (time.perf_counter() - begun))
    took.sort()
    middle, most = took[len(took) // 2], took[len(took) * 95 // 100]
    print(f"{what:<42} {middle:8.2f} {most:8.2f} {took[-1]:8.2f} ms")


def main() -> None:
    people, frames = (int(text) for text in (*sys.argv[1:], str(PEOPLE), str(FRAMES))[:2])
    rng = random.Random(1)
    with tempfile.TemporaryDirectory() as folder:
        shoot = make(Path(folder) / "shoot", people, frames)
        everybody = StatusCache()
        print(f"{people} people, {frames} frames: median, 95 of 100, longest")
        told("everybody read at first", [lambda: everybody.catch_up(shoot)])
        someone = [s.person for s in everybody.statuses.values()]
        told("a finder built", [lambda: PersonFinder(someone)] * 3)
        names = [one.name[: rng.randint(1, len(one.name))] for one in rng.sample(someone, 300)]
        told("find", [lambda name=name: everybody.finder.find(name) for name in names])
        told("find a paste of 100,000 characters", [lambda: everybody.finder.find("Anna de " * 12_500)] * 9)
        put = [replace(one, name=f"{one.name}a", family=f"{one.family}a") for one in rng.sample(someone, 100)]
        spare = PersonFinder(someone)
        told("put a new spelling", [lambda one=one: spare.add_or_replace(one) for one in put])
        free = [i for i, s in everybody.statuses.items() if s.arrived is None][:50]
        for what, act in (
            ("check in", lambda i: check_in_person(shoot, i, "door-1")),
            ("tie a card", lambda i: assign_deck_card(shoot, i, i % CARDS + 1, "door-1")),
            ("take back", lambda i: undo_arrival_of(shoot, i, "door-1")),
        ):
            told(what, [lambda i=i, act=act: act(i) for i in free[1:]])
            everybody.catch_up(shoot)
            act(free[0])
            told(f"  catch up after it ({what})", [lambda: everybody.catch_up(shoot)])
        told("look whether there is anything new", [lambda: everybody.catch_up(shoot)] * 50)
        listed = everybody.statuses.values()
        told("the queue", [lambda: waiting_people(listed, shoot.now())] * 20)
        told("counts by stage and group", [lambda: (count_stages(listed), count_groups(listed))] * 20)
        told("a history", [lambda i=i: history(shoot, i) for i in free[:20]])
        shoot.engine.dispose()


if __name__ == "__main__":
    main()
