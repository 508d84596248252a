"""The demo for the screens: a festival in the middle of its second day, with a camera that goes on shooting.

On the first day, ten days ago, a few people were photographed; their pictures are at every stage of the work
after a shoot. Today the set opened a quarter of an hour ago, and most people are still to come.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import AbstractContextManager
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import islice
from pathlib import Path
from zoneinfo import ZoneInfo

from onsite.core.progress import Progress
from onsite.frames.folder_watch_events import WatchedFolder, save_watched_folder
from onsite.frames.ingest import ingest
from onsite.matching.evidence import FrameKind
from onsite.reconcile.current_match import match_now
from onsite.reconcile.overrides import give_frames, set_frames_aside
from onsite.roster.read_people import read_people
from onsite.simulator.invented_exposure import ExposureKind, SimulatedExposure
from onsite.simulator.invented_people import InventedPerson, invent_people
from onsite.simulator.play_delivery import play_delivery
from onsite.simulator.simulated_day import SimulatedDay
from onsite.simulator.simulated_demo import (
    AGREED,
    CARDS_FOLDER,
    CLIENT,
    NAME,
    OPENS,
    at_the_door,
    day_of,
    draw_one,
    on_cards,
    shoot_with_roster,
)
from onsite.simulator.simulated_live_camera import SIZE, LiveCamera
from onsite.slates.clock_slate import ClockSlate
from onsite.store.settings import Settings, local_zone_name
from onsite.store.shoot import Shoot

FIRST_DAY = timedelta(days=10)
"""From the first day to today: long enough for a batch to be out and back."""

FIRST_PART, OPEN_SINCE = timedelta(minutes=5), timedelta(minutes=10)
"""Of the simulated day: what makes the first day, and what is over now. A dozen people, as many
frames as are drawn in a few seconds."""

WAITING = 4
"""People who wait at the set when the screens open; the camera is busy with them for two minutes."""

TETHER = "tether"
"""The folder in the shoot's own in which the camera's frames land."""

ShowProgress = Callable[[str], AbstractContextManager[Progress]]


def begin_live_demo(
    folder: Path, number: int, seed: int, station: str, show_progress: ShowProgress
) -> tuple[Shoot, LiveCamera]:
    """Make a shoot of `number` people in `folder`, up to now, and the camera that goes on in it.

    `station` watches the camera's folder when its screens open. `show_progress` opens a progress bar.
    """
    zone = ZoneInfo(local_zone_name())
    now = datetime.now(zone).replace(second=0, microsecond=0)
    opens = now - OPEN_SINCE
    guests = [_slot_from(guest, opens) for guest in invent_people(number, seed)]
    shoot = shoot_with_roster(folder, _settings(now, zone), guests)
    first, today = _parts(day_of(shoot, guests, seed, opens), now, shoot.mark)
    every = (*first.exposures, *today.exposures)
    with ProcessPoolExecutor(os.cpu_count()) as pool:  # draws today's frames while the first day is read
        frames = on_cards(every, folder / CARDS_FOLDER)
        drawn = pool.map(draw_one, ((e, seed, SIZE, path) for path, e in frames.items()), chunksize=2)
        keys = at_the_door(shoot, first.check_ins, first.showings)
        with show_progress("drawing the first day") as step:
            _wait_for(drawn, len(first.exposures), step)
        with show_progress("reading the first day") as step:
            cards = on_cards(first.exposures, folder / CARDS_FOLDER)
            read = ingest(shoot, sorted(cards), progress=step)
        _settle(shoot, [(read.frame_ids[path], exposure) for path, exposure in cards.items()], keys)
        with show_progress("the days after it") as step:
            play_delivery(shoot, seed, step, (now - FIRST_DAY).date())
        at_the_door(shoot, today.check_ins, today.showings)
        with show_progress("drawing today") as step:
            _wait_for(drawn, len(today.exposures), step)
    with show_progress("reading today") as step:
        ingest(shoot, sorted(on_cards(today.exposures, folder / CARDS_FOLDER)), progress=step)
    match_now(shoot)
    tether = folder / TETHER
    tether.mkdir()
    save_watched_folder(shoot, station, WatchedFolder(str(tether.absolute())))
    shot = {e.person for e in every}
    with shoot.reading() as session:
        done = frozenset(person.id for person in read_people(session) if person.key in shot)
    last = max((e for e in every if e.camera.label == "A"), key=lambda e: e.at)
    return shoot, LiveCamera(folder.absolute(), tether.absolute(), seed, last, done)


def things_to_try(shoot: Shoot) -> tuple[str, ...]:
    """Three things to try in the screens of a live demo, one sentence each."""
    with shoot.reading() as session:
        expected = [p for p in reversed(read_people(session)) if p.sequence is None]
    person = next((p for p in expected if p.name.isascii() and p.family.isalpha()), None)
    door = (
        f"type {person.family.lower()} and press Enter. {person.name} is checked in, and photographed next."
        if person is not None
        else "press F8 and add somebody who is not on the list. They are photographed next."
    )
    return (
        f"F1 Door: {door}",
        "F2 Set: watch frames land from camera A, each under its person. Some forget the slate.",
        "F3 Reconcile: settle a loose run, shown between its neighbours. N goes to the next one.",
    )


def _settings(now: datetime, zone: ZoneInfo) -> Settings:
    def day(days: int) -> str:
        return (now + timedelta(days=days)).date().isoformat()

    agreed = replace(AGREED, long_side=600, due=day(14), picks_due=day(2))
    return Settings(NAME, CLIENT, now.date().isoformat(), zone.key, agreed=agreed)


def _slot_from(guest: InventedPerson, opens: datetime) -> InventedPerson:
    """The same person with a slot counted from `opens` instead of the opening of the invented day."""
    if not guest.slot:
        return guest
    hours, minutes = map(int, guest.slot.split(":"))
    later = timedelta(hours=hours - OPENS.hour, minutes=minutes - OPENS.minute)
    return replace(guest, slot=f"{opens + later:%H:%M}")


def _parts(day: SimulatedDay, now: datetime, mark: str) -> tuple[SimulatedDay, SimulatedDay]:
    """The first minutes of the day as the first day, and the rest until `now` as today."""
    early_exposures, later = _cut_between_runs(day.exposures, now - OPEN_SINCE + FIRST_PART)
    early = {exposure.person for exposure in early_exposures}
    shot = early | {exposure.person for exposure in later if exposure.at < now}
    here = [c for c in day.check_ins if c.at <= now and c.person not in early]
    waiting = {c.person for c in [c for c in here if c.person not in shot][:WAITING]}
    first = replace(
        day,
        exposures=tuple(_earlier(e, mark) for e in early_exposures),
        check_ins=tuple(replace(c, at=c.at - FIRST_DAY) for c in day.check_ins if c.person in early),
        showings=tuple(replace(s, at=s.at - FIRST_DAY) for s in day.showings if s.person in early),
    )
    today = replace(
        day,
        exposures=tuple(_with_forgotten_slate([e for e in later if e.at < now])),
        check_ins=tuple(c for c in here if c.person in shot | waiting),
        showings=tuple(s for s in day.showings if s.person in shot - early and s.at < now),
    )
    return first, today


def _cut_between_runs(
    exposures: Sequence[SimulatedExposure], at: datetime
) -> tuple[list[SimulatedExposure], list[SimulatedExposure]]:
    """The exposures of each camera up to its first slate from a time on, and those from there."""
    parts: tuple[list[SimulatedExposure], list[SimulatedExposure]] = ([], [])
    cut: set[str] = set()
    for exposure in exposures:
        if exposure.at >= at and exposure.kind is ExposureKind.SLATE:
            cut.add(exposure.camera.label)
        parts[exposure.camera.label in cut].append(exposure)
    return parts


def _earlier(exposure: SimulatedExposure, mark: str) -> SimulatedExposure:
    """The exposure on the first day; a clock slate shows that day's time."""
    at = exposure.at - FIRST_DAY
    slate = exposure.slate
    if slate is not None and exposure.kind is ExposureKind.CLOCK_SLATE:
        slate = replace(slate, code=ClockSlate(mark, at).code)
    return replace(exposure, at=at, camera_time=exposure.camera_time - FIRST_DAY, slate=slate)


