"""Simulates the invented day in full, with the truth about every frame.

Pure: the same people, codes and seed give the same day. Nothing here knows the rules by which frames will be
matched.
"""

from __future__ import annotations

import heapq
import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from onsite.core.codes import clock_code, new_code, parse_slate_code
from onsite.core.file_counter import LAST_COUNTER, counter_text
from onsite.simulator.invented_exposure import (
    CAMERAS,
    ExposureKind,
    SimulatedCamera,
    SimulatedExposure,
    SimulatedSlate,
    SlateDamage,
    SlateForm,
)
from onsite.simulator.invented_people import InventedPerson
from onsite.simulator.planned_day import (
    Accident,
    AccidentKind,
    StagedVisit,
    Visit,
    VisitPlan,
    accident,
    plan_visits,
    timetable,
)

OTHER_SHOOT_MARK = "KWRT"
"""The mark of the shoot that a left-over ticket comes from. The simulated shoot must have another."""

BEFORE = timedelta(seconds=25)
"""From a camera's clock slate to its first test shot."""


@dataclass(frozen=True, slots=True)
class Showing:
    """A slate shown on the screen of a station at the set, `at` in UTC."""

    at: datetime
    person: str
    station: str


@dataclass(frozen=True, slots=True)
class SimulatedDay:
    """Everything that happened, in order of true time; `never_came` and `never_shot` hold keys."""

    seed: int
    cameras: tuple[SimulatedCamera, ...]
    check_ins: tuple[SimulatedArrival, ...]
    showings: tuple[Showing, ...]
    exposures: tuple[SimulatedExposure, ...]
    accidents: tuple[Accident, ...]
    never_came: tuple[str, ...]
    never_shot: tuple[str, ...]

    @property
    def walk_ins(self) -> tuple[InventedPerson, ...]:
        return tuple(c.walk_in for c in self.check_ins if c.walk_in is not None)


def simulate_day(
    guests: Sequence[InventedPerson],
    codes: Mapping[str, str],
    cards: Mapping[str, str],
    seed: int,
    opens: datetime,
    cameras: tuple[SimulatedCamera, ...] = CAMERAS,
) -> SimulatedDay:
    """Simulate a day on which the set opens at `opens`, an aware time in the zone of the place.

    `codes` maps the key of every guest to their slate code, `cards` the label of every deck card to its code
    (`CARDS` of them are enough for any day). Raises ValueError when the deck is too small.
    """
    rng = random.Random(f"story/{seed}")
    plot = plan_visits(guests, len(cameras), rng)
    staged = [timetable(queue, opens, rng) for queue in plot.queues]
    arrived = check_ins([stage for stages in staged for stage in stages], list(cards), rng)
    teller = _DaySimulator(codes, cards, arrived, opens, rng)
    exposures = [
        e for camera, stages in zip(cameras, staged, strict=True) for e in teller.exposures(camera, stages)
    ]
    exposures.sort(key=lambda exposure: (exposure.at, exposure.camera.label))
    waiting = _never_shot(plot, opens, rng)
    return SimulatedDay(
        seed,
        cameras,
        tuple(sorted([*arrived, *waiting], key=lambda check_in: check_in.at)),
        tuple(sorted(teller.showings, key=lambda showing: showing.at)),
        tuple(exposures),
        tuple(_accidents(plot, cameras, arrived, exposures)),
        tuple(guest.key for guest in plot.never_came),
        tuple(guest.key for guest in plot.never_shot),
    )


def _never_shot(plot: VisitPlan, opens: datetime, rng: random.Random) -> list[SimulatedArrival]:
    at = [(opens + timedelta(seconds=rng.randint(-600, 900))).astimezone(UTC) for _ in plot.never_shot]
    return [
        SimulatedArrival(at[i], guest.key, None, None, "door-1") for i, guest in enumerate(plot.never_shot)
    ]


