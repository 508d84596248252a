"""A planned day drawn as JPEG files and put into a shoot: for ingest, which then finds out for itself.

    plan = plan_day(seed=3, people=40, accidents=simulate.REAL_SET, still=False)
    shoot = shoot_of(plan, folder)
    truth = draw_day(plan, cards)
    ingest(shoot, [cards])

Pictures show slates, badges, helpers, misfired flashes and empty backdrops. They do not show copied files, or
clothes of the backdrop's colour.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from onsite.core.codes import parse_slate_code
from onsite.simulator.accident_days.camera_faults import Body
from onsite.simulator.accident_days.simulate import PlannedDay
from onsite.simulator.accident_days.simulated_frames import TakenFrame, Truth, frame_truths, taken_frames
from onsite.simulator.accident_days.simulated_turns import Slip, What, Worn
from onsite.simulator.draw_invented_exposure import picture, save
from onsite.simulator.invented_exposure import (
    ExposureKind,
    SimulatedCamera,
    SimulatedExposure,
    SimulatedSlate,
    SlateDamage,
)
from onsite.simulator.invented_people import invent_people
from onsite.store.events import EventKind, add_event
from onsite.store.schema import DeckCard, Person
from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot

ZONE = "Europe/Vienna"
SMALL = 600, 400
"""Pixels of a drawn frame: slates read in it, and it is quickly drawn."""
FLASH_MISFIRED = -1.7
"""Stops."""
_TURNED = 0.2  # of turns: the camera is held upright
_GOWN = "the gown that all wear"
_UPRIGHT, _OVER = 135, 225  # degrees between which a slate is upside down


def draw_day(plan: PlannedDay, folder: Path, size: tuple[int, int] = SMALL) -> dict[tuple[str, int], Truth]:
    """Draw every frame into `folder`, a memory card for each camera. Returns the truth by camera serial and
    file counter."""
    truth: dict[tuple[str, int], Truth] = {}
    for body, lane in zip(plan.bodies, plan.lanes, strict=True):
        camera, taken = _camera(body), taken_frames(body, lane)
        facts = frame_truths(body, taken)
        for frame in taken:
            exposure = _exposure(plan, body, camera, frame)
            path = folder / f"camera-{camera.label}" / exposure.path
            path.parent.mkdir(parents=True, exist_ok=True)
            save(exposure, picture(exposure, plan.seed, size), path)
            truth[camera.serial, frame.counter] = facts[frame.ident]
    return truth


def shoot_of(plan: PlannedDay, folder: Path) -> Shoot:
    """A new shoot in `folder` with the day's people, deck cards, arrivals and slates shown, without frames.
    Ids of people are those of the plan."""
    shot = [staged.at for lane in plan.lanes for staged in lane]
    date = datetime.fromtimestamp(min(shot), ZoneInfo(ZONE)).date().isoformat()
    shoot = create_shoot(folder, Settings("A day with accidents", "", date, ZONE), plan.mark)
    cards = {code: number for number, code in enumerate(plan.door.cards, 1)}
    with shoot.writing() as session:
        for number, guest in enumerate(invent_people(plan.people, plan.seed), 1):
            code = plan.door.codes[number]
            session.add(Person(id=number, key=guest.key, name=guest.name, code=code))
        for code, number in cards.items():
            session.add(DeckCard(id=number, number=number, code=code))
        session.flush()
        for person, at in plan.door.arrived.items():
            add_event(session, EventKind.ARRIVED, _utc(at), person_id=person)
        for code, assignments in plan.door.cards.items():
            for held in assignments:
                tied = _utc(held.at)
                add_event(session, EventKind.CARD_TIED, tied, person_id=held.person, card_id=cards[code])
        for shown in plan.shown:
            moment = _utc(shown.at)
            add_event(session, EventKind.SLATE_SHOWN, moment, station=shown.station, person_id=shown.person)
    return shoot


def _utc(seconds: float) -> datetime:
    return datetime.fromtimestamp(seconds, UTC)


def _camera(body: Body) -> SimulatedCamera:
    label = chr(ord("A") + body.number - 1)
    serial = f"77{body.number:05}"
    return SimulatedCamera(label, "Exemplar", "Exemplar 24", serial, body.prefix, "FESTI", timedelta(), False)


def _exposure(plan: PlannedDay, body: Body, camera: SimulatedCamera, frame: TakenFrame) -> SimulatedExposure:
    shot, turn = frame.staged.shot, frame.staged.number
    worn = shot.worn[0] if shot.worn else None
    local = datetime.fromtimestamp(body.clock(frame.staged.at), ZoneInfo(ZONE)).replace(tzinfo=None)
    conditions = shot.conditions
    if not shot.lit:
        conditions = replace(conditions, stops=conditions.stops + FLASH_MISFIRED)
    if len(shot.worn) > 1:
        conditions = replace(conditions, passer_by=_key(shot.worn[1]), passes_at=0.4)
    slates = list(_slates(plan, frame))
    return SimulatedExposure(
        number=frame.ident,
        camera=camera,
        folder=f"DCIM/{body.source(frame.staged.at)}",
        name=f"{body.prefix}{frame.counter:04d}.JPG",
        counter=frame.counter,
        at=_utc(frame.staged.at),
        camera_time=local,
        offset=None,
        orientation=6 if random.Random(f"held/{plan.seed}/{turn}").random() < _TURNED else 1,
        kind=ExposureKind(shot.what) if shot.what is not What.HELPER else ExposureKind.PORTRAIT,
        person=None if worn is None else _key(worn),
        outfit=0 if worn is None else worn.outfit,
        slate=slates[0] if slates else None,
        badge=next((slip.text for slip in shot.slips if _is_badge(slip)), None),
        dressed_as=None if worn is None else _dressed_as(worn, plan.uniform),
        conditions=conditions,
    )


def _key(worn: Worn) -> str:
    return str(worn.person) if worn.person >= 0 else f"helper {-worn.person}"


def _dressed_as(worn: Worn, uniform: bool) -> str | None:
    if uniform and worn.person >= 0:
        return _GOWN
    return None if worn.dressed_as is None else str(worn.dressed_as)


def _slates(plan: PlannedDay, frame: TakenFrame) -> Iterator[SimulatedSlate]:
    """The slates in a frame; of a symbol that does not read, a slate with fingers over it."""
    for slip in frame.staged.shot.slips:
        if _is_badge(slip):
            continue
        unread = slip.of is None and slip.text is None
        person = frame.staged.turn.person if slip.of is None else slip.of
        yield SimulatedSlate(
            slip.text or plan.door.slate_of(person),
            f"{person}",
            upside_down=_UPRIGHT < slip.turned < _OVER,
            spoilt=SlateDamage.COVERED if unread else None,
        )


def _is_badge(slip: Slip) -> bool:
    return slip.text is not None and parse_slate_code(slip.text) is None