def _with_forgotten_slate(exposures: Sequence[SimulatedExposure]) -> Iterator[SimulatedExposure]:
    """The exposures, of which the second person at the last camera has forgotten the slate."""
    camera = max((e.camera.label for e in exposures), default="")
    people = list(dict.fromkeys(e.person for e in exposures if e.camera.label == camera))
    for exposure in exposures:
        forgot = exposure.kind is ExposureKind.SLATE and exposure.person in people[1:2]
        yield replace(exposure, kind=ExposureKind.PORTRAIT, slate=None) if forgot else exposure


def _settle(shoot: Shoot, taken: Sequence[tuple[int, SimulatedExposure]], keys: Mapping[str, str]) -> None:
    """Settle what is loose, as somebody does in the evening: give frames to whom they show, set empty ones
    aside. `taken` are frames, by id, with what they show."""
    with shoot.reading() as session:
        people = {person.key: person.id for person in read_people(session)}
    loose = {verdict.frame for verdict in match_now(shoot).verdicts if verdict.kind is FrameKind.LOOSE}
    for frame, exposure in taken:
        if frame not in loose:
            continue
        if exposure.person is not None and exposure.person in keys:
            give_frames(shoot, [frame], people[keys[exposure.person]])
        else:
            set_frames_aside(shoot, [frame])


def _wait_for(drawn: Iterator[None], number: int, progress: Progress) -> None:
    """Wait until the next `number` frames are drawn."""
    for done, _ in enumerate(islice(drawn, number), 1):
        progress(done, number)