class _DaySimulator:
    """Turns a camera's visits into exposures and records which slates a screen showed."""

    def __init__(
        self,
        codes: Mapping[str, str],
        cards: Mapping[str, str],
        arrived: Sequence[SimulatedArrival],
        opens: datetime,
        rng: random.Random,
    ) -> None:
        self.showings: list[Showing] = []
        self._codes = codes
        self._cards = cards
        self._card_of = {check_in.person: check_in.card for check_in in arrived if check_in.card}
        self._zone = opens.tzinfo
        self._rng = rng
        self._spoilt = 0

    def exposures(
        self, camera: SimulatedCamera, stages: Sequence[StagedVisit]
    ) -> Iterator[SimulatedExposure]:
        """The camera's exposures in order."""
        number = sum(len(stage.slates) + len(stage.portraits) for stage in stages)
        first = camera.first_counter or LAST_COUNTER - number * 2 // 5
        yield self._clock_slate(camera, stages[0].start - BEFORE, first - 1)
        taken = first - 1
        for stage in stages:
            for at, kind, slate, orientation in self._frames(camera, stage):
                round_, counter = divmod(taken, LAST_COUNTER)
                taken += 1
                visit = stage.visit
                yield SimulatedExposure(
                    number=taken - first,
                    camera=camera,
                    folder=f"DCIM/{100 + round_}{camera.folder}",
                    name=f"{camera.prefix}{counter_text(counter + 1)}.JPG",
                    counter=counter + 1,
                    at=at,
                    camera_time=(at + camera.error).astimezone(self._zone).replace(tzinfo=None),
                    offset=offset_text(at.astimezone(self._zone)) if camera.writes_offset else None,
                    orientation=orientation,
                    kind=kind,
                    person=visit.guest.key if visit else None,
                    outfit=visit.outfit if visit else 0,
                    slate=slate,
                    badge=_badge(visit) if visit and kind is ExposureKind.PORTRAIT else None,
                    grey_card=visit is None and at == sorted(stage.portraits)[1],
                )

    def _clock_slate(self, camera: SimulatedCamera, at: datetime, counter: int) -> SimulatedExposure:
        """The door's time on a screen, photographed before anything else."""
        known = parse_slate_code(next(iter(self._cards.values())))
        assert known is not None
        return SimulatedExposure(
            number=-1,
            camera=camera,
            folder=f"DCIM/100{camera.folder}",
            name=f"{camera.prefix}{counter_text(counter)}.JPG",
            counter=counter,
            at=at,
            camera_time=(at + camera.error).astimezone(self._zone).replace(tzinfo=None),
            offset=offset_text(at.astimezone(self._zone)) if camera.writes_offset else None,
            orientation=1,
            kind=ExposureKind.CLOCK_SLATE,
            person=None,
            slate=SimulatedSlate(
                clock_code(known.shoot, int(at.timestamp())),
                f"{at.astimezone(self._zone):%H:%M:%S}",
                SlateForm.DOOR,
            ),
        )

    def _frames(
        self, camera: SimulatedCamera, stage: StagedVisit
    ) -> list[tuple[datetime, ExposureKind, SimulatedSlate | None, int]]:
        """Time, kind, slate and orientation of every frame of a visit or of test shots, in order."""
        if stage.visit is None:
            return [(at, ExposureKind.TEST, None, 1) for at in stage.portraits]
        slate = self._slate(stage.visit)
        if slate.shown is SlateForm.SCREEN and stage.slates:
            at = (stage.slates[0] - timedelta(seconds=4)).replace(microsecond=0)
            self.showings.append(Showing(at, stage.visit.guest.key, f"set-{camera.label}"))
        turned = self._rng.choice((6, 8)) if self._rng.random() < 0.2 else 1
        slate_turned = self._rng.choice((1, turned))
        frames: list[tuple[datetime, ExposureKind, SimulatedSlate | None, int]]
        frames = [(at, ExposureKind.SLATE, slate, slate_turned) for at in stage.slates]
        frames += [(at, ExposureKind.PORTRAIT, None, turned) for at in stage.portraits]
        return sorted(frames, key=lambda frame: frame[0])

    def _slate(self, visit: Visit) -> SimulatedSlate:
        guest, struck = visit.guest, visit.struck
        card = self._card_of.get(guest.key)
        if card:
            return SimulatedSlate(self._cards[card], f"Card {card}", SlateForm.CARD)
        if struck is AccidentKind.OTHER_SHOOT:
            return SimulatedSlate(new_code(OTHER_SHOOT_MARK, (), self._rng), guest.name)
        if struck is AccidentKind.UNREADABLE:
            spoilt = list(SlateDamage)[self._spoilt % len(SlateDamage)]
            self._spoilt += 1
            return SimulatedSlate(self._codes[guest.key], guest.name, spoilt=spoilt)
        shown = SlateForm.SCREEN if visit.plain and self._rng.random() < 0.6 else SlateForm.TICKET
        return SimulatedSlate(
            self._codes[guest.key], guest.name, shown, upside_down=struck is AccidentKind.TAIL
        )


