"""A camera of the demo that photographs whoever waits; its frames land in a folder while one watches."""

from __future__ import annotations

import multiprocessing
import time
from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from onsite.checkin.check_in import check_in
from onsite.checkin.waiting_people import arrivals
from onsite.core.file_counter import LAST_COUNTER, counter_text
from onsite.roster.find_people import RosterPerson
from onsite.roster.read_people import read_people
from onsite.simulator.invented_exposure import STILL, ExposureKind, SimulatedExposure, SimulatedSlate
from onsite.simulator.simulated_day import offset_text
from onsite.store.shoot import Shoot, open_shoot

SIZE = (720, 480)
"""Pixels of a drawn frame: slates still read, pictures still fill a terminal, and it is quickly drawn."""

BETWEEN_FRAMES, BETWEEN_PEOPLE = 3.0, 6.0
"""Seconds: twice as fast as on a real set, so that something happens while one watches."""

FORGETS = 4
"""Of so many people, one forgets the slate."""

STAY_AWAY = 12
"""So many of those expected come only if they are checked in by hand; the others come by themselves."""

_DOOR = "door-2"


@dataclass(frozen=True, slots=True)
class LiveCamera:
    """The camera, as it is handed to another process."""

    shoot: Path
    """The shoot's folder."""
    folder: Path
    """Where frames land."""
    seed: int
    last: SimulatedExposure
    """The camera's last exposure so far."""
    done: frozenset[int]
    """Ids of the people who were photographed before."""

    def start(self) -> None:
        """Begin to shoot, in a process of its own that ends with this one."""
        apart = multiprocessing.get_context("spawn")  # after a fork, both would use one open database
        apart.Process(target=_shoot, args=(self,), daemon=True).start()


def _shoot(camera: LiveCamera) -> None:
    """Photograph whoever waits, until the process that began this has ended."""
    screens = multiprocessing.parent_process()
    shoot, last, done = open_shoot(camera.shoot), camera.last, set(camera.done)
    number = 0
    while screens is not None and screens.is_alive():
        person = who_is_next(shoot, done)
        for exposure in turn(last, person, number + 1) if person is not None else ():
            if not screens.is_alive():
                return
            last = _now(exposure, shoot)
            _land(last, camera)
            time.sleep(BETWEEN_FRAMES)
        if person is not None:
            done.add(person.id)
            number += 1
        time.sleep(BETWEEN_PEOPLE)


def who_is_next(shoot: Shoot, done: Collection[int]) -> RosterPerson | None:
    """Who has waited longest. Where nobody waits, somebody arrives, if more than `STAY_AWAY` are expected."""
    with shoot.reading() as session:
        here = arrivals(session)
        people = {person.id: person for person in read_people(session)}
    waiting = sorted((at, person) for person, (at, _, _) in here.items() if person not in done)
    if waiting:
        return people[waiting[0][1]]
    expected = [p for p in people.values() if p.id not in here and p.id not in done and not p.withdrawn]
    if len(expected) > STAY_AWAY:
        return check_in(shoot, expected[0].key, station=_DOOR).person
    return None


def turn(last: SimulatedExposure, person: RosterPerson, number: int) -> Iterator[SimulatedExposure]:
    """The exposures of a person after `last`, the `number`-th in front of the camera: slate, then portraits.

    Their times are those of `last`.
    """
    kinds = [ExposureKind.SLATE, *[ExposureKind.PORTRAIT] * (4 + number % 3)]
    for kind in kinds[1:] if number % FORGETS == 0 else kinds:
        counter = last.counter % LAST_COUNTER + 1
        slate = SimulatedSlate(person.code, person.name) if kind is ExposureKind.SLATE else None
        last = replace(
            last,
            number=last.number + 1,
            name=f"{last.camera.prefix}{counter_text(counter)}.JPG",
            counter=counter,
            orientation=1,
            kind=kind,
            person=person.key,
            outfit=0,
            slate=slate,
            badge=None,
            grey_card=False,
            dressed_as=None,
            conditions=STILL,
        )
        yield last


def _now(exposure: SimulatedExposure, shoot: Shoot) -> SimulatedExposure:
    at: datetime = shoot.now()
    local = (at + exposure.camera.error).replace(tzinfo=None)
    hundredths = local.replace(microsecond=local.microsecond // 10_000 * 10_000)
    return replace(exposure, at=at, camera_time=hundredths, offset=offset_text(at))


def _land(exposure: SimulatedExposure, camera: LiveCamera) -> None:
    """Write the frame as a tether program does: whole, under its name, at once."""
    from onsite.simulator.draw_invented_exposure import picture, save

    path = camera.folder / exposure.name
    part = path.with_name(f".{path.name}.part")
    save(exposure, picture(exposure, camera.seed, SIZE), part)
    part.replace(path)