def offset_text(local: datetime) -> str:
    text = local.strftime("%z")
    return f"{text[:3]}:{text[3:5]}"


def _badge(visit: Visit) -> str | None:
    if visit.struck is not AccidentKind.BADGE:
        return None
    return f"https://example.org/b/{sum(map(ord, visit.guest.key)) % 10_000:04}"


def _accidents(
    plot: VisitPlan,
    cameras: Sequence[SimulatedCamera],
    arrived: Sequence[SimulatedArrival],
    exposures: Sequence[SimulatedExposure],
) -> Iterator[Accident]:
    names: dict[str, str] = {}
    for camera, queue in zip(cameras, plot.queues, strict=True):
        where = f"camera {camera.label}"
        yield accident(AccidentKind.TESTS, where=where)
        if any(e.camera == camera and e.counter == 1 for e in exposures):
            yield accident(AccidentKind.ROLLOVER, where=where)
        for visit in queue:
            names[visit.guest.key] = visit.guest.name
            kind = AccidentKind.WALK_IN if visit.walk_in else visit.struck
            if kind:
                yield accident(kind, visit.guest.key, visit.guest.name, where)
    for card in sorted({check_in.card for check_in in arrived if check_in.card}):
        holders = [names[check_in.person] for check_in in arrived if check_in.card == card]
        if len(holders) > 1:
            yield accident(AccidentKind.CARD_AGAIN, who=", then ".join(holders))
    for guest in plot.never_came:
        yield accident(AccidentKind.NEVER_CAME, guest.key, guest.name)
    for guest in plot.never_shot:
        yield accident(AccidentKind.NEVER_SHOT, guest.key, guest.name)


CARDS = 12
"""Deck cards enough for any day that this package simulates."""


@dataclass(frozen=True, slots=True)
class SimulatedArrival:
    """An arrival at `at` (UTC, whole seconds). `walk_in` is set for a person who is not on the list."""

    at: datetime
    person: str
    walk_in: InventedPerson | None
    card: str | None
    station: str


def check_ins(
    staged: Sequence[StagedVisit], cards: Sequence[str], rng: random.Random
) -> list[SimulatedArrival]:
    """The arrival of everybody who is photographed, in order of time.

    People arrive 3 to 25 minutes before their first frame. A deck card comes back to the door after the visit
    and is the next to be handed out. Raises ValueError when there are not enough `cards`.
    """
    first: dict[str, tuple[datetime, StagedVisit]] = {}
    for stage in staged:
        if stage.visit and stage.visit.outfit == 0:
            waits = rng.uniform(3, 8) if stage.visit.holds_card else rng.uniform(3, 25)
            at = (stage.start - timedelta(minutes=waits)).replace(microsecond=0)
            first[stage.visit.guest.key] = (at, stage)
    arrivals = sorted(first.values(), key=lambda arrival: arrival[0])
    hand = _Deck(cards)
    return [_arrival(at, stage, hand, rng) for at, stage in arrivals]


def _arrival(at: datetime, stage: StagedVisit, deck: _Deck, rng: random.Random) -> SimulatedArrival:
    visit = stage.visit
    assert visit is not None
    card = deck.hand_out(at, stage.end + timedelta(minutes=1)) if visit.holds_card else None
    guest = visit.guest
    return SimulatedArrival(
        at, guest.key, guest if visit.walk_in else None, card, rng.choice(("door-1", "door-2"))
    )


class _Deck:
    """A pile of deck cards; the card that came back last is on top."""

    def __init__(self, cards: Sequence[str]) -> None:
        self._pile = list(reversed(cards))
        self._out: list[tuple[datetime, str]] = []

    def hand_out(self, at: datetime, back: datetime) -> str:
        while self._out and self._out[0][0] < at:
            self._pile.append(heapq.heappop(self._out)[1])
        if not self._pile:
            raise ValueError("a deck too small for this day")
        card = self._pile.pop()
        heapq.heappush(self._out, (back, card))
        return card
